package store_test

import (
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// TestBrowserKnowsItsPeople: a browser keeps one token for each person who signed in, the
// latest last; what is unknown or over is dropped, and beyond eight the oldest goes.
func TestBrowserKnowsItsPeople(t *testing.T) {
	t.Parallel()
	now := time.Now()
	s := storetest.New(t, func() time.Time { return now })
	f := storetest.Club(t, s, "browser")
	remember := func(a game.Actor, tokens ...club.Secret) []club.Secret {
		t.Helper()
		kept, err := s.Remember(ctx, a, tokens)
		if err != nil {
			t.Fatal(err)
		}
		return kept
	}
	one := remember(f.Student)
	both := remember(f.Student2, one...)
	if len(one) != 1 || len(both) != 2 || both[0] != one[0] {
		t.Fatalf("%v, then %v", one, both)
	}
	if again := remember(f.Student, both...); !slices.Equal(again, []club.Secret{both[1], both[0]}) {
		t.Errorf("the first once more: %v, then %v", both, again)
	}
	odd := []club.Secret{club.NewSecret(f.Coach.Club), "nonsense", both[1], both[1]}
	if kept := remember(f.Student2, odd...); !slices.Equal(kept, both[1:]) {
		t.Errorf("with tokens that say nothing: %v", kept)
	}
	hash, err := s.Device(ctx, both, "", f.Email)
	if err != nil || hash != nil {
		t.Errorf("somebody else's browser: %x, %v", hash, err)
	}
	all := both
	for range store.MostDevices {
		card, err := s.AddStudent(ctx, f.Coach, club.NewStudent{Name: "Pupil", ConsentBy: "A guardian", Same: true,
			ConsentOn: now.AddDate(0, 0, -1), Consent: true, Wording: 8})
		if err != nil {
			t.Fatal(err)
		}
		before := all
		all = remember(game.Actor{Club: f.Coach.Club, Person: card.Student.ID, Role: game.Student}, before...)
		if want := before[max(0, len(before)+1-store.MostDevices):]; !slices.Equal(all[:len(all)-1], want) {
			t.Errorf("%d tokens became %d, not the latest", len(before), len(all))
		}
	}
	now = now.Add(store.DeviceFor)
	if kept := remember(f.Student, all...); len(kept) != 1 || slices.Contains(all, kept[0]) {
		t.Errorf("after half a year: %v", kept)
	}
}
