package store

import (
	"context"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Sent describes the form that asks for something to be made. The zero value
// stands for no form: the thing is made each time, and no session is shown its
// secret.
type Sent struct {
	Session club.Secret // that it came from, and that is shown what it made
	Form    []byte      // a digest of all that it said, the id that its page gave it included; empty: it had none
}

// formLife is how long a form that is sent again gets the answer of the first.
const formLife = 24 * time.Hour

// once makes a thing in a transaction of its own and returns its number. If the
// form was sent before, it makes nothing and returns the number that was made
// then. If two arrive at once, on any node, the second waits at the row's key
// for the first.
func (s *Store) once(ctx context.Context, a game.Actor, sent []Sent,
	do func(tx pgx.Tx, in Sent) (int64, error)) (answer int64, err error) {
	var in Sent
	if len(sent) > 0 {
		in = sent[0]
	}
	err = s.tx(ctx, func(tx pgx.Tx) error {
		if len(in.Form) == 0 {
			answer, err = do(tx, in)
			return err
		}
		const first = `insert into forms (club_id, person_id, id, at)
			values (@club, @person, @form, @now)
			on conflict do nothing`
		made, err := tx.Exec(ctx, first, args{"club": a.Club, "person": a.Person, "form": in.Form, "now": s.now()})
		if err != nil {
			return err
		}
		if made.RowsAffected() == 0 {
			const then = `select answer from forms where club_id = $1 and person_id = $2 and id = $3`
			return tx.QueryRow(ctx, then, a.Club, a.Person, in.Form).Scan(&answer)
		}
		if answer, err = do(tx, in); err != nil {
			return err
		}
		const keep = `update forms set answer = @answer where club_id = @club and person_id = @person and id = @form`
		_, err = tx.Exec(ctx, keep, args{"club": a.Club, "person": a.Person, "form": in.Form, "answer": answer})
		return err
	})
	return answer, err
}

// failureLife is how long a failed sign-in is kept after the last one.
const failureLife = 30 * 24 * time.Hour

// changeLife is how long it is kept how something was before a change.
const changeLife = 24 * time.Hour

// Tidy deletes, in all clubs, the rows that nobody asks for any more.
func (s *Store) Tidy(ctx context.Context) error {
	if _, err := s.pool.Exec(ctx, `delete from forms where at < $1`, s.now().Add(-formLife)); err != nil {
		return fmt.Errorf("old forms: %w", translate(err))
	}
	if _, err := s.pool.Exec(ctx, `delete from shown where expires_at <= $1`, s.now()); err != nil {
		return fmt.Errorf("what was shown: %w", translate(err))
	}
	if _, err := s.pool.Exec(ctx, `delete from sheets where at < $1`, s.now().Add(-sheetLife)); err != nil {
		return fmt.Errorf("old sheets of cards: %w", translate(err))
	}
	if _, err := s.pool.Exec(ctx, `delete from failures where last_at < $1`, s.now().Add(-failureLife)); err != nil {
		return fmt.Errorf("old failures: %w", translate(err))
	}
	// What a change was before holds names, and can be undone for ten minutes only.
	if _, err := s.pool.Exec(ctx, `delete from changes where at < $1`, s.now().Add(-changeLife)); err != nil {
		return fmt.Errorf("old changes: %w", translate(err))
	}
	if err := dropExports(ctx, s.pool, `e.at <= @old`, args{"old": s.now().Add(-ExportFor)}); err != nil {
		return fmt.Errorf("old exports: %w", translate(err))
	}
	const links = `delete from keys where kind in ('half', 'password', 'factor', 'feed') and expires_at <= $1`
	if _, err := s.pool.Exec(ctx, links, s.now()); err != nil {
		return fmt.Errorf("links and feeds that are over: %w", translate(err))
	}
	return s.dropOver(ctx)
}
