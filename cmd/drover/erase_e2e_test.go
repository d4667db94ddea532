package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// until waits until something is so.
func (s *server) until(what string, is func() bool) {
	s.Helper()
	end := time.Now().Add(time.Minute)
	for tick := time.NewTicker(100 * time.Millisecond); !is(); <-tick.C {
		if time.Now().After(end) {
			s.Fatalf("it did not come true: %s", what)
		}
	}
}

// wickName is the nickname that nothing may hold after its erasure.
const wickName = "Wick"

// TestErasure is journey 12, and 13 after it. A guardian on a phone is offered the export, asks
// that all be erased, and reads the date once the officer has confirmed it; stops it, asks again;
// seven days later all is gone: the link and the card say so kindly, the group counts one less,
// and no log has the nickname. A backup from before brings nobody back, where the list is given.
func TestErasure(t *testing.T) {
	s := newServer(t)
	var log bytes.Buffer
	s.err = &log
	s.run()
	owner := newTab(t, 1280, 900)
	makeClub1(owner, s)
	wick, nan := addPupil(owner, s, wickName), addPupil(owner, s, "Nan")
	s.sql(`insert into groups (club_id, name) select id, 'Tuesday' from clubs`)
	s.sql(`insert into members select p.club_id, g.id, p.id from people p, groups g where p.role = 'student'`)
	assign(owner, s)
	child := signInCard(t, s, wick, 390, 844)
	officer := appointed(t, s, owner, "Solveig")
	before := filepath.Join(s.dir, "before.drover")
	if out, said := s.command(filepath.Join(s.dir, "pg"), "backup", before); said != "" {
		t.Fatal(out, said)
	}

	phone := newTab(t, 390, 844)
	phone.open(wick.link)
	phone.at("/report")
	asksToErase(phone)
	confirms(officer, s)
	var day string
	s.sql(`select to_char(confirmed_at + interval '7 days', 'FMDD FMMonth') from erasures`, &day)
	phone.open(s.base + "/report")
	phone.sees("All will be erased on " + day)
	phone.sees("Until then you can stop it here.")
	phone.click(`form[action$="/erase/stop"] button`)
	phone.sees("The erasure is stopped.") // it can be asked for anew
	officer.open(s.base + "/welfare/erasures")
	officer.sees("Nothing is asked for, and nothing waits.")
	phone.open(s.base + "/report")
	asksToErase(phone)
	confirms(officer, s)
	s.sql(`update erasures set due_at = due_at - interval '7 days'`)
	s.stop() // the job runs at the start, then every minute
	s.run()
	s.until("the erasure is done", func() (is bool) {
		s.sql(`select exists (select from erasures where done_at is not null)`, &is)
		return is
	})

	phone.open(s.base + "/report")
	phone.at("/in")
	phone.open(wick.link)
	phone.sees("This private link no longer works")
	phone.sees("was erased, as somebody asked")
	child.open(s.base + "/today")
	child.at("/in")
	owner.open(s.base + "/groups")
	owner.sees("1 student")
	officer.open(s.base + "/welfare/erasures")
	officer.sees("Nothing is asked for, and nothing waits.")
	newTab(t, 390, 844).signIn(s, nan)
	postgres, err := os.ReadFile(filepath.Join(s.dir, "pg", "postgres.log"))
	if err != nil || bytes.Contains(postgres, []byte(wickName)) {
		t.Errorf("Postgres's log has the nickname: %v, %s", err, postgres)
	}
	comesBackNever(t, s, before, nan)
	s.stop()
	if strings.Contains(log.String(), wickName) {
		t.Errorf("the log has the nickname: %s", log.String())
	}
}

// asksToErase asks on a guardian's page, which leads to the export first.
func asksToErase(phone *tab) {
	phone.Helper()
	phone.click(`.erases a`)
	phone.sees("First take everything along")
	phone.wait(`document.querySelector('main a[href$="/data"]')`)
	phone.click(`form[action$="/erase"] button`)
	phone.sees("The welfare officer decides.")
}

func confirms(officer *tab, s *server) {
	officer.Helper()
	officer.open(s.base + "/welfare/erasures")
	officer.sees("asked for by a guardian, Guardian of " + wickName)
	officer.click(`form[action$="/confirm"] button`)
	officer.sees("All will be erased on ")
}

// comesBackNever restores a backup of before the erasure on a new server, with the list of a
// later backup: how many are erased is said first, and nobody is back.
func comesBackNever(t *testing.T, s *server, before string, nan pupil) {
	t.Helper()
	data := filepath.Join(s.dir, "pg")
	list, hash := filepath.Join(data, "erased.txt"), regexp.MustCompile(`(?m)^[0-9a-f]{64}$`)
	s.until("the node has noted the child and the guardian", func() bool {
		text, err := os.ReadFile(list)
		return err == nil && len(hash.FindAll(text, -1)) == 2
	})
	if info, err := os.Stat(list); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the list of the node: %v", err)
	}
	after := filepath.Join(s.dir, "after.drover")
	if out, said := s.command(data, "backup", after); said != "" {
		t.Fatal(out, said)
	}
	if info, err := os.Stat(after + ".erased"); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the list beside the backup: %v", err)
	}
	var last, number int
	s.sql(`select max(number) from people`, &last)
	s.elsewhere()
	data = filepath.Join(s.dir, "pg")
	if out, said := s.command(data, "restore", before); out != "" || !strings.Contains(said, "--no-erased-list") {
		t.Errorf("without a word about the list: %q, %q", out, said)
	}
	out, said := s.command(data, "restore", "--erased", after+".erased", before)
	if said != "" || !strings.HasPrefix(out, "The list names 2 people who were erased.\n2 people of this backup who were erased since then") ||
		!strings.Contains(out, "Test club: 1 student, 1 guardian, 1 group") {
		t.Fatalf("%q, %q", out, said)
	}
	s.run()
	s.sql(`select nextval('student_numbers')`, &number)
	if number <= last {
		t.Errorf("the next student gets the number %d, and %d was given out", number, last)
	}
	var back int
	s.sql(fmt.Sprintf(`select count(*) from people where name like '%%%s%%'`, wickName), &back)
	if back != 0 {
		t.Errorf("%d people are back", back)
	}
	newTab(t, 390, 844).signIn(s, nan)
}
