package store_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// cell is a student's cell of a stage, in a few words.
func cell(t store.StageTable, of game.PersonID, k progress.Key) string {
	for _, row := range t.Rows {
		for _, c := range row.Cells {
			if row.Student.ID == of && c.Key == k {
				return fmt.Sprintf("%d of %d %v", c.Clean, c.Of, c.Last)
			}
		}
	}
	return "-"
}

// TestStagesHeld: the numbers are those of the games that are asked for, by their day and their
// drill, and of no other; of the usual weeks they are what the record says.
func TestStagesHeld(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "held")
	one, two := f.Finish(t, s, practice.Practice, 9), f.Finish(t, s, practice.Practice, 9)
	day := func(n int) time.Time { return time.Now().Add(-time.Duration(n) * 24 * time.Hour) }
	for i, ago := range []int{90, 40, 20, 3} {
		f.Played(t, s, one, i, 1, practice.Clean, day(ago), 20)
		f.Played(t, s, two, i, 1, practice.NotWon, day(ago).Add(time.Hour), 20)
	}
	refreshed(t, s)
	storetest.Exec(t, url, `update games set counts = false, kind = 'drill' where drill_id = $1 and start_no = 3`, two.Drill.ID)
	mate := progress.Key{Ending: "KRK", Stage: ending.Mate}
	read := func(ask store.StageAsk) store.StageTable {
		t.Helper()
		table, err := s.StageTable(ctx, f.Coach, ask)
		if err != nil {
			t.Fatal(err)
		}
		return table
	}
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithStages)
	if err != nil {
		t.Fatal(err)
	}
	of.Stages = slices.DeleteFunc(of.Stages, func(p progress.StagePlayed) bool { return p.Ended.Before(of.Now.Add(-progress.Window)) })
	if got := read(store.StageAsk{}); len(got.Rows) == 0 || !reflect.DeepEqual(got.Rows[slices.IndexFunc(got.Rows, func(o progress.Overview) bool {
		return o.Student.ID == f.Student.Person
	})].Cells, of.Overview().Cells) {
		t.Errorf("the usual weeks: %+v", got.Rows)
	}
	shelf, err := s.DrillsPlayed(ctx, f.Coach)
	if err != nil || len(shelf) != 2 {
		t.Fatalf("drills played: %+v, %v", shelf, err)
	}
	first := shelf[0].Shelf // the drill that was made first
	for _, c := range []struct {
		what string
		ask  store.StageAsk
		want string
	}{
		{"eight weeks", store.StageAsk{}, "3 of 6 [true false true false true false]"},
		{"all", store.StageAsk{Since: day(100)}, "4 of 8 [true false true false true false true false]"},
		{"the first drill", store.StageAsk{Drill: first}, "3 of 3 [true true true]"},
		{"a drill that is not there", store.StageAsk{Drill: first + 999}, "-"},
		{"three weeks in autumn", store.StageAsk{Since: day(45), Until: day(10)}, "2 of 4 [true false true false]"},
		{"nothing", store.StageAsk{Since: day(2)}, "-"},
	} {
		if got := cell(read(c.ask), f.Student.Person, mate); got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
	if n := read(store.StageAsk{}).Uncounted; n != 1 {
		t.Errorf("%d games are not counted", n)
	}
	if n := read(store.StageAsk{Until: day(10)}).Uncounted; n != 0 {
		t.Errorf("%d games of before are not counted", n)
	}
}

// TestStagesSorted: by a column the weakest stand first and those without a game last; by name
// all stand by name; a name is found.
func TestStagesSorted(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "sorted")
	storetest.Exec(t, url, `update people set name = 'Zed' where id = $1`, f.Student.Person)
	task := f.Finish(t, s, practice.Practice, 3)
	for i, clean := range []practice.Result{practice.Clean, practice.NotWon} {
		f.Played(t, s, task, i, 1, clean, time.Now().Add(-time.Hour), 20)
	}
	storetest.Exec(t, url, `insert into people (club_id, id, role, name, number, wording)
		select $1, 1000 + n, 'student', 'Pupil ' || n, 1000 + n, 8 from generate_series(1, 3) n`, f.Coach.Club)
	storetest.Exec(t, url, `insert into stage_results (club_id, game_id, stage, student_id, ending, ended_at, moves, bad, par, slips,
			helps, seconds, completed, clean)
		select club_id, game_id, 'corner', 1002, 'KBNK', ended_at, 5, 0, 4, 0, 0, 5, true, true from stage_results limit 1`)
	storetest.Exec(t, url, `update stage_results set stage = 'edge', ending = 'KBNK', student_id = 1003
		where clean and student_id <> 1002`)
	names := func(ask store.StageAsk) (out []string) {
		t.Helper()
		table, err := s.StageTable(ctx, f.Coach, ask)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range table.Rows {
			out = append(out, row.Student.Name)
		}
		if table.Total != len(out) {
			t.Errorf("%d rows of %d", len(out), table.Total)
		}
		return out
	}
	all := names(store.StageAsk{ByName: true})
	if !slices.IsSorted(all) || len(all) != 5 {
		t.Errorf("by name: %v", all)
	}
	if got := names(store.StageAsk{ByName: true, Drill: scan[int64](t, url, `select shelf_id from drills where id = $1`, task.Drill.ID)}); !slices.IsSorted(got) {
		t.Errorf("by name, of a drill that one has played: %v", got)
	}
	if got := names(store.StageAsk{Stage: progress.Key{Ending: "KRK", Stage: ending.Mate}}); got[0] != "Zed" {
		t.Errorf("by the rook's last stage: %v", got)
	}
	if got := names(store.StageAsk{Stage: progress.Key{Ending: "KBNK", Stage: ending.Corner}}); got[0] != "Pupil 2" {
		t.Errorf("by a corner: %v", got)
	}
	if got := names(store.StageAsk{Find: "pUPIL"}); len(got) != 3 {
		t.Errorf("found: %v", got)
	}
	if got := names(store.StageAsk{Find: "1002"}); len(got) != 1 || got[0] != "Pupil 2" {
		t.Errorf("found by number: %v", got)
	}
}
