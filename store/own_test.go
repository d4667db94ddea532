package store_test

import (
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store/storetest"
)

// TestOwn: what a child sets for itself is kept, replaces what was there, and is nobody
// else's; the pace is that of its games, and a game of another child keeps the club's.
func TestOwn(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "own")
	storetest.Exec(t, url, `update clubs set pace = 900 where id = $1`, f.Coach.Club)
	plain := club.Own{Pace: club.ClubPace}
	if got, err := s.Own(ctx, f.Student); err != nil || got != plain {
		t.Fatalf("at first: %+v, %v", got, err)
	}
	first := club.Own{Pace: club.SlowPace, Sounds: true, Turned: true, Big: true, Scheme: club.DarkScheme}
	for _, c := range []struct {
		set, want club.Own
		pace      int
	}{
		{first, first, 2000}, {club.Own{Pace: club.SlowerPace}, club.Own{Pace: club.SlowerPace}, 1200},
		{club.Own{Pace: club.QuickPace, Scheme: club.LightScheme}, club.Own{Pace: club.QuickPace, Scheme: club.LightScheme}, 600},
		{club.Own{Big: true}, club.Own{Pace: club.ClubPace, Big: true}, 900},
	} {
		must1(t, s.KeepOwn(ctx, f.Student, c.set))
		if got, err := s.Own(ctx, f.Student); err != nil || got != c.want {
			t.Errorf("kept %+v of %+v, %v", got, c.set, err)
		}
		if g, err := s.Game(ctx, f.Coach.Club, f.Game); err != nil || g.Pace != c.pace {
			t.Errorf("%s: the game's pace is %d, %v", c.set.Pace, g.Pace, err)
		}
		if got, err := s.Own(ctx, f.Student2); err != nil || got != plain {
			t.Errorf("another child has %+v, %v", got, err)
		}
	}
	must1(t, s.KeepOwn(ctx, f.Student2, first))
	if g, err := s.Game(ctx, f.Coach.Club, f.Game); err != nil || g.Pace != 900 {
		t.Errorf("another child's pace reaches the game: %d, %v", g.Pace, err)
	}
	for _, odd := range []club.Own{{Pace: "now"}, {Scheme: "pink"}} {
		if err := s.KeepOwn(ctx, f.Student, odd); game.KindOf(err) != game.Bad {
			t.Errorf("%+v: %v", odd, err)
		}
	}
}
