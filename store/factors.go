package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// FactorOn says whether a coach needs a code to sign in.
func (s *Store) FactorOn(ctx context.Context, a game.Actor) (on bool, err error) {
	const q = `select exists (select from factors where club_id = $1 and person_id = $2)`
	err = s.pool.QueryRow(ctx, q, a.Club, a.Person).Scan(&on)
	return on, translate(err)
}

// BeginFactor gives a coach a second factor to set up: the same one again while the
// session lasts, so that a page that is loaded again shows the same pattern.
func (s *Store) BeginFactor(ctx context.Context, a game.Actor, session club.Secret) (club.Factor, error) {
	var f club.Factor
	err := s.Shown(ctx, session, ShownFactor, int64(a.Person), &f)
	if game.KindOf(err) != game.Missing {
		return f, err
	}
	own, err := s.Account(ctx, a)
	if err != nil {
		return f, err
	}
	if f, err = club.NewFactor(own.Email); err != nil {
		return f, err
	}
	return f, s.tx(ctx, func(tx pgx.Tx) error { return s.show(ctx, tx, session, ShownFactor, int64(a.Person), f) })
}

// wrongCode is said of a code that does not fit.
const wrongCode = "This code does not fit. Type the six figures that your phone shows now; each works once."

// ConfirmFactor turns a second factor on with the first code that the phone shows. The
// session is shown the recovery codes, and all others of the person end.
func (s *Store) ConfirmFactor(ctx context.Context, a game.Actor, session club.Secret, code string) error {
	var f club.Factor
	if err := s.Shown(ctx, session, ShownFactor, int64(a.Person), &f); err != nil {
		return err
	}
	at, ok := club.Step(f.Secret, code, 0, s.now())
	if !ok {
		return club.Problems{"code": wrongCode}.Err()
	}
	sealed, err := s.vault.Seal(about(a), []byte(f.Secret))
	if err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `insert into factors (club_id, person_id, sealed, last_step, made_at)
			values (@club, @person, @sealed, @step, @now)
			on conflict (club_id, person_id) do update set
				sealed = excluded.sealed,
				last_step = excluded.last_step,
				made_at = excluded.made_at`
		if _, err := tx.Exec(ctx, q, args{
			"club": a.Club, "person": a.Person, "sealed": sealed, "step": at, "now": s.now(),
		}); err != nil {
			return err
		}
		if err := unshow(ctx, tx, a.Club, ShownFactor, a.Person); err != nil {
			return err
		}
		if err := endOthers(ctx, tx, a, session); err != nil {
			return err
		}
		if err := s.newCodes(ctx, tx, a, session); err != nil {
			return err
		}
		return audit(ctx, tx, a, "second factor on", a.Person, "")
	})
}

// about names whose factor a sealed secret is.
func about(a game.Actor) string { return fmt.Sprintf("factor %d %d", a.Club, a.Person) }

// NewCodes makes new recovery codes for a coach, which the session is shown; the old ones
// end.
func (s *Store) NewCodes(ctx context.Context, a game.Actor, session club.Secret) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := s.newCodes(ctx, tx, a, session); err != nil {
			return err
		}
		return audit(ctx, tx, a, "recovery codes made", a.Person, "")
	})
}

func (s *Store) newCodes(ctx context.Context, tx pgx.Tx, a game.Actor, session club.Secret) error {
	if _, err := tx.Exec(ctx, `delete from recoveries where club_id = $1 and person_id = $2`, a.Club, a.Person); err != nil {
		return err
	}
	codes := club.NewRecoveryCodes()
	hashes := make([][]byte, len(codes))
	for i, c := range codes {
		hashes[i] = club.RecoveryHash(c)
	}
	const q = `insert into recoveries (club_id, person_id, hash) select $1, $2, unnest($3::bytea[])`
	if _, err := tx.Exec(ctx, q, a.Club, a.Person, hashes); err != nil {
		return err
	}
	return s.show(ctx, tx, session, ShownCodes, int64(a.Person), codes)
}

// UseCode takes the code of a coach's second factor, or a recovery code. Each works once.
func (s *Store) UseCode(ctx context.Context, a game.Actor, typed string) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if club.LooksLikeCode(typed) {
			return s.useStep(ctx, tx, a, typed)
		}
		const q = `delete from recoveries where club_id = $1 and person_id = $2 and hash = $3`
		used, err := tx.Exec(ctx, q, a.Club, a.Person, club.RecoveryHash(typed))
		if err != nil {
			return err
		}
		if used.RowsAffected() == 0 {
			return game.Fail(game.Denied, "This code does not fit. Type the six figures that your phone shows, or a recovery code "+
				"that you have not used yet.")
		}
		return audit(ctx, tx, a, "recovery code used", a.Person, "")
	})
}

// useStep uses up the step of time of a code. Of two that come at once the second waits,
// and finds the step used.
func (s *Store) useStep(ctx context.Context, tx pgx.Tx, a game.Actor, code string) error {
	var sealed []byte
	var last int64
	const q = `select sealed, last_step from factors where club_id = $1 and person_id = $2 for update`
	err := tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&sealed, &last)
	if errors.Is(err, pgx.ErrNoRows) {
		return game.Fail(game.Denied, wrongCode)
	}
	if err != nil {
		return err
	}
	secret, err := s.vault.Unseal(about(a), sealed)
	if err != nil {
		return game.Wrap(game.Internal, "", err)
	}
	at, ok := club.Step(string(secret), code, last, s.now())
	if !ok {
		return game.Fail(game.Denied, wrongCode)
	}
	_, err = tx.Exec(ctx, `update factors set last_step = $3 where club_id = $1 and person_id = $2`, a.Club, a.Person, at)
	return err
}

// DropFactor turns a coach's second factor off, unless the password is good only beside
// it.
func (s *Store) DropFactor(ctx context.Context, a game.Actor) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := dropFactor(ctx, tx, a); err != nil {
			return err
		}
		return audit(ctx, tx, a, "second factor off", a.Person, "")
	})
}

func dropFactor(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	var short bool
	const is = `select short_password from people where club_id = $1 and id = $2 for update`
	if err := tx.QueryRow(ctx, is, a.Club, a.Person).Scan(&short); err != nil {
		return err
	}
	if short {
		return game.Fail(game.Conflict, "Your password is short, which is enough only beside a code. Choose a longer one first.")
	}
	_, err := tx.Exec(ctx, `delete from factors where club_id = $1 and person_id = $2`, a.Club, a.Person)
	return err
}

// halfFor is how long the second step of a sign-in may take.
const halfFor = 10 * time.Minute

// Half begins a sign-in that still needs a code. Its token opens nothing else.
func (s *Store) Half(ctx context.Context, a game.Actor) (club.Secret, time.Duration, error) {
	token := club.NewSecret(a.Club)
	const q = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
		values (@club, @hash, 'half', @person, @now, @until)`
	_, err := s.pool.Exec(ctx, q, args{
		"club": a.Club, "hash": token.Hash(), "person": a.Person, "now": s.now(), "until": s.now().Add(halfFor),
	})
	return token, halfFor, translate(err)
}

// HalfOf finds the coach of a sign-in that needs a code, and the address it was begun with.
func (s *Store) HalfOf(ctx context.Context, token club.Secret) (a game.Actor, email string, err error) {
	return s.coachOf(ctx, token, "half")
}

// coachOf finds the coach of a key of a kind that has not ended, and the address to sign in
// with.
func (s *Store) coachOf(ctx context.Context, token club.Secret, kind string) (a game.Actor, email string, err error) {
	c, ok := token.Club()
	if !ok {
		return a, "", missing()
	}
	a.Club = c
	var barred bool
	const q = `select p.id, p.role, p.name, p.email, p.barred_at is not null
		from keys k
		join people p on p.club_id = k.club_id and p.id = k.person_id
		where k.club_id = @club and k.hash = @hash and k.kind = @kind and k.expires_at > @now and p.archived_at is null`
	err = s.pool.QueryRow(ctx, q, args{
		"club": c, "hash": token.Hash(), "kind": kind, "now": s.now(),
	}).Scan(&a.Person, &a.Role, &a.Name, &email, &barred)
	if err == nil && barred {
		return game.Actor{}, "", isBarred()
	}
	return a, email, translate(err)
}

// EndHalf ends a sign-in that is over, or was given up.
func (s *Store) EndHalf(ctx context.Context, token club.Secret) error {
	c, _ := token.Club() // what is no token is none in the table
	_, err := s.pool.Exec(ctx, `delete from keys where club_id = $1 and hash = $2 and kind = 'half'`, c, token.Hash())
	return translate(err)
}
