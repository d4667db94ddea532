package store_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// refreshed works out all overviews, as the jobs do.
func refreshed(t *testing.T, s *store.Store) {
	t.Helper()
	if _, err := s.RefreshOverviews(ctx); err != nil {
		t.Fatal(err)
	}
}

// table is the first page of a club's stage view.
func table(t *testing.T, s *store.Store, f storetest.Fixture) store.StageTable {
	t.Helper()
	table, err := s.StageTable(ctx, f.Coach, store.StageAsk{Page: 1})
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// TestOverviewIsKept: what is kept of a student is what the record says, and comes back
// as it was; a student without a game has none, and says that games are missing.
func TestOverviewIsKept(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "kept")
	task := f.Finish(t, s, practice.Practice, 6)
	for i := range 6 {
		f.Played(t, s, task, i/3, 1+i%3, practice.NotWon, time.Now().Add(-time.Duration(6-i)*time.Minute), 20)
	}
	refreshed(t, s)
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithStages, store.WithMastery,
		store.WithTries)
	if err != nil {
		t.Fatal(err)
	}
	want, rows := of.Overview(), table(t, s, f).Rows
	if len(want.Stuck) == 0 || len(want.Cells) == 0 || len(rows) != 2 {
		t.Fatalf("nothing to keep: %+v of %d", want, len(rows))
	}
	for _, got := range rows {
		switch got.Student.ID {
		case f.Student.Person:
			if !reflect.DeepEqual(got, want) {
				t.Errorf("kept: %+v\nsaid: %+v", got, want)
			}
		default:
			if got.Found.Missing != progress.Enough || len(got.Cells) != 0 || got.Student.Name == "" {
				t.Errorf("of nobody's games: %+v", got)
			}
		}
	}
}

// TestStageTablePages: fifty students to a page; first those who are to be taught
// the same, a habit wherever it shows, then others with a finding, then the rest by name.
func TestStageTablePages(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "pages")
	storetest.Exec(t, url, `insert into people (club_id, id, role, name, number, wording)
		select 1, 1000 + n, 'student', 'Pupil ' || lpad(n::text, 3, '0'), 1000 + n, 8 from generate_series(1, 118) n`)
	found := `{"Found": {"First": {"Ending": "KRK", "Habit": "checks", "N": 9, "K": 5}}}`
	storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, first_ending, first_habit, first_stage, stuck, said)
		select 1, 1000 + n, now(), 'KRK', case when n <> 7 then 'checks' end, case when n <> 110 then 'edge' end, n = 60, '`+found+`'
		from unnest(array[7, 60, 110]) n`)
	storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, stuck, said)
		values (1, 1090, now(), true, '{"Stuck": [{"Ending": "KRK", "Lost": 3}]}')`)
	var names []string
	for no := 1; no <= 4; no++ {
		page, err := s.StageTable(ctx, f.Coach, store.StageAsk{Page: no})
		if err != nil || page.Total != 120 || len(page.Rows) != []int{50, 50, 20, 0}[no-1] {
			t.Fatalf("page %d: %d rows of %d, %v", no, len(page.Rows), page.Total, err)
		}
		if len(page.Same) != 2 || page.Same[0].Student.Name != "Pupil 060" || len(page.Stuck) != 2 {
			t.Errorf("page %d: %d to be taught the same, %d stuck", no, len(page.Same), len(page.Stuck))
		}
		for _, row := range page.Rows {
			names = append(names, row.Student.Name)
		}
	}
	want := []string{"Pupil 060", "Pupil 110", "Pupil 007", "Pupil 090"}
	if got := names[:4]; fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("first stand %v", got)
	}
	seen := map[string]bool{}
	for _, n := range names {
		if seen[n] {
			t.Errorf("%s stands on two pages", n)
		}
		seen[n] = true
	}
	storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, stuck, said)
		select 1, 1000 + n, now(), true, '{}' from generate_series(11, 25) n`)
	if many := table(t, s, f); len(many.Stuck) != 12 || many.More != 5 {
		t.Errorf("of 17 who are stuck %d are named and %d more counted", len(many.Stuck), many.More)
	}
	if nonsense, err := s.StageTable(ctx, f.Coach, store.StageAsk{Page: -3}); err != nil || nonsense.Rows[0].Student.Name != want[0] {
		t.Errorf("a page below the first: %v", err)
	}
}

// TestOldOverviews: an overview is old where there is none of a student with games, where
// a game has ended since, where it does not say what comes next, and after a day.
func TestOldOverviews(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "old")
	old := func() int {
		t.Helper()
		all, err := s.OldOverviews(ctx, 100)
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	if n := old(); n != 0 {
		t.Errorf("%d old before the first game", n)
	}
	task := f.Finish(t, s, practice.Practice, 3)
	f.Played(t, s, task, 0, 1, practice.Clean, time.Now().Add(-time.Hour), 20)
	if n := old(); n != 1 {
		t.Errorf("%d old after the first game", n)
	}
	refreshed(t, s)
	if n := old(); n != 0 {
		t.Errorf("%d old just after", n)
	}
	f.Played(t, s, task, 1, 1, practice.Clean, time.Now().Add(time.Second), 20)
	if n := old(); n != 1 {
		t.Errorf("%d old after another game", n)
	}
	refreshed(t, s)
	storetest.Exec(t, url, `update overviews set at = now() + interval '1 minute',
		said = case when student_id = $1 then said - 'Next' else said end`, f.Student2.Person)
	if n := old(); n != 1 {
		t.Errorf("%d old, and one is kept by a program that does not say what comes next", n)
	}
	pass(25 * time.Hour)
	if n := old(); n != 2 {
		t.Errorf("%d old after a day", n)
	}
}
