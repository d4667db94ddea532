package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"drover/migrations"
)

// command runs the program beside the server, or on another data folder, as whoever holds the
// machine.
func (s *server) command(data string, args ...string) (out, said string) {
	s.Helper()
	var o, e bytes.Buffer
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append(os.Environ(), "DROVER_TEST_RUN=1", "DROVER_DATA="+data, "DROVER_LISTEN="+s.listen)
	cmd.Stdout, cmd.Stderr = &o, &e
	_ = cmd.Run() // what it says is looked at
	return o.String(), e.String()
}

// elsewhere gives the server a new folder, as if it stood on a new machine.
func (s *server) elsewhere() {
	s.Helper()
	s.stop()
	s.dir = openDir(s.T)
	s.Cleanup(s.stop) // before the folder goes
}

// stop ends the server as the system would, if it runs.
func (s *server) stop() {
	s.Helper()
	if s.cmd == nil {
		return
	}
	_ = s.cmd.Process.Signal(syscall.SIGTERM)
	_ = s.cmd.Wait() // it was told to end
	s.cmd = nil
}

// allRows is a digest of all that a restore brings back, by no function of ours.
const allRows = `select md5(string_agg(x::text, '' order by x::text)) from (
	select to_jsonb(p) from people p union all select to_jsonb(g) from games g union all select to_jsonb(a) from acts a
	union all select to_jsonb(d) from drills d union all select to_jsonb(c) from consents c union all select to_jsonb(f) from factors f
	union all select to_jsonb(r) from recoveries r union all select to_jsonb(a) from audit a
	union all select to_jsonb(k) from keys k where kind not in ('session', 'half')) t(x)`

// TestDiskLost is a club whose server is lost (journey 13). A child plays while the backup is
// made, beside the private Postgres; on a new server the card, the guardian's link, the coach's
// password and second factor work, the game goes on, and the rows are the same.
func TestDiskLost(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	secret := withFactor(t, coach, s)
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/8/8/R3K3 w - - 0 1"})
	coach.open(s.base + "/settings")
	coach.sees("No backup yet. On the server, run: drover backup FILE")
	child := signInCard(t, s, wick, 390, 844)

	busy := backUpWhilePlaying(t, s, child)
	last := filepath.Join(s.dir, "last.drover")
	out, said := s.command(filepath.Join(s.dir, "pg"), "backup", last)
	if info, err := os.Stat(last); said != "" || !strings.Contains(out, ": 3 people and 1 game.") ||
		err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("the backup: %v, %q, %q", err, out, said)
	}
	if _, said := s.command(filepath.Join(s.dir, "pg"), "backup", last); !strings.Contains(said, "is there already") {
		t.Errorf("over a file that is there: %q", said)
	}
	coach.open(s.base + "/settings")
	coach.sees("Last backup: today")
	restoreRefuses(t, s, last)
	var rows, again string
	s.sql(allRows, &rows)
	s.elsewhere()
	out, said = s.command(filepath.Join(s.dir, "pg"), "restore", "--no-erased-list", last)
	if said != "" || !regexp.MustCompile(`^0 people of this backup .+\nRestored as it was on .+\n  Test club: 1 student, 1 guardian, 0 groups, 1 game\n`).MatchString(out) {
		t.Fatalf("the restore: %q, %q", out, said)
	}
	if !strings.Contains(out, "\nConsents that were taken back since then are not in it") ||
		!strings.Contains(out, "\nNor are bars, closed accounts and concerns:") {
		t.Errorf("the restore does not say what to look for: %q", out)
	}
	if _, said := s.command(filepath.Join(s.dir, "pg"), "restore", "--no-erased-list", last); !strings.Contains(said, "holds a club already") {
		t.Errorf("restored twice: %q", said)
	}
	s.run()
	s.sql(allRows, &again)
	if rows != again {
		t.Errorf("the rows were %s and are %s", rows, again)
	}
	if info, err := os.Stat(filepath.Join(s.dir, "pg", "key")); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key: %v", err)
	}
	worksAgain(t, s, coach, wick, secret)

	s.elsewhere() // the backup that was made in the middle of the game is whole, too
	if out, said := s.command(filepath.Join(s.dir, "pg"), "restore", "--no-erased-list", busy); said != "" || !strings.Contains(out, "1 game") {
		t.Errorf("the restore of a busy moment: %q, %q", out, said)
	}
	s.run()
	var acts, most int
	s.sql(`select count(*), max(seq) from acts`, &acts, &most)
	if acts == 0 || acts != most {
		t.Errorf("%d acts, numbered up to %d", acts, most)
	}
}

// withFactor sets up the coach's second factor.
func withFactor(t *testing.T, b *tab, s *server) (secret string) {
	t.Helper()
	b.open(s.base + "/account")
	b.click(`a[href="/account/factor"].btn`)
	b.wait(`document.querySelector('.secret')`)
	secret = strings.ReplaceAll(must[string](b, "document.querySelector('.secret').innerText"), " ", "")
	b.fill(map[string]string{"code": codeOf(t, secret, -1)})
	b.click(`form[action="/account/factor"] .go`)
	b.at("/account/codes")
	return secret
}

// backUpWhilePlaying makes a backup while the child moves.
func backUpWhilePlaying(t *testing.T, s *server, child *tab) (file string) {
	t.Helper()
	file = filepath.Join(s.dir, "busy.drover")
	done := make(chan string, 1)
	j := newJudge(t)
	for move := 1; move < 8; move++ {
		if move == 2 {
			go func() {
				_, said := s.command(filepath.Join(s.dir, "pg"), "backup", file)
				done <- said
			}()
		}
		uci, san, _ := child.best(j, 2*(move-1))
		child.tapTap(uci, san)
		child.ready(move + 1)
	}
	if said := <-done; said != "" {
		t.Fatalf("a backup in the middle of a game: %q", said)
	}
	return file
}

// restoreRefuses what it must not take, and changes nothing by it.
func restoreRefuses(t *testing.T, s *server, good string) {
	t.Helper()
	whole, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	changed := bytes.Clone(whole)
	changed[len(changed)/2] ^= 1
	fresh := filepath.Join(openDir(t), "pg")
	for name, text := range map[string][]byte{
		"no backup of Drover": []byte("a letter"), "cut short": whole[:len(whole)-100], "changed after it was written": changed,
	} {
		file := filepath.Join(t.TempDir(), "bad")
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		if out, said := s.command(fresh, "restore", "--no-erased-list", file); out != "" || !strings.Contains(said, name) {
			t.Errorf("%s: %q, %q", name, out, said)
		}
	}
	if _, err := os.Stat(fresh); err == nil {
		t.Error("a refused restore has made a data folder")
	}
	if out, said := s.command(filepath.Join(s.dir, "pg"), "restore", "--no-erased-list", good); out != "" || !strings.Contains(said, "a Drover runs on the data folder") {
		t.Errorf("where a site runs: %q, %q", out, said)
	}
}

// worksAgain tries card, link, password and second factor, and plays on.
func worksAgain(t *testing.T, s *server, coach *tab, wick pupil, secret string) {
	t.Helper()
	coach.open(s.base + "/stages")
	coach.at("/in") // everybody signs in again
	coach.coachIn(s, "coach@test.example", "several plain words here")
	coach.at("/in/code")
	coach.fill(map[string]string{"code": codeOf(t, secret, 1)})
	coach.click("form .go")
	coach.at("/since")
	b := newTab(t, 390, 844)
	b.open(wick.link)
	b.at("/report")
	b.sees("Wick")
	child := newTab(t, 390, 844)
	child.signIn(s, wick)
	child.click(`form[action="/today/start"] .go, a.go`)
	child.at("/play/")
	var ply int
	s.sql(`select count(*) from acts where kind = 'move'`, &ply)
	child.ready(ply + 1)
	uci, san, _ := child.best(newJudge(t), 2*ply)
	child.tapTap(uci, san)
	child.wait(fmt.Sprintf(`document.querySelector('#turn-line').textContent.startsWith('Move %d,')`, ply+2))
}

// TestOlderBackup: a backup of one step of the schema before is restored and brought up.
func TestOlderBackup(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 390, 844)
	makeClub1(b, s)
	wick := addPupil(b, s, "Wick")
	names, err := filepath.Glob(filepath.Join(root, "migrations", fmt.Sprintf("%04d_*.down.sql", migrations.Latest)))
	if err != nil || len(names) != 1 {
		t.Fatal(names, err)
	}
	s.sql(read(t, "migrations/"+filepath.Base(names[0])) + "; update schema_migrations set version = version - 1")
	file := filepath.Join(s.dir, "old.drover")
	if out, said := s.command(filepath.Join(s.dir, "pg"), "backup", file); !strings.Contains(out, "holds the site") {
		t.Fatalf("%q, %q", out, said)
	}
	s.elsewhere()
	if _, said := s.command(filepath.Join(s.dir, "pg"), "restore", "--no-erased-list", file); said != "" {
		t.Fatal(said)
	}
	s.run()
	var step int
	s.sql(`select version from schema_migrations`, &step)
	if step != migrations.Latest {
		t.Errorf("step %d", step)
	}
	newTab(t, 390, 844).signIn(s, wick)
}
