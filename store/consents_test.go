package store_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// resign is an act of a student that any game takes.
func resign(f storetest.Fixture, seq int) practice.Act {
	return practice.Act{Seq: seq, Kind: practice.Helped, By: f.Student.Person, Client: fmt.Sprint("c", seq)}
}

// TestConsentStopsActs: the insert of an act itself looks at the consent. Any guardian's
// withdrawal stops play; only who withdrew, or the officer from paper, gives it again.
func TestConsentStopsActs(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "consent")
	link, err := s.AddGuardian(ctx, f.Coach, f.Student.Person, "Una")
	if err != nil {
		t.Fatal(err)
	}
	una := game.Actor{Club: f.Coach.Club, Person: link.Guardian, Role: game.Guardian, Name: "Una"}
	setup, err := s.Setup(ctx, f.Student.Club, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	seq := 0
	plays := func(what string, want bool) {
		t.Helper()
		seq++
		_, won, err := s.Append(ctx, f.Student.Club, setup, resign(f, seq), nil)
		no, refused := practice.Refusal(err)
		if won != want || refused == want || refused && no != practice.Resting {
			t.Errorf("%s: won %v, %v", what, won, err)
		}
		if may, err := s.Practises(ctx, f.Student.Club, f.Student.Person); err != nil || may != want {
			t.Errorf("%s: may practise %v, %v", what, may, err)
		}
		if !won {
			seq--
		}
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	plays("at first", true)
	must(s.WithdrawConsent(ctx, una, f.Student.Person))
	plays("one guardian withdrew", false)
	if err := s.AnswerTask(ctx, f.Student, "stalemate", true); game.KindOf(err) != game.Denied {
		t.Errorf("a question of the starting check is answered: %v", err)
	}
	note := club.NewStudent{ConsentBy: "Una", ConsentOn: time.Now(), Consent: true}
	if err := s.NoteConsent(ctx, f.Coach, f.Student.Person, note); game.KindOf(err) != game.Conflict {
		t.Errorf("a coach gives consent again: %v", err)
	}
	must(s.GiveConsent(ctx, f.Guardian, f.Student.Person, 0))
	plays("the other guardian agrees", false)
	if games, err := s.RestingGames(ctx); err != nil || len(games) != 1 || games[0].Game != f.Game {
		t.Errorf("games to be stopped: %v, %v", games, err)
	}
	must(s.GiveConsent(ctx, una, f.Student.Person, 0))
	plays("who withdrew gives it again", true)

	must(s.NoteWithdrawal(ctx, f.Coach, f.Student.Person, 0, "Grandfather", time.Now()))
	plays("noted from paper", false)
	of, err := s.ConsentOf(ctx, f.Student.Club, f.Student.Person)
	if err != nil || of.Stands || len(of.Back) != 1 || of.Back[0].By != "Grandfather" {
		t.Fatalf("%+v, %v", of, err)
	}
	if err := s.GiveAgain(ctx, f.Coach, f.Student.Person, of.Back[0].ID, "Grandfather", time.Now()); game.KindOf(err) != game.Denied {
		t.Errorf("a coach gives it again: %v", err)
	}
	officer := officer(t, s, f.Coach, "Sol")
	if err := s.GiveAgain(ctx, officer, f.Student.Person, of.Back[0].ID, "Grandfather", time.Now().AddDate(0, -1, 0)); err == nil {
		t.Error("given again before it was taken back")
	}
	must(s.GiveAgain(ctx, officer, f.Student.Person, of.Back[0].ID, "Grandfather", time.Now()))
	plays("the officer from paper", true)
	if err := s.GiveConsent(ctx, f.Guardian2, f.Student.Person, 0); game.KindOf(err) != game.Missing {
		t.Errorf("a stranger's guardian: %v", err)
	}
	if err := s.WithdrawConsent(ctx, f.Guardian2, f.Student.Person); game.KindOf(err) != game.Missing {
		t.Errorf("a stranger's guardian: %v", err)
	}
}

// TestConsentsOfTheClubsOwnDay: a paper of the day on which consent was taken back gives it
// again, one of the day before does not, and no paper is of tomorrow: by the club's calendar.
// Los Angeles is 8 hours behind UTC in November, Auckland 13 ahead (IANA time zone database).
func TestConsentsOfTheClubsOwnDay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ zone, at string }{
		{"America/Los_Angeles", "2026-11-27T05:00:00Z"}, // nine in the evening of the 26th
		{"Pacific/Auckland", "2026-11-25T20:00:00Z"},    // nine in the morning of the 26th
	} {
		t.Run(c.zone, func(t *testing.T) {
			t.Parallel()
			now, err := time.Parse(time.RFC3339, c.at)
			must1(t, err)
			url := storetest.URL(t)
			s, err := store.Open(ctx, url, func() time.Time { return now })
			must1(t, err)
			defer s.Close()
			f := storetest.Club(t, s, "calendar")
			officer := officer(t, s, f.Coach, "Sol")
			storetest.Exec(t, url, `update clubs set zone = $1`, c.zone)
			storetest.Exec(t, url, `alter table consents alter column at set default '`+c.at+`'`) // the database's clock is not the test's
			day := func(of int) time.Time { return time.Date(2026, 11, of, 0, 0, 0, 0, time.UTC) }
			back := func() int64 {
				of, err := s.TakenBack(ctx, f.Coach.Club)
				if err != nil || len(of) != 1 || !of[0].On.Equal(day(26)) {
					t.Fatalf("taken back: %+v, %v", of, err)
				}
				return of[0].ID
			}
			who := f.Student.Person
			must1(t, s.WithdrawConsent(ctx, f.Guardian, who))
			for _, bad := range []int{25, 27} {
				if err := s.GiveAgain(ctx, officer, who, back(), "Una", day(bad)); game.KindOf(err) != game.Bad {
					t.Errorf("given again on the %d.: %v", bad, err)
				}
			}
			must1(t, s.GiveAgain(ctx, officer, who, back(), "Una", day(26)))
			must1(t, s.NoteWithdrawal(ctx, f.Coach, who, 0, "Per", day(26)))
			must1(t, s.GiveAgain(ctx, officer, who, back(), "Per", day(26)))
			child := club.NewStudent{Name: "New", ConsentBy: "Una", ConsentOn: day(27), Consent: true}
			if _, err := s.AddStudent(ctx, f.Coach, child); game.KindOf(err) != game.Bad {
				t.Errorf("consent of tomorrow: %v", err)
			}
			child.ConsentOn = day(26)
			must1(t, second(s.AddStudent(ctx, f.Coach, child)))
		})
	}
}

// TestStoppedGameCountsForNothing: the end of a stopped game is taken though practice rests,
// and no page's sums have it.
func TestStoppedGameCountsForNothing(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "stopped")
	setup, err := s.Setup(ctx, f.Student.Club, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.WithdrawConsent(ctx, f.Guardian, f.Student.Person); err != nil {
		t.Fatal(err)
	}
	stop := practice.Act{Seq: 1, Kind: practice.Stop, End: practice.Stopped}
	_, won, err := s.Append(ctx, f.Student.Club, setup, stop, &practice.Outcome{End: practice.Stopped, Result: practice.NotWon,
		Stages: []practice.StageResult{{Stage: "edge", Moves: 3, Bad: 3}}})
	if err != nil || !won {
		t.Fatalf("%v, %v", won, err)
	}
	info, err := s.Game(ctx, f.Student.Club, f.Game)
	if err != nil || info.Counts || info.End != practice.Stopped || info.Failed != "" {
		t.Errorf("%+v, %v", info, err)
	}
	if n := scan[int](t, url, `select count(*) from stage_results where game_id = $1`, f.Game); n != 0 {
		t.Errorf("%d stage results of a stopped game", n)
	}
}

// TestAskedAgain: a notice that only tells changes nothing; after one that asks again practice
// goes on for thirty days, and then rests until a guardian has answered.
func TestAskedAgain(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "asked")
	state := func(what string, stands, asked bool) club.Consent {
		t.Helper()
		of, err := s.ConsentOf(ctx, f.Student.Club, f.Student.Person)
		if err != nil || of.Stands != stands || (of.Asked != nil) != asked {
			t.Errorf("%s: %+v, %v", what, of, err)
		}
		return of
	}
	keep := func(again bool) {
		t.Helper()
		n := club.Notice{For: club.ForGuardian, Body: "# What\nAll of it.", Again: again}
		if err := s.KeepNotice(ctx, f.Coach, n); err != nil {
			t.Fatal(err)
		}
		if err := s.KeepNotice(ctx, f.Coach, n); game.KindOf(err) != game.Bad {
			t.Errorf("the notice that is in force is a new one: %v", err)
		}
	}
	if err := s.KeepNotice(ctx, f.Coach2, club.Notice{For: club.ForGuardian, Body: "Mine"}); game.KindOf(err) != game.Denied {
		t.Errorf("not an owner: %v", err)
	}
	keep(false)
	state("told", true, false)
	keep(true) // the same words, told by mistake
	state("asked again", true, true)
	storetest.Exec(t, url, `update notice_texts set at = now() - interval '31 days'`)
	state("after thirty days", false, true)
	if err := s.GiveConsent(ctx, f.Guardian, f.Student.Person, 1); game.KindOf(err) != game.Conflict {
		t.Errorf("to an older version: %v", err)
	}
	old := club.NewStudent{ConsentBy: "Una", ConsentOn: time.Now().AddDate(0, 0, -40), Consent: true}
	if err := s.NoteConsent(ctx, f.Coach, f.Student.Person, old); err != nil {
		t.Fatal(err)
	}
	state("paper of the version before", false, true)
	old.Version = 2
	if err := s.NoteConsent(ctx, f.Coach, f.Student.Person, old); game.KindOf(err) != game.Bad {
		t.Errorf("a version newer than the paper: %v", err)
	}
	if err := s.GiveConsent(ctx, f.Guardian, f.Student.Person, 2); err != nil {
		t.Fatal(err)
	}
	if of := state("answered", true, false); of.Version != 2 || of.Guardian != f.Guardian.Person {
		t.Errorf("%+v", of)
	}
	if notes, err := s.NoticeVersions(ctx, f.Coach.Club); err != nil || len(notes) != 2 ||
		string(notes[0].Hash) != string(club.NoticeHash(notes[0].Body)) {
		t.Errorf("%+v, %v", notes, err)
	}
}
