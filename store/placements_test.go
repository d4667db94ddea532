package store_test

import (
	"testing"

	"drover/game"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store/storetest"
)

// TestLeftTaskIsAskedAgain: a task of the starting check whose game was left is not answered,
// and begins anew; one that was played is.
func TestLeftTaskIsAskedAgain(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "check")
	must1(t, s.BeginPlacement(ctx, f.Coach, f.Student.Person, []progress.PickedTask{
		{Code: "one", FEN: storetest.FinishStart, Ending: "KRK", Target: "mate", Budget: 4},
		{Code: "KRK", FEN: storetest.FinishStart, Ending: "KRK", Target: "mate", Budget: 4},
	}))
	play := func(end practice.End, result practice.Result) game.GameID {
		t.Helper()
		id, err := s.PlayTask(ctx, f.Student)
		must1(t, err)
		set, err := s.Setup(ctx, f.Coach.Club, id)
		must1(t, err)
		out := practice.Outcome{End: end, Result: result}
		act := practice.Act{Seq: 1, Kind: practice.Helped, Client: "e", By: f.Student.Person, End: end}
		must1(t, second(second3(s.Append(ctx, f.Coach.Club, set, act, &out))))
		return id
	}
	first := play(practice.Abandoned, practice.NotWon)
	p, err := s.LatestPlacement(ctx, f.Coach.Club, f.Student.Person)
	if err != nil || p.Tasks[0].Passed != nil || p.Next() != 0 {
		t.Fatalf("after a game that was left: %+v, %v", p, err)
	}
	if again := play(practice.Mated, practice.Clean); again == first {
		t.Error("the game that was left is given again")
	}
	p, err = s.LatestPlacement(ctx, f.Coach.Club, f.Student.Person)
	if err != nil || p.Tasks[0].Passed == nil || !*p.Tasks[0].Passed || p.Next() != 1 || p.Ended != nil {
		t.Errorf("after a game that was played: %+v, %v", p, err)
	}
}

func second3[A, B any](_ A, b B, err error) (B, error) { return b, err }

// TestStoppedLinkIsNoted: who stopped or made a guardian's link, or a card, is in the audit.
func TestStoppedLinkIsNoted(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "noted")
	for _, c := range []struct {
		action string
		of     game.PersonID
		do     func() error
	}{
		{"guardian's link stopped", f.Guardian.Person, func() error {
			return s.RevokeGuardian(ctx, f.Coach2, f.Student.Person, f.Guardian.Person)
		}},
		{"guardian's link made", f.Guardian.Person, func() error {
			return second(s.ReplaceLink(ctx, f.Coach2, f.Student.Person, f.Guardian.Person))
		}},
		{"card made", f.Student.Person, func() error { return second(s.ReplaceCard(ctx, f.Coach2, f.Student.Person)) }},
	} {
		must1(t, c.do())
		const q = `select count(*) from audit where club_id = $1 and actor_id = $2 and action = $3 and subject_id = $4`
		if n := scan[int](t, url, q, f.Coach.Club, f.Coach2.Person, c.action, c.of); n != 1 {
			t.Errorf("%s: noted %d times", c.action, n)
		}
	}
}
