package store

import (
	"context"
	"errors"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Address is where somebody wants mail, and the last mail of a week that went there.
type Address struct {
	Email     string
	Wanted    bool // the weekly mail
	Confirmed bool
	Refused   *time.Time // by a mail server: nothing is sent until it is given anew
	Last      *time.Time
	Outcome   Outcome // of the last one; empty: it is on its way
}

// Address reads where a guardian or a coach wants mail; nil: nowhere.
func (s *Store) Address(ctx context.Context, a game.Actor) (*Address, error) {
	const q = `select a.email, a.wanted, a.confirmed_at is not null as confirmed, a.refused_at as refused, l.at as last,
			coalesce(l.outcome, '') as outcome
		from addresses a
		left join lateral (select at, outcome from letters l
			where l.club_id = a.club_id and l.to_id = a.person_id and l.week is not null
			order by l.id desc
			limit 1) l on true
		where a.club_id = $1 and a.person_id = $2`
	all, err := readAll[Address](ctx, s.pool, q, a.Club, a.Person)
	if err != nil || len(all) == 0 {
		return nil, translate(err)
	}
	return &all[0], nil
}

// mostConfirms is how many mails in a day ask somebody whether an address is theirs: nobody is
// to have mail who did not ask for it.
const mostConfirms = 5

// AskAddress keeps where a guardian wants mail, and whether the weekly one. Nothing but the
// question whether it is theirs is sent to a new address, or to one that was refused, until
// somebody there says yes.
func (s *Store) AskAddress(ctx context.Context, a game.Actor, email string, wanted bool, sent ...Sent) error {
	email, err := club.ValidateEmail(email)
	if err != nil {
		return err
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		return int64(a.Person), s.keepAddress(ctx, tx, a, email, wanted)
	})
	return err
}

// AskReminder says whether a coach wants the reminder on Monday, at the address with which
// they sign in.
func (s *Store) AskReminder(ctx context.Context, a game.Actor, wanted bool) error {
	if !wanted {
		return s.EndAddress(ctx, a)
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		var email string
		const own = `select email from people where club_id = $1 and id = $2 and role = 'coach' and email is not null`
		if err := tx.QueryRow(ctx, own, a.Club, a.Person).Scan(&email); err != nil {
			return err
		}
		return s.keepAddress(ctx, tx, a, email, true)
	})
}

func (s *Store) keepAddress(ctx context.Context, tx pgx.Tx, a game.Actor, email string, wanted bool) error {
	if !s.mails {
		return game.Fail(game.Conflict, "No mail is sent from here. The person who runs this site can set it up.")
	}
	if err := holdPerson(ctx, tx, a.Club, a.Person); err != nil {
		return err
	}
	var good bool
	const is = `select exists (select from addresses
		where club_id = $1 and person_id = $2 and email = $3 and confirmed_at is not null and refused_at is null)`
	if err := tx.QueryRow(ctx, is, a.Club, a.Person, email).Scan(&good); err != nil {
		return err
	}
	if good {
		const want = `update addresses set wanted = $3 where club_id = $1 and person_id = $2`
		if _, err := tx.Exec(ctx, want, a.Club, a.Person, wanted); err != nil {
			return err
		}
		return audit(ctx, tx, a, "mail changed", a.Person, "")
	}
	if err := s.mayConfirm(ctx, tx, a, email); err != nil {
		return err
	}
	const keep = `insert into addresses (club_id, person_id, email, wanted, made_at)
		values (@club, @person, @email, @wanted, @now)
		on conflict (club_id, person_id) do update
			set email = @email, wanted = @wanted, made_at = @now, confirmed_at = null, refused_at = null`
	if _, err := tx.Exec(ctx, keep, args{
		"club": a.Club, "person": a.Person, "email": email, "wanted": wanted, "now": s.now(),
	}); err != nil {
		return err
	}
	if err := endMailLinks(ctx, tx, a); err != nil {
		return err
	}
	if err := s.putLetter(ctx, tx, a.Club, a.Person, LetterConfirm); err != nil {
		return err
	}
	return audit(ctx, tx, a, "mail asked", a.Person, "")
}

// mayConfirm refuses to ask an address too often whether it is somebody's.
func (s *Store) mayConfirm(ctx context.Context, tx pgx.Tx, a game.Actor, email string) error {
	var n int
	const q = `select (select count(*) from letters
				where club_id = @club and to_id = @person and kind = 'confirm' and at > @since)
			+ (select count(*) from addresses o
				where lower(o.email) = lower(@email) and o.confirmed_at is null and o.made_at > @since
					and not (o.club_id = @club and o.person_id = @person))`
	if err := tx.QueryRow(ctx, q, args{
		"club": a.Club, "person": a.Person, "since": s.now().Add(-24 * time.Hour), "email": email,
	}).Scan(&n); err != nil {
		return err
	}
	if n >= mostConfirms {
		return game.Fail(game.Busy, "This was asked for several times today. Look into the mail that came, or try again tomorrow.")
	}
	return nil
}

// endMailLinks ends the links with which an address is confirmed. The way out of older mails
// goes on working.
func endMailLinks(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	_, err := tx.Exec(ctx, `delete from keys where club_id = $1 and person_id = $2 and kind = 'confirm'`, a.Club, a.Person)
	return err
}

// EndAddress takes an address away: nothing is sent there any more.
func (s *Store) EndAddress(ctx context.Context, a game.Actor) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := holdPerson(ctx, tx, a.Club, a.Person); err != nil {
			return err
		}
		return dropAddress(ctx, tx, a)
	})
}

func dropAddress(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	row, err := tx.Exec(ctx, `delete from addresses where club_id = $1 and person_id = $2`, a.Club, a.Person)
	if err != nil || row.RowsAffected() == 0 {
		return err
	}
	if err := endMailLinks(ctx, tx, a); err != nil {
		return err
	}
	return audit(ctx, tx, a, "mail ended", a.Person, "")
}

// mailKey finds whose link of a mail this is. Its person need not be signed in: the token is
// the authority.
func (s *Store) mailKey(ctx context.Context, tx pgx.Tx, token club.Secret, kind string) (a game.Actor, err error) {
	c, ok := token.Club()
	if !ok {
		return a, mailGone()
	}
	const q = `select k.club_id as club, k.person_id as person, u.role, u.name
		from keys k
		join people u on u.club_id = k.club_id and u.id = k.person_id
		where k.club_id = @club and k.hash = @hash and k.kind = @kind and k.expires_at > @now`
	a, err = readOne[game.Actor](ctx, tx, q, args{"club": c, "hash": token.Hash(), "kind": kind, "now": s.now()})
	if errors.Is(err, pgx.ErrNoRows) {
		err = mailGone()
	}
	return a, err
}

func mailGone() error {
	return game.Fail(game.Gone, "This link does not work any more. Your own page in Drover says what is sent to you, and lets you change it.")
}

// ConfirmAddress is the yes of whoever has an address. Its link works once, and only while that
// address stands.
func (s *Store) ConfirmAddress(ctx context.Context, token club.Secret) (a game.Actor, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		if a, err = s.mailKey(ctx, tx, token, "confirm"); err != nil {
			return err
		}
		if err = holdPerson(ctx, tx, a.Club, a.Person); err != nil {
			return err
		}
		if a, err = s.mailKey(ctx, tx, token, "confirm"); err != nil {
			return err // the address has just changed
		}
		const q = `update addresses set confirmed_at = $3 where club_id = $1 and person_id = $2 and confirmed_at is null`
		if _, err := tx.Exec(ctx, q, a.Club, a.Person, s.now()); err != nil {
			return err
		}
		if err := endMailLinks(ctx, tx, a); err != nil {
			return err
		}
		return audit(ctx, tx, a, "mail confirmed", a.Person, "")
	})
	return a, err
}

// StopMail ends the weekly mail with the way out that stands in each (RFC 8058). It may be
// used again, and then changes nothing.
func (s *Store) StopMail(ctx context.Context, token club.Secret) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		a, err := s.mailKey(ctx, tx, token, "stop")
		if err != nil {
			return err
		}
		const q = `update addresses set wanted = false where club_id = $1 and person_id = $2 and wanted`
		row, err := tx.Exec(ctx, q, a.Club, a.Person)
		if err != nil || row.RowsAffected() == 0 {
			return err
		}
		return audit(ctx, tx, a, "mail stopped", a.Person, "")
	})
}
