package store_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// given is what the fixture's student has, as text: the drills of the assignments that
// stand, with their starts and rules.
func given(t *testing.T, s *store.Store, a game.Actor) []string {
	t.Helper()
	tasks, err := s.Tasks(ctx, a)
	must1(t, err)
	var out []string
	for _, task := range tasks {
		out = append(out, fmt.Sprintf("%d %+v", task.ID, task.Drill))
	}
	slices.Sort(out)
	return out
}

// TestNoEditChangesWhatWasGiven: whatever is done to the shelf, in any order (changed,
// renamed, archived, put back, undone), every assignment that exists stays as it was given,
// to the letter; and of each drill at most one version is on the shelf.
func TestNoEditChangesWhatWasGiven(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		s, url := open(t)
		f := storetest.Club(t, s, "edits")
		rng := rand.New(rand.NewPCG(seed, 17))
		last, change := f.Drill.ID, game.ChangeID(0)
		for step := range 40 {
			before := given(t, s, f.Student)
			var err error
			what := rng.IntN(6)
			switch what {
			case 0:
				d := f.Drill
				d.Name, d.Mode = fmt.Sprint("Version ", step), practice.Practice
				d.Rule, d.Starts = club.RuleOf(practice.Practice), d.Starts[:1]
				last, change, err = s.ChangeDrill(ctx, f.Coach, last, d)
			case 1:
				last, change, err = s.RenameDrill(ctx, f.Coach2, last, fmt.Sprint("Name ", step))
			case 2:
				change, err = s.ArchiveDrill(ctx, f.Coach, last)
			case 3:
				last, change, err = s.BackOnShelf(ctx, f.Coach, last)
			case 4:
				_, _, err = s.Undo(ctx, f.Coach, change)
			case 5:
				if at, err := s.Place(ctx, f.Coach.Club, last); err == nil && at.Now != 0 {
					last = at.Now
					must1(t, second(s.Assign(ctx, f.Coach, at.Now, []game.PersonID{f.Student.Person}, nil)))
				}
			}
			if kind := game.KindOf(err); err != nil && kind != game.Conflict && kind != game.Missing {
				t.Fatalf("seed %d, step %d, act %d: %v", seed, step, what, err)
			}
			if at, err := s.Place(ctx, f.Coach.Club, f.Drill.ID); err == nil && at.Now != 0 {
				last = at.Now
			} else if last == 0 {
				last = f.Drill.ID
			}
			after := given(t, s, f.Student)
			for _, one := range before {
				if !slices.Contains(after, one) {
					t.Fatalf("seed %d, step %d, act %d: %s is not as it was", seed, step, what, one)
				}
			}
			if n := scan[int](t, url, `select coalesce(max(n), 0)::int from (select count(*) n from drills
				where archived_at is null group by club_id, shelf_id) t`); n > 1 {
				t.Fatalf("seed %d, step %d: %d versions are on the shelf", seed, step, n)
			}
		}
	}
}

// TestReadyDrillsComeOnce: the ready drills are put on a shelf once; one that was archived
// does not come back, and what a club has of its own stays. The shelf is searched and
// filtered by what a drill trains.
func TestReadyDrillsComeOnce(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "ready")
	ready, err := progress.Shelf()
	must1(t, err)
	if misses, err := s.MissesReady(ctx, f.Coach.Club); err != nil || !misses {
		t.Errorf("nothing is missed: %v", err)
	}
	if n, err := s.FillShelf(ctx, f.Coach, ready[:30]); err != nil || n != 30 {
		t.Errorf("%d, %v", n, err)
	}
	all, err := s.Shelf(ctx, f.Coach, store.ShelfAsk{})
	must1(t, err)
	if len(all) != 31 || all[0].Name != ready[0].Drill.Name {
		t.Fatalf("%d drills, first %s", len(all), all[0].Name)
	}
	must1(t, second(s.ArchiveDrill(ctx, f.Coach, all[0].ID)))
	if n, err := s.FillShelf(ctx, f.Coach2, ready); err != nil || n != len(ready)-30 {
		t.Errorf("%d came, %v", n, err)
	}
	if misses, err := s.MissesReady(ctx, f.Coach.Club); err != nil || misses {
		t.Errorf("some are missed: %v", err)
	}
	for name, c := range map[string]struct {
		ask  store.ShelfAsk
		want func(d club.Drill) bool
	}{
		"an ending":     {store.ShelfAsk{Ending: "KRK"}, func(d club.Drill) bool { return d.Ending == "KRK" && !d.Hold }},
		"what is held":  {store.ShelfAsk{Ending: "hold-KPK"}, func(d club.Drill) bool { return d.Ending == "KPK" && d.Hold }},
		"a kind":        {store.ShelfAsk{Trains: "kind-trap"}, func(d club.Drill) bool { return d.Kind == ending.Traps }},
		"a stage":       {store.ShelfAsk{Trains: "edge"}, func(d club.Drill) bool { return d.From == ending.Edge && d.Kind == ending.AtRandom }},
		"tests":         {store.ShelfAsk{Trains: "test"}, func(d club.Drill) bool { return d.Mode == practice.Test }},
		"a level":       {store.ShelfAsk{Level: 1}, func(d club.Drill) bool { return d.Level == 1 }},
		"words":         {store.ShelfAsk{Find: "WRONG corner"}, func(d club.Drill) bool { return d.Kind == ending.WrongCorner }},
		"the archived":  {store.ShelfAsk{Archived: true}, func(d club.Drill) bool { return d.Name == ready[0].Drill.Name }},
		"a first page":  {store.ShelfAsk{Page: 1}, func(club.Drill) bool { return true }},
		"a wild letter": {store.ShelfAsk{Find: "%"}, nil},
	} {
		rows, err := s.Shelf(ctx, f.Coach, c.ask)
		if err != nil || (len(rows) == 0) != (c.want == nil) {
			t.Errorf("%s: %d rows, %v", name, len(rows), err)
		}
		for _, row := range rows {
			if !c.want(row.Drill) {
				t.Errorf("%s: %s is there", name, row.Name)
			}
		}
	}
}

// TestGivenIsTakenBack: what was given in several weeks is withdrawn by an undo; one week,
// one child's part and the day on which it is due are changed and are as before again.
func TestGivenIsTakenBack(t *testing.T) {
	t.Parallel()
	now := time.Now().Truncate(time.Second)
	s, err := store.Open(ctx, storetest.URL(t), func() time.Time { return now })
	must1(t, err)
	t.Cleanup(s.Close)
	f := storetest.Club(t, s, "weeks")
	day := now.AddDate(0, 0, 3).Truncate(24 * time.Hour)
	both := []game.PersonID{f.Student.Person, f.Student2.Person}
	late := day.AddDate(0, 0, 7)
	first, err := s.Give(ctx, f.Coach, store.Giving{Drill: f.Drill.ID, Students: both,
		When: []club.Span{{Opens: now, Due: &day}, {Opens: now.AddDate(0, 0, 7), Due: &late}}})
	must1(t, err)
	rows := func(a game.Actor) (open, out int) {
		list, err := s.SetFor(ctx, f.Coach.Club, a.Person, 50)
		must1(t, err)
		for _, row := range list {
			switch {
			case row.Withdrawn:
				out++
			case row.Passed == nil:
				open++
			}
		}
		return open, out
	}
	expect := func(when string, a game.Actor, open, out int) {
		t.Helper()
		if o, w := rows(a); o != open || w != out {
			t.Errorf("%s: %d open, %d withdrawn; want %d and %d", when, o, w, open, out)
		}
	}
	expect("given", f.Student, 3, 0) // with the fixture's own
	if tasks, err := s.Tasks(ctx, f.Student); err != nil || len(tasks) != 2 {
		t.Errorf("the week to come shows already: %d, %v", len(tasks), err)
	}
	one, err := s.WithdrawFrom(ctx, f.Coach, first, f.Student2.Person)
	must1(t, err)
	expect("taken from one", f.Student2, 2, 1)
	expect("taken from the other", f.Student, 3, 0)
	if _, err := s.WithdrawFrom(ctx, f.Coach, first, f.Student2.Person); game.KindOf(err) != game.Conflict {
		t.Errorf("taken twice: %v", err)
	}
	must1(t, undone(s, f.Coach, one))
	expect("as before", f.Student2, 3, 0)
	all, err := s.Withdraw(ctx, f.Coach, first, true)
	must1(t, err)
	expect("with the weeks to come", f.Student, 1, 2)
	must1(t, undone(s, f.Coach, all))
	must1(t, second(s.ChangeDue(ctx, f.Coach, first, &late)))
	if who, err := s.HaveOpen(ctx, f.Coach.Club, f.Drill.ID, both); err != nil || len(who) != 2 {
		t.Errorf("%d have it open, %v", len(who), err)
	}
	list, err := s.SetFor(ctx, f.Coach.Club, f.Student.Person, 50)
	must1(t, err)
	if at := slices.IndexFunc(list, func(r store.SetRow) bool { return r.Task == first }); !list[at].Due.Equal(late) {
		t.Errorf("due on %s", list[at].Due)
	}
}

func undone(s *store.Store, a game.Actor, id game.ChangeID) error {
	_, _, err := s.Undo(ctx, a, id)
	return err
}
