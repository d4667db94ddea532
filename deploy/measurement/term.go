package main

import (
	"context"
	"fmt"
	"time"

	"drover/game/club"
	"drover/game/progress"
)

// groupSize is how many students a group of the big club has, and planGroups how many of the
// groups stand in its term plan.
const (
	groupSize  = 25
	planGroups = 6
)

// term puts the ready drills on a club's shelf, its students into groups, and a drill into
// every cell of a term plan.
func (f *filling) term(ctx context.Context, of founded, c *clubs) error {
	ready, err := progress.Shelf()
	if err != nil {
		return err //nolint:wrapcheck // it says which drill
	}
	if _, err := f.store.FillShelf(ctx, of.coach, ready); err != nil {
		return err //nolint:wrapcheck // the store says what did not work
	}
	const groups = `with s as (select club_id, id, (row_number() over (order by id) - 1) / $2 as n
			from people where club_id = $1 and role = 'student'),
		g as (insert into groups (club_id, name) select $1, 'Group ' || n from s group by n returning id, name)
		insert into members (club_id, group_id, student_id)
		select s.club_id, g.id, s.id from s join g on g.name = 'Group ' || s.n`
	if _, err := f.root.Exec(ctx, groups, of.coach.Club, groupSize); err != nil {
		return fmt.Errorf("make groups: %w", err)
	}
	rows, err := f.store.Groups(ctx, of.coach)
	if err != nil {
		return err //nolint:wrapcheck // the store says what did not work
	}
	c.group = rows[0].ID
	places, err := f.store.ShelfPlaces(ctx, of.coach.Club)
	if err != nil {
		return err //nolint:wrapcheck // the store says what did not work
	}
	const weeks = 12
	c.plan, err = f.store.MakePlan(ctx, of.coach, club.TermPlan{Title: "Term", From: time.Now(), Weeks: weeks}, 0)
	if err != nil {
		return err //nolint:wrapcheck // the store says what did not work
	}
	var cells []club.PlanCell
	for week := range weeks {
		for i, g := range rows[:min(planGroups, len(rows))] {
			cells = append(cells, club.PlanCell{Week: week, Group: g.ID, Shelf: places[(week+i)%len(places)].Shelf})
		}
	}
	_, err = f.store.PutInPlan(ctx, of.coach, c.plan, cells...)
	return err //nolint:wrapcheck // the store says what did not work
}
