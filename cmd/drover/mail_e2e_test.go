package main

import (
	"io"
	"net"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
)

// office starts a mail server of the test's own and returns the settings that lead to it.
func office(t *testing.T, session smtp.Session) []string {
	t.Helper()
	server := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return session, nil }))
	var lc net.ListenConfig
	l, err := lc.Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() { defer close(done); _ = server.Serve(l) }()
	t.Cleanup(func() { _ = server.Close(); <-done })
	return []string{"DROVER_SMTP_URL=smtp://" + l.Addr().String(), "DROVER_MAIL_FROM=drover@club.example"}
}

// letterbox is a mail server that keeps what arrives.
type letterbox struct {
	*testing.T
	mails chan string
}

func (letterbox) Reset()                               {}
func (letterbox) Logout() error                        { return nil }
func (letterbox) Mail(string, *smtp.MailOptions) error { return nil }
func (letterbox) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (l letterbox) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	l.mails <- string(text)
	return err //nolint:wrapcheck // the server's own
}

// link waits for the next mail, which has a subject and names no child, and returns its link
// with that start.
func (l letterbox) link(subject, start string) string {
	l.Helper()
	var text string
	select {
	case text = <-l.mails:
	case <-time.After(time.Minute):
		l.Fatalf("no mail came: %s", subject)
	}
	link := regexp.MustCompile(`(?m)^` + regexp.QuoteMeta(start) + `\S+`).FindString(strings.ReplaceAll(text, "=\r\n", ""))
	if !strings.Contains(text, "Subject: "+subject+"\r\n") || strings.Contains(text, "Wick") || link == "" {
		l.Fatalf("%q with a link %s: %s", subject, start, text)
	}
	return link
}

// TestWeeklyMail: a guardian on a phone gives an address, which another browser confirms with the
// link of a mail. The mail of the week comes; to open the link that ends it changes nothing, its
// button does.
func TestWeeklyMail(t *testing.T) {
	box := letterbox{t, make(chan string, 9)}
	s := newServer(t)
	s.settings = office(t, box)
	s.run()
	owner := newTab(t, 1280, 900)
	makeClub1(owner, s)
	wick := addPupil(owner, s, "Wick")

	phone := newTab(t, 390, 844)
	phone.open(wick.link)
	phone.at("/report")
	phone.click(`main a[href="/report/mail"]`)
	phone.at("/report/mail")
	phone.write(`[name="email"]`, "una@home.example")
	phone.click("form .go")
	phone.sees("Look into your mail")

	mails := newTab(t, 1280, 900)
	mails.open(box.link("Is this your address?", s.base+"/confirm#"))
	mails.wait(`document.querySelector('[name="token"]').value.length > 20`)
	mails.click("form .go")
	mails.sees("Mail comes to this address now.")
	phone.reload()
	phone.sees("The weekly mail is on")

	for _, q := range []string{ // as on a Sunday evening
		`insert into letters (club_id, to_id, kind, week, at) select club_id, person_id, 'weekly', current_date, now() from addresses`,
		`insert into river.river_job (args, kind, queue, max_attempts, state, priority)
			select jsonb_build_object('club', club_id, 'letter', id), 'letter', 'mail', 25, 'available', 1 from letters where kind = 'weekly'`,
	} {
		s.sql(q)
	}
	mails.open(box.link("The weekly report is ready", s.base+"/unsubscribe/"))
	mails.sees("Stop this mail?")
	phone.reload()
	phone.sees("The weekly mail is on")
	mails.click("form .go")
	mails.sees("This mail does not come any more")
	phone.reload()
	phone.sees("The weekly mail is off")
	phone.click(`form[action="/report/mail/end"] button`)
	phone.sees("Where it goes")
	var kept int
	if s.sql(`select count(*) from addresses`, &kept); kept != 0 {
		t.Errorf("%d addresses are kept", kept)
	}
}

// TestForgottenPassword: a coach gets a link by mail, chooses a new password and signs in with it;
// whoever was signed in is out.
func TestForgottenPassword(t *testing.T) {
	box := letterbox{t, make(chan string, 9)}
	s := newServer(t)
	s.settings = office(t, box)
	s.run()
	owner := newTab(t, 1280, 900)
	makeClub1(owner, s)
	b := newTab(t, 390, 844)
	b.open(s.base + "/in#coach")
	b.click(`a[href="/in/forgotten"]`)
	b.at("/in/forgotten")
	b.write(`[name="email"]`, "Coach@test.example")
	b.click("form .go")
	b.sees("Look into your mail")
	b.open(box.link("A new password", s.base+"/reset/password#"))
	b.wait(`document.querySelector('[name="token"]').value.length > 20`)
	owner.open(s.base + "/since") // nothing changes before the link is used
	owner.at("/since")
	b.write(`[name="password"]`, "vexlamp otter moon")
	b.click("form .go")
	b.at("/in")
	owner.open(s.base + "/since")
	owner.at("/in")
	b.coachIn(s, "coach@test.example", "vexlamp otter moon")
	b.sees("with a link that came by mail")
}
