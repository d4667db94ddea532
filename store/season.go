package store

import (
	"context"
	"encoding/json"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// seasonEnd is what a row says of the end of a season.
const seasonEnd = "season"

// SeasonEnd is what happens at the end of a season, in one action. Games, stages and
// bells stay.
type SeasonEnd struct {
	Leave    []game.PersonID               // are archived
	Up       map[game.GroupID]game.GroupID // all students of a group go on to another one
	Withdraw bool                          // what is set and not done
}

// seasonBefore is what its undoing needs.
type seasonBefore struct {
	Left      []game.PersonID     `json:"left"`
	Moved     []move              `json:"moved"`
	Withdrawn []game.AssignmentID `json:"withdrawn"`
}

// move is a student who went from one group to another.
type move struct {
	Student  game.PersonID `json:"student"`
	From, To game.GroupID
}

// EndSeason ends a season; it can be undone.
func (s *Store) EndSeason(ctx context.Context, a game.Actor, e SeasonEnd) (id game.ChangeID, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockClub(ctx, tx, a.Club); err != nil {
			return err
		}
		before := seasonBefore{Left: []game.PersonID{}, Moved: []move{}, Withdrawn: []game.AssignmentID{}}
		for _, p := range e.Leave {
			if _, err := pupil(ctx, tx, a.Club, p); err != nil {
				return err
			}
			if err := s.archive(ctx, tx, a.Club, p); err != nil {
				return err
			}
			before.Left = append(before.Left, p)
		}
		if before.Moved, err = moveUp(ctx, tx, a.Club, e.Up); err != nil {
			return err
		}
		if e.Withdraw {
			if before.Withdrawn, err = s.withdrawOpen(ctx, tx, a.Club); err != nil {
				return err
			}
		}
		id, err = s.note(ctx, tx, a, seasonEnd, 0, before)
		return err
	})
	return id, err
}

// moveUp moves the students of each group to the next, all at once: who has just come to a
// group does not go on from there.
func moveUp(ctx context.Context, tx pgx.Tx, c game.ClubID, up map[game.GroupID]game.GroupID) ([]move, error) {
	moved := []move{}
	for from, to := range up {
		const who = `select m.student_id
			from members m
			join people p on p.club_id = m.club_id and p.id = m.student_id and p.archived_at is null
			join groups t on t.club_id = m.club_id and t.id = $3 and t.archived_at is null
			where m.club_id = $1 and m.group_id = $2 and $2 <> $3
			order by 1`
		rows, err := tx.Query(ctx, who, c, from, to)
		if err != nil {
			return nil, err
		}
		ids, err := pgx.CollectRows(rows, pgx.RowTo[game.PersonID])
		if err != nil {
			return nil, err
		}
		for _, id := range ids {
			moved = append(moved, move{id, from, to})
		}
	}
	return moved, regroup(ctx, tx, c, moved)
}

// regroup takes students out of a group and puts them in another.
func regroup(ctx context.Context, tx pgx.Tx, c game.ClubID, moved []move) error {
	for _, m := range moved {
		const out = `delete from members where club_id = $1 and group_id = $2 and student_id = $3`
		if _, err := tx.Exec(ctx, out, c, m.From, m.Student); err != nil {
			return err
		}
	}
	for _, m := range moved {
		const in = `insert into members (club_id, group_id, student_id) values ($1, $2, $3) on conflict do nothing`
		if _, err := tx.Exec(ctx, in, c, m.To, m.Student); err != nil {
			return err
		}
	}
	return nil
}

// withdrawOpen withdraws every assignment that somebody has not done.
func (s *Store) withdrawOpen(ctx context.Context, tx pgx.Tx, c game.ClubID) ([]game.AssignmentID, error) {
	const q = `update assignments a set withdrawn_at = $2
		where a.club_id = $1 and a.withdrawn_at is null and exists (select from assignees e
			where e.club_id = a.club_id and e.assignment_id = a.id and e.passed_at is null and e.withdrawn_at is null)
		returning a.id`
	rows, err := tx.Query(ctx, q, c, s.now())
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[game.AssignmentID])
}

// undoSeason makes a club as it was before the end of a season.
func undoSeason(ctx context.Context, tx pgx.Tx, c game.ClubID, before json.RawMessage) error {
	var was seasonBefore
	if err := json.Unmarshal(before, &was); err != nil {
		return err
	}
	const back = `update people set archived_at = null, revision = revision + 1 where club_id = $1 and id = any($2)`
	if _, err := tx.Exec(ctx, back, c, was.Left); err != nil {
		return err
	}
	for i, m := range was.Moved {
		was.Moved[i].From, was.Moved[i].To = m.To, m.From
	}
	if err := regroup(ctx, tx, c, was.Moved); err != nil {
		return err
	}
	const open = `update assignments set withdrawn_at = null where club_id = $1 and id = any($2)`
	_, err := tx.Exec(ctx, open, c, was.Withdrawn)
	return err
}
