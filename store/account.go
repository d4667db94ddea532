package store

import (
	"context"
	"errors"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// ProofFor is how long after signing in, or signing in again, a coach may change how
// they sign in (OWASP ASVS 5.0, 7.5.1).
const ProofFor = 10 * time.Minute

// FactorWithin is how long after it was made the account of an owner may go without a
// second factor; that of a welfare officer may not at all.
const FactorWithin = 7 * 24 * time.Hour

// Account is what a coach or a welfare officer sees of the own account.
type Account struct {
	Role   game.Role
	Name   string
	Email  string
	Owner  bool
	Stands bool // only until a day, for some groups
	Made   time.Time
	Short  bool // the password is good only beside a second factor
	Factor bool // there is a second factor
	Codes  int  // recovery codes that are left

	Refused *time.Time // when a mail server refused mail to the address; nothing is sent there since
}

// Needs says whether the account has to have a second factor.
func (c Account) Needs() bool { return c.Owner || c.Role == game.Welfare }

// Until is the day by which such an account needs a second factor.
func (c Account) Until() time.Time {
	if c.Role == game.Welfare {
		return c.Made
	}
	return c.Made.Add(FactorWithin)
}

// Account reads a coach's own account.
func (s *Store) Account(ctx context.Context, a game.Actor) (Account, error) {
	out, err := account(ctx, s.pool, a)
	return out, translate(err)
}

func account(ctx context.Context, from querier, a game.Actor) (Account, error) {
	const q = `select
			p.role,
			p.name,
			p.email,
			p.owner,
			p.until_at is not null as stands,
			p.created_at as made,
			p.short_password as short,
			f.person_id is not null as factor,
			(select count(*)::int from recoveries r where r.club_id = $1 and r.person_id = $2) as codes,
			p.mail_refused_at as refused
		from people p
		left join factors f on f.club_id = p.club_id and f.person_id = p.id
		where p.club_id = $1 and p.id = $2 and p.role in ('coach', 'welfare') and p.archived_at is null`
	return readOne[Account](ctx, from, q, a.Club, a.Person)
}

// FactorDue says whether an owner or a welfare officer should have set up a second factor
// by now: an officer, who reads what children told, from the first day on.
func (s *Store) FactorDue(ctx context.Context, a game.Actor) (due bool, err error) {
	const q = `select exists (select from people p
		where p.club_id = @club and p.id = @person and (p.owner and p.created_at <= @since or p.role = 'welfare')
			and not exists (select from factors f where f.club_id = @club and f.person_id = @person))`
	err = s.quick.QueryRow(ctx, q, args{
		"club": a.Club, "person": a.Person, "since": s.now().Add(-FactorWithin),
	}).Scan(&due)
	return due, translate(err)
}

// Proved says whether the person of a session has proved a short while ago who they are.
func (s *Store) Proved(ctx context.Context, token club.Secret) (ok bool, err error) {
	c, _ := token.Club() // it was found by it
	const q = `select exists (select from keys
		where club_id = @club and hash = @hash and kind = 'session' and proved_at > @since)`
	err = s.pool.QueryRow(ctx, q, args{"club": c, "hash": token.Hash(), "since": s.now().Add(-ProofFor)}).Scan(&ok)
	return ok, translate(err)
}

// Prove notes that the person of a session has just proved who they are.
func (s *Store) Prove(ctx context.Context, a game.Actor, token club.Secret) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `update keys set proved_at = $3 where club_id = $1 and hash = $2 and kind = 'session'`
		if _, err := tx.Exec(ctx, q, a.Club, token.Hash(), s.now()); err != nil {
			return err
		}
		return audit(ctx, tx, a, "signed in again", a.Person, "")
	})
}

// SessionRow is one of a person's sessions.
type SessionRow struct {
	Hash    []byte // names it; it opens nothing
	Made    time.Time
	Seen    time.Time
	Browser string
}

// Sessions lists the sessions of a person that have not ended, the last used first.
func (s *Store) Sessions(ctx context.Context, a game.Actor) ([]SessionRow, error) {
	const q = `select hash, made_at as made, seen_at as seen, browser
		from keys
		where club_id = @club and person_id = @person and kind = 'session' and expires_at > @now and seen_at >= @since
		order by seen_at desc, made_at desc`
	out, err := readAll[SessionRow](ctx, s.pool, q, args{
		"club": a.Club, "person": a.Person, "now": s.now(), "since": s.now().Add(-lifetimes[a.Role].idle),
	})
	return out, translate(err)
}

// EndSession ends one of the person's own sessions; one that is none is missing.
func (s *Store) EndSession(ctx context.Context, a game.Actor, hash []byte) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `delete from keys where club_id = $1 and person_id = $2 and kind = 'session' and hash = $3`
		gone, err := tx.Exec(ctx, q, a.Club, a.Person, hash)
		if err != nil {
			return err
		}
		if gone.RowsAffected() == 0 {
			return missing()
		}
		return audit(ctx, tx, a, "session ended", a.Person, "")
	})
}

// EndSessions ends all sessions of the person, and what is half signed in.
func (s *Store) EndSessions(ctx context.Context, a game.Actor) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := endOthers(ctx, tx, a, ""); err != nil {
			return err
		}
		return audit(ctx, tx, a, "all sessions ended", a.Person, "")
	})
}

// endOthers ends all sessions of a person but one.
func endOthers(ctx context.Context, tx pgx.Tx, a game.Actor, but club.Secret) error {
	const q = `delete from keys
		where club_id = @club and person_id = @person and kind in ('session', 'half') and hash <> @hash`
	_, err := tx.Exec(ctx, q, args{"club": a.Club, "person": a.Person, "hash": but.Hash()})
	return err
}

// ChangePassword gives a coach a new password, and ends all other sessions.
func (s *Store) ChangePassword(ctx context.Context, a game.Actor, session club.Secret, password string) error {
	hashed, err := s.checked(ctx, a, password, false)
	if err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := setPassword(ctx, tx, a, hashed, club.ShortPassword(password)); err != nil {
			return err
		}
		if err := endOthers(ctx, tx, a, session); err != nil {
			return err
		}
		return audit(ctx, tx, a, "password changed", a.Person, "")
	})
}

// setPassword keeps a password's stored form. A short one is refused where the second
// factor was turned off meanwhile.
func setPassword(ctx context.Context, tx pgx.Tx, a game.Actor, hashed string, short bool) error {
	const q = `update people p set password = @hashed, short_password = @short
		where p.club_id = @club and p.id = @person and p.role in ('coach', 'welfare') and p.archived_at is null
			and (not @short or exists (select from factors f where f.club_id = p.club_id and f.person_id = p.id))`
	set, err := tx.Exec(ctx, q, args{"club": a.Club, "person": a.Person, "hashed": hashed, "short": short})
	if err == nil && set.RowsAffected() == 0 {
		return game.Fail(game.Conflict, "Your second factor was turned off meanwhile. Choose a longer password.")
	}
	if err != nil {
		return err
	}
	return endResets(ctx, tx, a)
}

// endResets ends the links with which somebody could choose a new password.
func endResets(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	_, err := tx.Exec(ctx, `delete from keys where club_id = $1 and person_id = $2 and kind = 'password'`, a.Club, a.Person)
	return err
}

// ChangeEmail gives a coach a new address to sign in with. It must be nobody's yet.
func (s *Store) ChangeEmail(ctx context.Context, a game.Actor, email string) error {
	email, err := club.ValidateEmail(email)
	if err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := freeEmail(ctx, tx, a.Club, a.Person, email); err != nil {
			return err
		}
		for _, q := range []string{`update people set email = $3, mail_refused_at = null
			where club_id = $1 and id = $2 and role in ('coach', 'welfare')`,
			`delete from addresses where club_id = $1 and person_id = $2 and email <> $3`, // nobody there has said yes
		} {
			if _, err := tx.Exec(ctx, q, a.Club, a.Person, email); err != nil {
				return err
			}
		}
		if err := errors.Join(endMailLinks(ctx, tx, a), endResets(ctx, tx, a)); err != nil { // they went to the old one
			return err
		}
		return audit(ctx, tx, a, "e-mail changed", a.Person, "")
	})
}

// freeEmail refuses an address with which somebody else signs in, in any club, and holds
// the others until the transaction ends.
func freeEmail(ctx context.Context, tx pgx.Tx, c game.ClubID, person game.PersonID, email string) error {
	if _, err := tx.Exec(ctx, `select pg_advisory_xact_lock(hashtext('drover e-mail'))`); err != nil {
		return err
	}
	var taken bool
	const there = `select exists (select from people
		where lower(email) = lower(@email) and password is not null and archived_at is null
			and not (club_id = @club and id = @person))`
	err := tx.QueryRow(ctx, there, args{"email": email, "club": c, "person": person}).Scan(&taken)
	if err == nil && taken {
		err = club.Problems{"email": "This address cannot be used here. Please choose another."}.Err()
	}
	return err
}
