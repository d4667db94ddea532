package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"drover/game/club"

	"github.com/pquerna/otp/totp"
)

// admin runs a command of drover admin beside the server, as whoever holds the machine.
func (s *server) admin(args ...string) (out, said string) {
	s.Helper()
	var o, e bytes.Buffer
	cmd := exec.Command(os.Args[0], append([]string{"admin"}, args...)...)
	cmd.Env = append(os.Environ(), "DROVER_TEST_RUN=1", "DROVER_DATA="+filepath.Join(s.dir, "pg"), "DROVER_LISTEN="+s.listen)
	cmd.Stdout, cmd.Stderr = &o, &e
	_ = cmd.Run() // what it says is looked at
	return o.String(), e.String()
}

// coachIn types address and password on the page for signing in.
func (b *tab) coachIn(s *server, email, password string) {
	b.Helper()
	b.open(s.base + "/in")
	b.fill(map[string]string{"email": email, "password": password})
	b.click(`form[action="/in/coach"] button`)
}

// TestAccountAndAdmin: on the first evening the second factor can wait; a coach sets it up
// by the letters on the page and signs in with it. At the server, while the site runs, the
// coaches are listed; a link resets the password, and the code is still asked for; another
// one resets the second factor. With the site stopped the list is the same.
func TestAccountAndAdmin(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 390, 844)
	makeClub1(b, s)
	b.open(s.base + "/account")
	b.click(`a[href="/account/factor"].btn`)
	b.wait(`document.querySelector('.secret')`)
	secret := strings.ReplaceAll(must[string](b, "document.querySelector('.secret').innerText"), " ", "")
	b.fill(map[string]string{"code": codeOf(t, secret, 0)})
	b.click(`form[action="/account/factor"] .go`)
	b.at("/account/codes")
	b.wait(`document.querySelector('.codes li')`)
	codes := must[[]string](b, "[...document.querySelectorAll('.codes li')].map((li) => li.innerText)")
	b.open(s.base + "/account")
	b.sees("Second factor: on")
	b.sees("this one")

	out, said := s.admin("coaches")
	if said != "" || !regexp.MustCompile(`Test club +\d+ +Coach Test +coach@test.example +owner +yes +20\d\d-`).MatchString(out) {
		t.Errorf("the list: %q, %q", out, said)
	}
	if out, said := s.admin("password", "nobody@test.example"); out != "" || !strings.Contains(said, "nobody signs in with") {
		t.Errorf("nobody: %q, %q", out, said)
	}
	link := regexp.MustCompile(`http\S+/reset/password#\S+`)
	out, said = s.admin("password", "Coach@test.example")
	if said != "" || len(link.FindAllString(out, -1)) != 1 {
		t.Fatalf("a link for a password: %q, %q", out, said)
	}
	b.open(s.base + "/stages")
	b.at("/in") // the session has ended
	b.open(link.FindString(out))
	b.wait(`document.querySelector('[name="token"]').value.length > 20`)
	b.fill(map[string]string{"password": "vexlamp otter moon"})
	b.click("form .go")
	b.at("/in")
	b.coachIn(s, "coach@test.example", "vexlamp otter moon")
	b.at("/in/code")
	b.fill(map[string]string{"code": codes[0]})
	b.click("form .go")
	b.at("/since")
	b.sees("Your password was reset on")

	out, said = s.admin("factor", "coach@test.example")
	b.open(regexp.MustCompile(`http\S+/reset/factor#\S+`).FindString(out))
	b.wait(`document.querySelector('[name="token"]').value.length > 20`)
	b.fill(map[string]string{"password": "vexlamp otter moon"})
	b.click("form .go")
	b.at("/account/factor")
	b.sees("Set up a second factor")
	if said != "" {
		t.Errorf("a link for a second factor: %q", said)
	}
	_ = s.cmd.Process.Signal(syscall.SIGTERM)
	_ = s.cmd.Wait()
	s.cmd = nil
	if out, said := s.admin("coaches"); said != "" || !regexp.MustCompile(`coach@test.example +owner +no `).MatchString(out) {
		t.Errorf("with the site stopped: %q, %q", out, said)
	}
	key, err := os.Stat(filepath.Join(s.dir, "pg", "key"))
	if err != nil || key.Size() != 32 || key.Mode().Perm() != 0o600 {
		t.Errorf("the key: %v", err)
	}
}

// codeOf is the code that a phone shows, so many steps from now.
func codeOf(t *testing.T, secret string, steps int) string {
	t.Helper()
	code, err := totp.GenerateCode(secret, time.Now().Add(time.Duration(steps)*30*time.Second))
	if err != nil || !club.LooksLikeCode(code) {
		t.Fatal(code, err)
	}
	return code
}

// TestSignInByKeyboard: every way in is reached and used with the keyboard alone, and an
// error begins in its own part.
func TestSignInByKeyboard(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 390, 844)
	makeClub1(b, s)
	b.open(s.base + "/in/coach")
	b.at("/in")
	focused := `(document.activeElement.name || document.activeElement.innerText || '').trim()`
	var seen []string
	for range 12 {
		b.press("\t")
		seen = append(seen, must[string](b, focused))
	}
	way := strings.Join(seen, " ")
	if !strings.Contains(way, "email password Sign in") {
		t.Errorf("the keyboard reaches %q", way)
	}
	b.fill(map[string]string{"number": "coach@test.example", "w1": "a", "w2": "b", "w3": "c", "w4": "d"})
	b.click(`form[action="/in/card"] .go`)
	b.sees("A coach signs in here")
	b.wait("document.activeElement.name === 'email'")
	if got := must[string](b, focused); got != "email" || must[float64](b, "document.activeElement.getBoundingClientRect().bottom") > 844 {
		t.Errorf("the page begins in %q", got)
	}
	b.press("\t")
	b.press("several plain words here\r")
	b.at("/since")
}
