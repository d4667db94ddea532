package store

import (
	"context"
	"math/rand/v2"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// StudentNames are the nicknames of a club, without the archived ones.
func (s *Store) StudentNames(ctx context.Context, c game.ClubID) ([]string, error) {
	names, err := studentNames(ctx, s.pool, c, 0)
	return names, translate(err)
}

// studentNames are the nicknames of a club but for one student's.
func studentNames(ctx context.Context, from querier, c game.ClubID, own game.PersonID) ([]string, error) {
	const q = `select name from people
		where club_id = $1 and role = 'student' and archived_at is null and id <> $2
		order by id`
	rows, err := from.Query(ctx, q, c, own)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// AddMany adds the students of a table, all at once or none: the lines without a problem,
// and those whose double nickname is meant. It gives the number of a new draft (a
// club.Many) with the lines that are left, and what was added. If the form was sent before,
// it gives the draft of then.
func (s *Store) AddMany(ctx context.Context, a game.Actor, m club.Many, same []int, sent ...Sent) (int64, error) {
	return s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if err := lockClub(ctx, tx, a.Club); err != nil {
			return 0, err
		}
		names, err := studentNames(ctx, tx, a.Club, 0)
		if err != nil {
			return 0, err
		}
		today, err := s.localNow(ctx, tx, a.Club)
		if err != nil {
			return 0, err
		}
		t := club.ReadTable(m.Text, names, today)
		if t.Say != "" {
			return 0, club.Problems{"text": t.Say}.Err()
		}
		left := club.Many{Text: t.Rest(same), Signed: m.Signed}
		left.Added, left.Waiting, _ = t.Tally(same)
		if left.Added == 0 {
			return 0, club.Problems{"text": "There is no line in this that can be added as it is. Look at what each line says."}.Err()
		}
		if left.Added > left.Waiting && !m.Signed {
			return 0, club.Unsigned()
		}
		if err := s.addLines(ctx, tx, a, t, same); err != nil {
			return 0, err
		}
		no := newDraft()
		return no, s.show(ctx, tx, in.Session, ShownDraft, no, left)
	})
}

// addLines adds the good lines of a table, and the groups that are new.
func (s *Store) addLines(ctx context.Context, tx pgx.Tx, a game.Actor, t club.Table, same []int) error {
	for _, l := range t.Lines {
		if !l.Good(same) {
			continue
		}
		p, err := s.insertStudent(ctx, tx, a, l.Student)
		if err != nil {
			return err
		}
		for _, name := range l.Groups {
			if err := joinGroup(ctx, tx, a, p.ID, name); err != nil {
				return err
			}
		}
	}
	return nil
}

// joinGroup puts a student in a group of a name, which is made where it is new.
func joinGroup(ctx context.Context, tx pgx.Tx, a game.Actor, student game.PersonID, name string) error {
	const in = `insert into members (club_id, group_id, student_id)
		select club_id, id, $3 from groups
		where club_id = $1 and lower(name) = lower($2) and archived_at is null`
	row, err := tx.Exec(ctx, in, a.Club, name, student)
	if err != nil || row.RowsAffected() > 0 {
		return err
	}
	if _, err := insertGroup(ctx, tx, a, name); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, in, a.Club, name, student)
	return err
}

// lockClub holds a club's row, so that of two who add a name at once the second sees it.
func lockClub(ctx context.Context, tx pgx.Tx, c game.ClubID) error {
	_, err := tx.Exec(ctx, `select from clubs where id = $1 for no key update`, c)
	return err
}

// newDraft is the number of a draft: nothing secret, the session's token is.
func newDraft() int64 { return 1 + rand.Int64N(1<<53) }
