package main

import (
	"fmt"
	"io"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
)

// holding is a mail server that takes every byte of a mail, says so, and never answers.
type holding struct {
	arrived chan string
	release chan struct{}
	mails   *atomic.Int32
}

func (holding) Reset()                               {}
func (holding) Logout() error                        { return nil }
func (holding) Mail(string, *smtp.MailOptions) error { return nil }
func (holding) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (h holding) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err //nolint:wrapcheck // the server's own
	}
	h.mails.Add(1)
	select {
	case h.arrived <- string(text):
	default:
	}
	<-h.release
	return nil
}

// TestKilledWhileMailGoes: the program is killed after the mail server has every byte of a
// weekly mail and before it answers. The next one ends the mail as uncertain within a minute, and
// sends none.
func TestKilledWhileMailGoes(t *testing.T) {
	h := holding{make(chan string, 1), make(chan struct{}), &atomic.Int32{}}
	settings := office(t, h)
	t.Cleanup(func() { close(h.release) })
	s := newServer(t)
	s.settings = settings
	s.run()
	for _, q := range []string{
		`insert into clubs (id, name, zone) values (7, 'Killed', 'UTC')`,
		`insert into people (club_id, id, role, name, number) values (7, 1, 'student', 'cnry', 901), (7, 2, 'guardian', 'cnry', null)`,
		`insert into guardians values (7, 2, 1)`,
		`insert into consents (club_id, student_id, given_by, given_on, noted_by, version) values (7, 1, 'x', '2026-01-01', 2, '1')`,
		`insert into keys (club_id, hash, kind, person_id, expires_at) values (7, 'link', 'report', 2, now() + interval '1 day')`,
		`insert into addresses (club_id, person_id, email, wanted, made_at, confirmed_at) values (7, 2, 'una@home.example', true, now(), now())`,
		`insert into letters (club_id, id, to_id, kind, week, at) values (7, 1, 2, 'weekly', '2026-01-05', now())`,
		`insert into river.river_job (args, kind, queue, max_attempts, state, priority) values ('{"club": 7, "letter": 1}', 'letter', 'mail', 25, 'available', 1)`,
	} {
		s.sql(q)
	}
	select {
	case text := <-h.arrived:
		if !strings.Contains(text, "The weekly report is ready") || strings.Contains(text, "cnry") {
			t.Errorf("it sends %s", text)
		}
	case <-time.After(time.Minute):
		t.Fatal("no mail came")
	}
	s.kill9()
	s.run()
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	var outcome string
	for end := time.Now().Add(90 * time.Second); outcome == ""; <-tick.C {
		s.sql(`select coalesce(outcome, '') from letters where club_id = 7 and id = 1`, &outcome)
		if time.Now().After(end) {
			t.Fatal("it does not end")
		}
	}
	if got := fmt.Sprint(outcome, " ", h.mails.Load()); got != "unknown 1" {
		t.Errorf("it ends as %s", got)
	}
}
