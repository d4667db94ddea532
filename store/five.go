package store

import (
	"context"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// beginInTest begins the game of a test of five that comes next today; each of its games has
// a start of its own.
func (s *Store) beginInTest(ctx context.Context, a game.Actor, t progress.Task) (game.GameID, error) {
	of, err := s.RecordOf(ctx, a.Club, a.Person, WithMastery)
	if err != nil {
		return 0, err
	}
	return s.begin(ctx, a, t.Assignment, of.Sitting(t.Drill).Next()-1)
}

// inTest is the number of a game in its test of five; 0 for one that was left.
func (s *Store) inTest(ctx context.Context, c game.ClubID, g GameInfo) (int, error) {
	of, err := s.RecordOf(ctx, c, g.Student.ID, WithMastery)
	if game.KindOf(err) == game.Missing { // the student was archived
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	if g.Ended != nil {
		return len(progress.SittingWith(of.Trials, g.ID).Games), nil
	}
	return progress.SittingOn(of.Trials, g.Ending, g.From, g.To, of.Today()).Next(), nil
}

// testPassed says whether a game is one of a test of five, and whether that is passed with it.
func testPassed(ctx context.Context, tx pgx.Tx, e entry) (five, ok bool, err error) {
	if e.setup.Mode != practice.Test {
		return false, false, nil
	}
	const q = `select ` + drillColumns + `
		from games g
		join assignments a on a.club_id = g.club_id and a.id = g.assignment_id
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		where g.club_id = $1 and g.id = $2 and g.kind = 'drill'`
	d, err := readAll[club.Drill](ctx, tx, q, e.club, e.setup.Game)
	if err != nil || len(d) == 0 || !d[0].OfFive() {
		return false, false, err
	}
	of, err := mastery(ctx, tx, e.club, e.setup.Student)
	return true, progress.SittingWith(of.Trials, e.setup.Game).Passed(), err
}

// done marks the assignment of a game done for its student.
func done(ctx context.Context, tx pgx.Tx, e entry) error {
	const q = `update assignees a set passed_at = now()
		from games g
		where g.club_id = $1 and g.id = $2
			and a.club_id = $1 and a.assignment_id = g.assignment_id and a.student_id = g.student_id
			and a.passed_at is null`
	_, err := tx.Exec(ctx, q, e.club, e.setup.Game)
	return err
}
