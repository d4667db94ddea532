package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"drover/game"
	"drover/store"
	"drover/store/storetest"
)

// letter is the mail with a number, as it would be sent now.
func (s *site) letter(f storetest.Fixture, id int64) store.Letter {
	s.Helper()
	l, err := s.store.TakeLetter(ctx, f.Coach.Club, id)
	if err != nil || l == nil {
		s.Fatalf("no mail: %v", err)
	}
	return *l
}

// TestGuardianAsksForMail: a guardian gives an address, says yes with the link of the first
// mail, changes it and takes it away; without a mail server the page says so.
func TestGuardianAsksForMail(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "asks")
	p := s.as(f.Guardian)
	says := func(want string) {
		t.Helper()
		if page := p.get("/report/mail"); !strings.Contains(page.body, want) {
			t.Errorf("the page does not say %q: %s", want, page.body)
		}
	}
	says("No mail is sent from here")
	if got := p.post("/report/mail", fields("email", "una@home.example")); got.status != http.StatusConflict {
		t.Errorf("without a server: %d", got.status)
	}
	s.store.SendMail()
	says("Where it goes")
	if got := p.post("/report/mail", fields("email", "una at home", "weekly", "true")); got.status != http.StatusUnprocessableEntity ||
		!strings.Contains(got.body, "una at home") {
		t.Errorf("no address: %d", got.status)
	}
	p.post("/report/mail", fields("email", "una@home.example", "weekly", "true"))
	says("Look into your mail")
	l := s.letter(f, 1)
	nobody := s.as(game.Actor{})
	if got := nobody.get("/confirm"); !strings.Contains(got.body, "Is this your address?") {
		t.Errorf("%d %s", got.status, got.body)
	}
	says("Look into your mail") // looking confirmed nothing
	if got := nobody.post("/confirm", fields("token", string(l.Token))); got.status != http.StatusSeeOther ||
		!strings.Contains(nobody.get(got.header.Get("Location")).body, "Mail comes to this address now") {
		t.Errorf("the yes: %d", got.status)
	}
	if got := nobody.post("/confirm", fields("token", string(l.Token))); got.status != http.StatusGone {
		t.Errorf("the yes again: %d", got.status)
	}
	says("The weekly mail is on")
	p.post("/report/mail", fields("email", "una@home.example"))
	says("The weekly mail is off")
	for outcome, want := range map[string]string{"sent": "The last one was sent on", "unknown": "may not have arrived",
		"late": "could not be sent"} {
		storetest.Exec(t, storetest.Address(s.store), `delete from letters`)
		storetest.Exec(t, storetest.Address(s.store), `insert into letters (club_id, to_id, kind, week, at, outcome)
			values ($1, $2, 'weekly', '2026-11-23', now(), $3)`, f.Guardian.Club, f.Guardian.Person, outcome)
		says(want)
	}
	storetest.Exec(t, storetest.Address(s.store), `update addresses set refused_at = now()`)
	says("Mail does not arrive")
	p.post("/report/mail/end", fields())
	says("Where it goes")
	if body := s.as(f.Guardian2).get("/report/mail").body; strings.Contains(body, "una@") {
		t.Error("another guardian reads the address")
	}
	if body := s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body; strings.Contains(body, "una@") {
		t.Error("a coach reads the address")
	}
}

// TestUnsubscribe: a mail provider ends the weekly mail with one POST without session, cookie
// and Origin, or with its own (RFC 8058, 3.1 and 3.2), and is not redirected; a GET changes
// nothing, and nothing else is taken from elsewhere.
func TestUnsubscribe(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "stops")
	s.store.SendMail()
	url1 := storetest.Address(s.store)
	if err := s.store.AskAddress(ctx, f.Guardian, "una@home.example", true); err != nil {
		t.Fatal(err)
	}
	storetest.Exec(t, url1, `update addresses set confirmed_at = now()`)
	storetest.Exec(t, url1, `insert into letters (club_id, to_id, kind, week, at) values ($1, $2, 'weekly', '2026-11-23', now())`,
		f.Guardian.Club, f.Guardian.Person)
	at := "/unsubscribe/" + string(s.letter(f, 2).Token)
	wanted := func() bool {
		t.Helper()
		a, err := s.store.Address(ctx, f.Guardian)
		if err != nil || a == nil {
			t.Fatal(err)
		}
		return a.Wanted
	}
	nobody := s.as(game.Actor{})
	from := func(origin string) func(*http.Request) {
		return func(r *http.Request) {
			r.Header.Del("Origin")
			if origin != "" {
				r.Header.Set("Origin", origin)
			}
		}
	}
	oneClick := url.Values{"List-Unsubscribe": {"One-Click"}}
	if got := nobody.get(at); got.status != http.StatusOK || !wanted() {
		t.Errorf("looking: %d", got.status)
	}
	for _, dead := range []string{"/unsubscribe/1.none", at + "x", "/unsubscribe/" + string(f.Link)} {
		if got := nobody.do(http.MethodPost, dead, oneClick, from("")); got.status != http.StatusGone || !wanted() {
			t.Errorf("%s: %d", dead, got.status)
		}
	}
	for _, origin := range []string{"", "null", "https://mail.example"} {
		storetest.Exec(t, url1, `update addresses set wanted = true`)
		if got := nobody.do(http.MethodPost, at, oneClick, from(origin)); got.status != http.StatusOK || wanted() {
			t.Errorf("from %q: %d", origin, got.status)
		}
	}
	if got := nobody.do(http.MethodPost, at, oneClick, from("")); got.status != http.StatusOK {
		t.Errorf("again: %d", got.status)
	}
	for _, other := range []string{"/out", "/unsubscribe/", at + "/x", "/unsubscribe/../out", "/confirm"} {
		if got := nobody.do(http.MethodPost, other, fields(), from("https://mail.example")); got.status != http.StatusForbidden {
			t.Errorf("%s from elsewhere: %d", other, got.status)
		}
	}
	if s.log.count(strings.TrimPrefix(at, "/unsubscribe/")) != 0 {
		t.Error("the log holds the token")
	}
}

// TestForgottenPassword: the answer is the same whether or not anybody has the address, the
// many tries of one network have to wait, and without a mail server the page says whom to ask.
func TestForgottenPassword(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "forgets")
	nobody := s.as(game.Actor{})
	if body := nobody.get("/in/forgotten").body; !strings.Contains(body, "An owner of your club") || strings.Contains(body, "Send me a link") {
		t.Errorf("without a server: %s", body)
	}
	s.store.SendMail()
	if body := nobody.get("/in").body; !strings.Contains(body, `href="/in/forgotten"`) {
		t.Error("the way in does not lead there")
	}
	var said []string
	for _, email := range []string{f.Email, "nobody@club.example"} {
		got := nobody.post("/in/forgotten", fields("email", email))
		said = append(said, fmt.Sprint(got.status, got.header.Get("Location"), got.body, nobody.get(got.header.Get("Location")).body))
	}
	if said[0] != said[1] || !strings.Contains(said[0], "Look into your mail") {
		t.Errorf("two answers:\n%s\n%s", said[0], said[1])
	}
	l := s.letter(f, 1)
	if got := nobody.post("/reset/password", fields("token", string(l.Token), "password", "quite another phrase")); got.status != http.StatusSeeOther {
		t.Errorf("the link: %d", got.status)
	}
	if body := s.as(f.Coach).get("/students").body; !strings.Contains(body, "with a link that came by mail") {
		t.Error("nobody is told")
	}
	for range 4 {
		nobody.post("/in/forgotten", fields("email", f.Email))
	}
	if got := nobody.post("/in/forgotten", fields("email", f.Email)); got.status != http.StatusTooManyRequests {
		t.Errorf("the sixth: %d", got.status)
	}
	if got := nobody.post("/in/coach", fields("email", f.Email, "password", "quite another phrase")); got.status != http.StatusSeeOther {
		t.Errorf("signing in after many tries: %d", got.status)
	}
}

// TestCoachAsksForTheReminder: a coach asks for the mail on Monday at the own address, says yes
// with the link of the first mail, and ends it; a new address is asked anew.
func TestCoachAsksForTheReminder(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "reminds")
	p := s.as(f.Coach)
	says := func(want string) {
		t.Helper()
		if page := p.get("/account"); !strings.Contains(page.body, "Reminder: "+want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	says("no mail is sent from here")
	s.store.SendMail()
	says("off")
	p.post("/account/mail", fields("monday", "true"))
	says("look into your mail")
	l := s.letter(f, 1)
	if l.Email != f.Email {
		t.Errorf("to %s", l.Email)
	}
	s.as(game.Actor{}).post("/confirm", fields("token", string(l.Token)))
	says("on")
	p.post("/account/mail", fields("monday", "false"))
	says("off")
	p.post("/account/mail", fields("monday", "true"))
	says("look into your mail")
	if err := s.store.ChangeEmail(ctx, f.Coach, "new@club.example"); err != nil {
		t.Fatal(err)
	}
	says("off")
	if body := s.as(s.officer(f, "Sol")).get("/account").body; strings.Contains(body, "Reminder") {
		t.Error("an officer is offered a reminder")
	}
}

// TestRefusedMailIsSaid: whose address a mail server refused reads so on the own account, until
// the address is kept anew.
func TestRefusedMailIsSaid(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "refused")
	s.store.SendMail()
	p := s.as(f.Coach)
	says := func(want bool) {
		t.Helper()
		if strings.Contains(p.get("/account").body, "the mail server refused a mail to this address") != want {
			t.Errorf("the account says that mail was refused: want %v", want)
		}
	}
	s.as(game.Actor{}).post("/in/forgotten", fields("email", f.Email))
	l := s.letter(f, 1)
	says(false)
	if err := s.store.EndLetter(ctx, f.Coach.Club, 1, l, store.LetterRefused); err != nil {
		t.Fatal(err)
	}
	says(true)
	if err := s.store.ChangeEmail(ctx, f.Coach, f.Email); err != nil {
		t.Fatal(err)
	}
	says(false)
}
