package storetest

import (
	"context"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
)

// FinishStart is a rook ending in its last stage, mate in four.
const FinishStart = "3k4/8/1K6/8/8/8/8/4R3 w - - 0 1"

// Finish puts a drill of the rook's last stage on the shelf and gives it to the
// fixture's student.
func (f Fixture) Finish(t testing.TB, s *store.Store, m practice.Mode, starts int) club.Assignment {
	t.Helper()
	d := club.Drill{Ending: "KRK", Mode: m, From: ending.Mate, To: ending.Mate, Defender: ending.HoldsOut,
		Rule: club.RuleOf(m)}
	for range starts {
		d.Starts = append(d.Starts, FinishStart)
	}
	if err := d.Validate(); err != nil {
		t.Fatal(err)
	}
	var err error
	if d.ID, err = s.KeepDrill(context.Background(), f.Coach, d); err != nil {
		t.Fatal(err)
	}
	task := club.Assignment{Drill: d}
	if task.ID, err = s.Assign(context.Background(), f.Coach, d.ID, []game.PersonID{f.Student.Person}, nil); err != nil {
		t.Fatal(err)
	}
	return task
}

// Played writes an ended game of a task as if it had been played: its start,
// try, result and when it ended. The log holds one act of that many seconds.
func (f Fixture) Played(t testing.TB, s *store.Store, task club.Assignment, start, try int, result practice.Result,
	ended time.Time, seconds int) {
	t.Helper()
	end := practice.Mated
	if result == practice.NotWon {
		end = practice.Resigned
	}
	clean := result == practice.Clean
	err := s.Import(context.Background(), f.Coach, []store.Record{{
		Task: task, Start: start, Try: try, Began: ended.Add(-time.Minute),
		State: practice.State{
			Setup: practice.Setup{Student: f.Student.Person, Mode: task.Drill.Mode}, End: end,
			Acts: []practice.Act{{Seq: 1, Kind: practice.Resign, By: f.Student.Person, At: ended, Took: 1000 * seconds,
				End: end}},
		},
		Outcome: practice.Outcome{End: end, Result: result, Moves: 5, Par: 4,
			Stages: []practice.StageResult{
				{Stage: ending.Mate, Moves: 5, Par: 4, Seconds: seconds, Completed: result != practice.NotWon, Clean: clean},
			}},
	}})
	if err != nil {
		t.Fatal(err)
	}
}
