package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// UndoFor is how long a change can be undone.
const UndoFor = 10 * time.Minute

// thing is a kind of thing that is changed and can be as it was again.
type thing struct {
	what   string   // as the row says it
	lock   string   // holds what @id is, where before cannot; may be empty
	before string   // gives the state of @id as JSON; no row where there is none
	again  []string // make the state of @before that of @id again
}

// The things whose changes can be undone. They are data: another one is added here.
var (
	ofStudent = thing{"student", "", `select jsonb_build_object('name', p.name, 'wording', p.wording, 'archived', p.archived_at,
			'groups', (select coalesce(jsonb_agg(m.group_id), '[]') from members m
				where m.club_id = p.club_id and m.student_id = p.id))
		from people p
		where p.club_id = @club and p.id = @id and p.role = 'student'
		for update of p`,
		[]string{`update people set name = @before::jsonb->>'name', wording = (@before::jsonb->>'wording')::int,
				archived_at = (@before::jsonb->>'archived')::timestamptz, revision = revision + 1
			where club_id = @club and id = @id`,
			`delete from members where club_id = @club and student_id = @id`,
			`insert into members (club_id, group_id, student_id)
				select @club, g.id, @id
				from jsonb_array_elements_text(@before::jsonb->'groups') t(id)
				join groups g on g.club_id = @club and g.id = t.id::bigint`}}
	ofGuardian = thing{"guardian", "", `select jsonb_build_object('name', name)
		from people
		where club_id = @club and id = @id and role = 'guardian' and archived_at is null
		for update`,
		[]string{`update people set name = @before::jsonb->>'name', revision = revision + 1
			where club_id = @club and id = @id`}}
	ofGroup = thing{"group", "", `select jsonb_build_object('name', g.name, 'archived', g.archived_at,
			'students', (select coalesce(jsonb_agg(m.student_id), '[]') from members m
				where m.club_id = g.club_id and m.group_id = g.id))
		from groups g
		where g.club_id = @club and g.id = @id and g.archived_at is null
		for update of g`,
		[]string{`update groups set name = @before::jsonb->>'name', archived_at = (@before::jsonb->>'archived')::timestamptz
			where club_id = @club and id = @id`,
			`delete from members where club_id = @club and group_id = @id`,
			`insert into members (club_id, group_id, student_id)
				select @club, @id, p.id
				from jsonb_array_elements_text(@before::jsonb->'students') t(id)
				join people p on p.club_id = @club and p.id = t.id::bigint`}}
	ofClub = thing{"club", "", `select jsonb_build_object('name', c.name, 'zone', c.zone, 'outside', c.outside, 'emergency', c.emergency,
			'holidays', (select coalesce(jsonb_agg(h), '[]') from holidays h where h.club_id = c.id))
		from clubs c
		where c.id = @club and @id::bigint = 0
		for update of c`,
		[]string{`update clubs set name = @before::jsonb->>'name', zone = @before::jsonb->>'zone',
				outside = @before::jsonb->>'outside',
				emergency = coalesce(@before::jsonb->>'emergency', emergency), revision = revision + 1
			where id = @club and @id::bigint = 0`,
			`delete from holidays where club_id = @club and @id::bigint = 0`,
			`insert into holidays
				select h.* from jsonb_populate_recordset(null::holidays, @before::jsonb->'holidays') h
				where h.club_id = @club and @id::bigint = 0`}}
)

// things finds a thing by the word of its rows.
var things = map[string]thing{
	ofStudent.what: ofStudent, ofGuardian.what: ofGuardian, ofGroup.what: ofGroup, ofClub.what: ofClub,
	ofDrill.what: ofDrill, ofAssignment.what: ofAssignment, ofPlan.what: ofPlan, ofWatched.what: ofWatched,
}

// change changes a thing and notes how it was before, so that it can be undone.
func (s *Store) change(ctx context.Context, a game.Actor, of thing, subject int64,
	do func(tx pgx.Tx) error) (id game.ChangeID, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) (err error) {
		id, err = s.changeIn(ctx, tx, a, of, subject, func() error { return do(tx) })
		return err
	})
	return id, err
}

// changeIn is change as a part of a transaction.
func (s *Store) changeIn(ctx context.Context, tx pgx.Tx, a game.Actor, of thing, subject int64,
	do func() error) (game.ChangeID, error) {
	before, err := stateOf(ctx, tx, a.Club, of, subject)
	if err != nil {
		return 0, err
	}
	if err := do(); err != nil {
		return 0, err
	}
	return s.note(ctx, tx, a, of.what, subject, before)
}

// stateOf reads how a thing is, and holds it until the transaction ends.
func stateOf(ctx context.Context, tx pgx.Tx, c game.ClubID, of thing, subject int64) (before json.RawMessage, err error) {
	if of.lock != "" {
		if _, err := tx.Exec(ctx, of.lock, args{"club": c, "id": subject}); err != nil {
			return nil, err
		}
	}
	err = tx.QueryRow(ctx, of.before, args{"club": c, "id": subject}).Scan(&before)
	return before, err
}

// note keeps how a thing was before a change, and audits it.
func (s *Store) note(ctx context.Context, tx pgx.Tx, a game.Actor, what string, subject int64,
	before any) (id game.ChangeID, err error) {
	const q = `insert into changes (club_id, at, by_id, what, subject_id, before)
		values (@club, @now, @by, @what, @subject, @before)
		returning id`
	if err := tx.QueryRow(ctx, q, args{
		"club": a.Club, "now": s.now(), "by": a.Person, "what": what, "subject": subject, "before": before,
	}).Scan(&id); err != nil {
		return 0, err
	}
	return id, auditThing(ctx, tx, a, what, " changed", subject)
}

// auditThing notes what happened to a thing: of a person by its number, of anything else
// with the number beside it.
func auditThing(ctx context.Context, tx pgx.Tx, a game.Actor, what, happened string, subject int64) error {
	if what == ofStudent.what || what == ofGuardian.what {
		return audit(ctx, tx, a, what+happened, game.PersonID(subject), "")
	}
	return audit(ctx, tx, a, what+happened, 0, fmt.Sprintf("%s %d", what, subject))
}

// Change is a change that can still be undone, as a page says it.
type Change struct {
	What     string // a key of things, or season
	Subject  int64
	Archived bool // the thing was put away by it
	Many     int  // of the end of a season: the students who left
}

// Change reads a change that can still be undone; Missing where there is none.
func (s *Store) Change(ctx context.Context, c game.ClubID, id game.ChangeID) (Change, error) {
	const q = `select c.what, c.subject_id as subject,
			coalesce(p.archived_at is not null or g.archived_at is not null, false) as archived,
			coalesce(jsonb_array_length(c.before->'left'), 0) as many
		from changes c
		left join people p on p.club_id = c.club_id and p.id = c.subject_id and c.what = 'student'
		left join groups g on g.club_id = c.club_id and g.id = c.subject_id and c.what = 'group'
		where c.club_id = $1 and c.id = $2 and c.undone_at is null and c.at > $3
			and not exists (select from changes n
				where n.club_id = c.club_id and n.what = c.what and n.subject_id = c.subject_id and n.id > c.id)`
	out, err := readOne[Change](ctx, s.pool, q, c, id, s.now().Add(-UndoFor))
	return out, translate(err)
}

// errNotUndone says why a change is not undone.
func errNotUndone(why string) error { return game.Fail(game.Conflict, why) }

// Undo makes a thing as it was before a change: within ten minutes, and as long as
// nothing of it has been changed since. A coach who stands in undoes only what is their own.
func (s *Store) Undo(ctx context.Context, a game.Actor, id game.ChangeID) (what string, subject int64, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		var before json.RawMessage
		var at time.Time
		var newer bool
		const q = `select what, subject_id, before, at
			from changes c
			where club_id = @club and id = @change and undone_at is null and (by_id = @by or not exists (select from people p
				where p.club_id = @club and p.id = @by and p.until_at is not null))`
		err := tx.QueryRow(ctx, q, args{"club": a.Club, "change": id, "by": a.Person}).Scan(&what, &subject, &before, &at)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			return errNotUndone("This was undone already, or is nothing that can be undone.")
		case err != nil:
			return err
		}
		if newer, err = s.newer(ctx, tx, a.Club, id, what, subject); err != nil {
			return err
		}
		switch {
		case newer:
			return errNotUndone("It has been changed once more since, so it is not undone. Change it by hand.")
		case !s.now().Before(at.Add(UndoFor)):
			return errNotUndone("Ten minutes are over, so it is not undone. Change it by hand.")
		}
		return s.undo(ctx, tx, a, id, what, subject, before)
	})
	return what, subject, err
}

// newer holds a thing, and says then whether it was changed after a change, or the change
// was undone meanwhile.
func (s *Store) newer(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.ChangeID, what string,
	subject int64) (is bool, err error) {
	if of, ok := things[what]; ok {
		if _, err := stateOf(ctx, tx, c, of, subject); err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return false, err
		}
	}
	const q = `select exists (select from changes c
		where c.club_id = $1 and c.what = $2 and c.subject_id = $3 and (c.id > $4 or c.id = $4 and c.undone_at is not null))`
	err = tx.QueryRow(ctx, q, c, what, subject, id).Scan(&is)
	return is, err
}

func (s *Store) undo(ctx context.Context, tx pgx.Tx, a game.Actor, id game.ChangeID, what string, subject int64,
	before json.RawMessage) error {
	if what == seasonEnd {
		if err := undoSeason(ctx, tx, a.Club, before); err != nil {
			return err
		}
	}
	for _, again := range things[what].again {
		if _, err := tx.Exec(ctx, again, pgx.NamedArgs{"club": a.Club, "id": subject, "before": before}); err != nil {
			return fmt.Errorf("as %s %d was: %w", what, subject, err)
		}
	}
	const done = `update changes set undone_at = $3 where club_id = $1 and id = $2`
	if _, err := tx.Exec(ctx, done, a.Club, id, s.now()); err != nil {
		return err
	}
	return auditThing(ctx, tx, a, what, " as before", subject)
}
