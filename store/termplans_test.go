package store_test

import (
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// TestWeekOfAPlanIsGivenOnce: a week is given to its groups at once, and not again while it
// stands; undone, it can be given anew. Weeks to come are moved, those that were given stay;
// a copy has the cells and nothing of what was given.
func TestWeekOfAPlanIsGivenOnce(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "plan")
	saying(t, url, f.Student, 20)
	saying(t, url, f.Student2, 20)
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	must1(t, err)
	must1(t, second(s.PutInGroup(ctx, f.Coach, group, []game.PersonID{f.Student.Person, f.Student2.Person})))
	now := time.Now()
	plan, err := s.MakePlan(ctx, f.Coach, club.TermPlan{Title: "Autumn", From: now, Weeks: 3}, 0)
	must1(t, err)
	places, err := s.ShelfPlaces(ctx, f.Coach.Club)
	must1(t, err)
	must1(t, second(s.PutInPlan(ctx, f.Coach, plan, club.PlanCell{Week: 0, Group: group, Shelf: places[0].Shelf},
		club.PlanCell{Week: 1, Group: group, Shelf: places[0].Shelf}, club.PlanCell{Week: 2, Group: group, Ending: "KRK"})))
	what := []store.Planned{{Group: group, Drill: f.Drill.ID, Students: []game.PersonID{f.Student.Person}},
		{Group: group, Drill: f.Drill.ID, Students: []game.PersonID{f.Student2.Person}}}
	cell := func(week int) store.PlanRow {
		t.Helper()
		rows, err := s.PlanCells(ctx, f.Coach.Club, plan)
		must1(t, err)
		for _, row := range rows {
			if row.Week == week {
				return row
			}
		}
		return store.PlanRow{}
	}
	task, err := s.GivePlan(ctx, f.Coach, plan, 0, club.Span{Opens: now}, what)
	must1(t, err)
	if n := scan[int](t, url, `select count(distinct task_id)::int from attended where kind = 'first'`); n != 2 {
		t.Errorf("of two parts of the week %d do something about a line", n)
	}
	if got := cell(0); !got.Given || got.Have != 2 || got.Done != 0 || got.Drill.ID != f.Drill.ID {
		t.Errorf("given: %+v", got)
	}
	if _, err := s.GivePlan(ctx, f.Coach2, plan, 0, club.Span{Opens: now}, what); game.KindOf(err) != game.Conflict {
		t.Errorf("given twice: %v", err)
	}
	if _, err := s.MovePlan(ctx, f.Coach, plan, map[int]int{0: 1, 1: 2, 2: 3}, 4); game.KindOf(err) != game.Conflict {
		t.Errorf("moved though given: %v", err)
	}
	must1(t, second(s.MovePlan(ctx, f.Coach, plan, map[int]int{1: 2, 2: 3}, 4)))
	if cell(1).Shelf != 0 || cell(2).Shelf == 0 || cell(3).Ending != "KRK" {
		t.Errorf("moved: %+v, %+v, %+v", cell(1), cell(2), cell(3))
	}
	given, err := s.GivenBy(ctx, f.Coach.Club, task)
	must1(t, err)
	must1(t, undone(s, f.Coach, given.Change))
	if cell(0).Given {
		t.Error("undone, it is still given")
	}
	task, err = s.GivePlan(ctx, f.Coach, plan, 0, club.Span{Opens: now}, what)
	must1(t, err)
	must1(t, undoneLater(t, s, f, task))
	next, err := s.MakePlan(ctx, f.Coach, club.TermPlan{Title: "Spring", From: now.AddDate(0, 3, 0), Weeks: 3}, plan)
	must1(t, err)
	rows, err := s.PlanCells(ctx, f.Coach.Club, next)
	must1(t, err)
	if len(rows) != 2 || rows[0].Given { // the fourth week is beyond the copy
		t.Errorf("the copy: %+v", rows)
	}
}

// undoneLater withdraws one assignment of a week with the weeks to come: the other one of
// the same week stays; and takes that back.
func undoneLater(t *testing.T, s *store.Store, f storetest.Fixture, task game.AssignmentID) error {
	t.Helper()
	change, err := s.Withdraw(ctx, f.Coach, task, true)
	if err != nil {
		return err
	}
	for who, want := range map[game.PersonID]bool{f.Student.Person: true, f.Student2.Person: false} {
		rows, err := s.SetFor(ctx, f.Coach.Club, who, 50)
		must1(t, err)
		gone := 0
		for _, row := range rows {
			if row.Withdrawn {
				gone++
			}
		}
		if want := map[bool]int{true: 2, false: 1}[want]; gone != want { // the first giving was undone
			t.Errorf("of student %d %d are withdrawn, want %d", who, gone, want)
		}
	}
	return undone(s, f.Coach, change)
}
