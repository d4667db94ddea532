package store_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
	"drover/store"
	"drover/store/storetest"
)

// won plays a game to mate by the best moves and gives its state and outcome.
func won(t *testing.T, j *ending.Judge, set practice.Setup) (practice.State, practice.Outcome) {
	t.Helper()
	s, err := practice.Begin(set)
	for at := time.Now().Add(-time.Hour); err == nil && s.End == ""; at = at.Add(time.Second) {
		best := ending.Option{}
		options, err := j.Options(ctx, s.Pos)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range options {
			if o.Wins() && (!best.Wins() || o.After.Plies < best.After.Plies) {
				best = o
			}
		}
		s, err = practice.Apply(ctx, j, s, practice.Command{Do: practice.Move, Move: best.Move.UCI(), Ply: s.Ply(), By: set.Student, At: at})
		if err != nil {
			t.Fatal(err)
		}
		s.Stamp(at)
	}
	o, err := practice.Summary(ctx, j, s)
	if err != nil || o.Result != practice.Clean {
		t.Fatalf("%+v, %v", o, err)
	}
	return s, o
}

// TestRecountGames: what was counted wrongly, or not yet, is counted anew from the moves;
// what else the row says stays as it is.
func TestRecountGames(t *testing.T) {
	t.Parallel()
	j := ending.NewJudge(solver.NewTables())
	s, url := open(t)
	f := storetest.Club(t, s, "recount")
	task := f.Finish(t, s, practice.Practice, 1)
	set := practice.Setup{Student: f.Student.Person, Ending: "KRK", Start: storetest.FinishStart, Mode: practice.Practice,
		Target: ending.Mate, Defender: ending.HoldsOut, Allowance: 3}
	state, outcome := won(t, j, set)
	if err := s.Import(ctx, f.Coach, []store.Record{{Task: task, Try: 1, Began: time.Now().Add(-time.Hour), State: state,
		Outcome: outcome}}); err != nil {
		t.Fatal(err)
	}
	stages := func() string {
		t.Helper()
		of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithStages)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprintf("%+v", of.Stages)
	}
	want := stages()
	storetest.Exec(t, url, `update stage_results set habits = '{}', made = '{}', offered = '{9,9,9,9,9,9}'`)
	if stages() == want {
		t.Fatal("nothing was changed")
	}
	n, err := s.RecountGames(ctx, func(state practice.State) (practice.Outcome, error) { return practice.Summary(ctx, j, state) })
	if err != nil || n != 1 || stages() != want {
		t.Errorf("%d games, %v:\n%s\nwant\n%s", n, err, stages(), want)
	}
}

// TestRecountPassesOverForgottenGames: a game that is forgotten after it was listed, before it is
// read or in the middle of it, does not end the count of the others.
func TestRecountPassesOverForgottenGames(t *testing.T) {
	t.Parallel()
	j := ending.NewJudge(solver.NewTables())
	s, url := open(t)
	f := storetest.Club(t, s, "forgotten")
	task := f.Finish(t, s, practice.Practice, 4)
	set := practice.Setup{Student: f.Student.Person, Ending: "KRK", Start: storetest.FinishStart, Mode: practice.Practice,
		Target: ending.Mate, Defender: ending.HoldsOut, Allowance: 3}
	state, outcome := won(t, j, set)
	for try := 1; try <= 4; try++ {
		must1(t, s.Import(ctx, f.Coach, []store.Record{{Task: task, Try: try, Began: time.Now().Add(-time.Hour), State: state, Outcome: outcome}}))
	}
	forget := func(nth int) {
		storetest.Exec(t, url, `with g as (select id from games where ended_at is not null order by id offset $1 limit 1),
			a as (delete from acts where game_id = (select id from g)), r as (delete from stage_results where game_id = (select id from g))
			delete from games where id = (select id from g)`, nth)
	}
	asked := 0
	n, err := s.RecountGames(ctx, func(state practice.State) (practice.Outcome, error) {
		switch asked++; asked {
		case 1:
			forget(1) // the second, which is not read yet
		case 2:
			forget(1) // the third, which is just read
			return practice.Outcome{}, errors.New("there is nothing any more")
		}
		return practice.Summary(ctx, j, state)
	})
	if err != nil || n != 2 || asked != 3 {
		t.Errorf("%d games, %d read, %v", n, asked, err)
	}
}
