package store_test

import (
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// nicknamed is a new student of a name.
func nicknamed(name string) club.NewStudent {
	return club.NewStudent{Name: name, ConsentBy: "Ann", ConsentOn: time.Now().AddDate(0, 0, -1), Consent: true}
}

// TestSameNicknameAtOnce: of coaches who add one nickname at the same instant, on
// two nodes, one is not asked; the others are.
func TestSameNicknameAtOnce(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	other, err := store.Open(ctx, url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	f := storetest.Club(t, s, "instant")
	const coaches = 4
	var wg sync.WaitGroup
	errs := make([]error, coaches)
	for i := range coaches {
		wg.Add(1)
		go func() {
			defer wg.Done()
			_, errs[i] = []*store.Store{s, other}[i%2].AddStudent(ctx, []game.Actor{f.Coach, f.Coach2}[i%2],
				nicknamed([]string{"Juniper", "JUNIPER"}[i%2]))
		}()
	}
	wg.Wait()
	added := 0
	for i, err := range errs {
		switch {
		case err == nil:
			added++
		case game.KindOf(err) != game.Bad:
			t.Errorf("coach %d: %v", i, err)
		}
	}
	if there := scan[int](t, url, "select count(*) from people where lower(name) = 'juniper'"); added != 1 || there != 1 {
		t.Errorf("%d of %d were not asked, %d are there", added, coaches, there)
	}
}

// TestSameNickname: the same name in other letters is asked about, and taken once
// the answer is that it is another child; a child that has left asks nothing, and
// another club's neither.
func TestSameNickname(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f, g := storetest.Club(t, s, "nick"), storetest.Club(t, s, "other")
	add := func(a game.Actor, n club.NewStudent) game.Kind { return game.KindOf(second(s.AddStudent(ctx, a, n))) }
	if err := second(s.AddStudent(ctx, f.Coach, nicknamed("Juniper"))); err != nil {
		t.Fatal(err)
	}
	if add(f.Coach, nicknamed(" ｊuniper ")) != game.Bad {
		t.Error("another spelling is not asked about")
	}
	again := nicknamed("juniper")
	again.Same = true
	for name, err := range map[string]error{
		"another child": second(s.AddStudent(ctx, f.Coach, again)), "another club": second(s.AddStudent(ctx, g.Coach,
			nicknamed("Juniper"))),
	} {
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	run(t, url, "update people set archived_at = now() where lower(name) = 'juniper'")
	if err := second(s.AddStudent(ctx, f.Coach, nicknamed("Juniper"))); err != nil {
		t.Errorf("after those have left: %v", err)
	}
}
