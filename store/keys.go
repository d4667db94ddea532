package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// lifetimes of a session by role: how long in all, and how long without use
// (OWASP ASVS 5.0, 7.3.1 and 7.3.2).
var lifetimes = map[game.Role]struct{ all, idle time.Duration }{
	game.Coach:    {12 * time.Hour, time.Hour},
	game.Guardian: {30 * 24 * time.Hour, 7 * 24 * time.Hour},
	game.Student:  {14 * 24 * time.Hour, 2 * 24 * time.Hour},
	game.Welfare:  {12 * time.Hour, time.Hour},
}

// sharedIdle is how long a session on a device that others use, too, may be without use.
const sharedIdle = 2 * time.Hour

// idleFor is how long a session may be without use.
func idleFor(role game.Role, shared bool) time.Duration {
	idle := lifetimes[role].idle
	if shared {
		return min(idle, sharedIdle)
	}
	return idle
}

// Session finds the person of a session's token; an ended or idle session is
// missing. It notes the use at most once a minute.
func (s *Store) Session(ctx context.Context, token club.Secret) (game.Actor, error) {
	a, seen, err := s.session(ctx, token)
	if err != nil || s.now().Sub(seen) <= time.Minute {
		return a, err
	}
	const touch = `update keys set seen_at = $3 where club_id = $1 and hash = $2`
	_, err = s.quick.Exec(ctx, touch, a.Club, token.Hash(), s.now())
	return a, translate(err)
}

// sessionRow is a session's person, when it was last used and when it ends.
type sessionRow struct {
	game.Actor
	Seen   time.Time
	Until  time.Time
	Left   bool // the person has left the club, or is barred
	Shared bool // others use the device, too
}

func (s *Store) session(ctx context.Context, token club.Secret) (a game.Actor, seen time.Time, err error) {
	c, ok := token.Club()
	if !ok {
		return a, seen, missing()
	}
	const q = `select
			p.club_id as club,
			p.id as person,
			p.role,
			p.name,
			k.seen_at as seen,
			k.expires_at as until,
			k.shared,
			p.archived_at is not null or p.barred_at is not null or coalesce(p.until_at <= @now, false) as "left"
		from keys k
		join people p on p.club_id = k.club_id and p.id = k.person_id
		where k.club_id = @club and k.hash = @hash and k.kind = 'session'`
	row, err := readOne[sessionRow](ctx, s.quick, q, args{"club": c, "hash": token.Hash(), "now": s.now()})
	if err != nil {
		return a, seen, translate(err)
	}
	if now := s.now(); row.Left || !row.Until.After(now) || now.Sub(row.Seen) > idleFor(row.Role, row.Shared) {
		return row.Actor, row.Seen, s.drop(ctx, token, row.Seen)
	}
	return row.Actor, row.Seen, nil
}

// Over are those of these sessions that are over, without counting as a use of the
// others: one query, however many they are.
func (s *Store) Over(ctx context.Context, tokens ...club.Secret) ([]club.Secret, error) {
	clubs, hashes := make([]game.ClubID, len(tokens)), make([][]byte, len(tokens))
	for i, t := range tokens {
		clubs[i], _ = t.Club() // a token without a club is nobody's
		hashes[i] = t.Hash()
	}
	var roles []game.Role
	var since []time.Time // the last use of a session that is not idle
	for role, life := range lifetimes {
		roles, since = append(roles, role), append(since, s.now().Add(-life.idle))
	}
	const q = `select k.hash
		from unnest(@clubs::bigint[], @hashes::bytea[]) as t (club_id, hash)
		join keys k on k.club_id = t.club_id and k.hash = t.hash and k.kind = 'session' and k.expires_at > @now
		join people p on p.club_id = k.club_id and p.id = k.person_id and p.archived_at is null
			and p.barred_at is null and (p.until_at is null or p.until_at > @now)
		join unnest(@roles::text[], @since::timestamptz[]) as l (role, since) on l.role = p.role
		where k.seen_at >= case when k.shared then greatest(l.since, @shared) else l.since end`
	rows, err := s.quick.Query(ctx, q, args{"clubs": clubs, "hashes": hashes, "now": s.now(), "roles": roles, "since": since,
		"shared": s.now().Add(-sharedIdle)})
	if err != nil {
		return nil, translate(err)
	}
	good := map[string]bool{}
	var hash []byte
	if _, err := pgx.ForEachRow(rows, []any{&hash}, func() error { good[string(hash)] = true; return nil }); err != nil {
		return nil, translate(err)
	}
	var over []club.Secret
	for i, t := range tokens {
		if !good[string(hashes[i])] {
			over = append(over, t)
		}
	}
	return over, nil
}

// drop deletes a session that was found to be over; it is missing then. One that
// was used on another node meanwhile stays: it is found again.
func (s *Store) drop(ctx context.Context, token club.Secret, seen time.Time) error {
	c, _ := token.Club() // it was found by it
	const q = `delete from keys where club_id = $1 and hash = $2 and kind = 'session' and seen_at = $3`
	if _, err := s.pool.Exec(ctx, q, c, token.Hash(), seen); err != nil {
		return translate(err)
	}
	return missing()
}

// dropOver deletes, in all clubs, the sessions that are over.
func (s *Store) dropOver(ctx context.Context) error {
	const q = `delete from keys k
		using people p
		where p.club_id = k.club_id and p.id = k.person_id and k.kind = 'session'
			and (k.expires_at <= @now or p.archived_at is not null or p.barred_at is not null or p.until_at <= @now
				or p.role = @role and k.seen_at < @since or k.shared and k.seen_at < @shared)`
	for role, life := range lifetimes {
		if _, err := s.pool.Exec(ctx, q, args{"now": s.now(), "role": role, "since": s.now().Add(-life.idle),
			"shared": s.now().Add(-sharedIdle)}); err != nil {
			return fmt.Errorf("sessions that are over: %w", translate(err))
		}
	}
	return nil
}

// SignIn opens a session for a person and returns its token, which is new each
// time, and how long it may last. browser says in plain words which one it is in.
func (s *Store) SignIn(ctx context.Context, a game.Actor, browser ...string) (club.Secret, time.Duration, error) {
	return s.signIn(ctx, a, strings.Join(browser, ""), false)
}

// SignInShared is SignIn on a device that others use, too: the session ends after two
// hours without use.
func (s *Store) SignInShared(ctx context.Context, a game.Actor, browser string) (club.Secret, time.Duration, error) {
	return s.signIn(ctx, a, browser, true)
}

func (s *Store) signIn(ctx context.Context, a game.Actor, browser string, shared bool) (club.Secret, time.Duration, error) {
	token, life := club.NewSecret(a.Club), lifetimes[a.Role]
	err := s.tx(ctx, func(tx pgx.Tx) error {
		const q = `insert into keys (club_id, hash, kind, person_id, made_at, seen_at, expires_at, browser, proved_at, shared)
			values (@club, @hash, 'session', @person, @now, @now, @until, @browser, @now, @shared)`
		if _, err := tx.Exec(ctx, q, args{
			"club": a.Club, "hash": token.Hash(), "person": a.Person, "now": s.now(), "until": s.now().Add(life.all),
			"browser": browser, "shared": shared,
		}); err != nil {
			return err
		}
		return audit(ctx, tx, a, "signed in", a.Person, "")
	})
	return token, life.all, err
}

// SignOut ends a session.
func (s *Store) SignOut(ctx context.Context, token club.Secret) error {
	c, ok := token.Club()
	if !ok {
		return nil
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		a := game.Actor{Club: c}
		const q = `delete from keys where club_id = $1 and hash = $2 and kind = 'session' returning person_id`
		err := tx.QueryRow(ctx, q, c, token.Hash()).Scan(&a.Person)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil // it has ended before
		}
		if err != nil {
			return err
		}
		return audit(ctx, tx, a, "signed out", a.Person, "")
	})
}

// gone is the one answer for a link or card that does not open anything: it
// tells nobody what exists.
func gone() error {
	return game.Fail(game.Gone,
		"This link or card does not work any more. Ask your coach for a new one: it takes a minute.")
}

// Open finds the person of a card's pattern or a guardian's private link.
func (s *Store) Open(ctx context.Context, token club.Secret) (game.Actor, error) {
	c, ok := token.Club()
	if !ok {
		return game.Actor{}, gone()
	}
	a := game.Actor{Club: c}
	const q = `select p.id, p.role, p.name, p.barred_at is not null
		from keys k
		join people p on p.club_id = k.club_id and p.id = k.person_id
		where k.club_id = $1 and k.hash = $2 and k.kind in ('card', 'report')
			and (k.expires_at is null or k.expires_at > $3) and p.archived_at is null`
	var barred bool
	err := translate(s.pool.QueryRow(ctx, q, c, token.Hash(), s.now()).Scan(&a.Person, &a.Role, &a.Name, &barred))
	switch {
	case game.KindOf(err) == game.Missing:
		return a, gone()
	case barred:
		return game.Actor{}, isBarred()
	}
	return a, err
}

// OpenPhrase finds the student of a card's number and words. It takes the same
// time whether or not there is such a number.
func (s *Store) OpenPhrase(ctx context.Context, q *game.Queue, number string, phrase [4]string) (game.Actor, error) {
	wrong := game.Fail(game.Denied,
		"These words and this number do not belong together. Look at your card again, or ask your coach for a new one.")
	var a game.Actor
	hash, err := club.PhraseHash(ctx, q, number, phrase)
	if err != nil {
		return a, err
	}
	const find = `select p.club_id, p.id, p.role, p.name
		from keys k
		join people p on p.club_id = k.club_id and p.id = k.person_id
		where k.hash = $1 and k.kind = 'phrase' and p.archived_at is null`
	err = translate(s.pool.QueryRow(ctx, find, hash).Scan(&a.Club, &a.Person, &a.Role, &a.Name))
	if game.KindOf(err) == game.Missing {
		return a, wrong
	}
	return a, err
}

// OpenPassword finds the coach or officer of an e-mail address and password, over all
// clubs. It takes the same time whether or not there is such an address.
func (s *Store) OpenPassword(ctx context.Context, q *game.Queue, email, password string) (game.Actor, error) {
	var a game.Actor
	var stored string
	var barred bool
	const find = `select club_id, id, role, name, password, barred_at is not null
		from people
		where lower(email) = lower($1) and password is not null and archived_at is null
			and (until_at is null or until_at > $2)
		order by id
		limit 1`
	err := translate(s.pool.QueryRow(ctx, find, email, s.now()).Scan(&a.Club, &a.Person, &a.Role, &a.Name, &stored, &barred))
	if err != nil && game.KindOf(err) != game.Missing {
		return a, err
	}
	ok, err := club.VerifyPassword(ctx, q, stored, password)
	if err != nil {
		return a, err
	}
	if !ok {
		return a, game.Fail(game.Denied, "This address and password do not belong together. Try again, slowly.")
	}
	if barred { // said to who knows the password alone
		return game.Actor{}, isBarred()
	}
	return a, nil
}

// free is how many attempts may fail before each next one has to wait.
const free = 5

// Throttle says how strict a count of attempts is.
type Throttle struct {
	Scale  int           // so many times as many attempts are free
	Forget time.Duration // after which one attempt is forgotten
}

// Attempt counts a sign-in attempt under a key, before it is looked at, or
// refuses it because it comes too soon after others: two seconds after the
// fifth, doubling up to five minutes, never for ever. Attempts are forgotten with
// time, so that a few wrong ones now and then never add up. It is one statement,
// so attempts that come at once are counted one by one; a refused one counts
// nothing.
func (s *Store) Attempt(ctx context.Context, key []byte, t Throttle) error {
	const left = `greatest(0, failures.n - extract(epoch from @now::timestamptz - failures.last_at)::float8 / @forget)`
	const q = `insert into failures (key, n, last_at)
		values (@key, 1, @now)
		on conflict (key) do update set n = ` + left + ` + 1, last_at = @now
		where ` + left + ` <= @scale::float8 * @free::float8 - 1
			or failures.last_at + least(300,
				2 * power(2, least(ceil(` + left + ` / @scale::float8) - @free::float8, 10))) * interval '1 second' <= @now
		returning n`
	var n float64
	err := translate(s.pool.QueryRow(ctx, q, args{
		"key": key, "now": s.now(), "scale": float64(t.Scale), "free": float64(free), "forget": t.Forget.Seconds(),
	}).Scan(&n))
	if game.KindOf(err) == game.Missing {
		return game.Fail(game.Busy, "There have been many tries just now. Wait a little, then try once more.")
	}
	return err
}

// Succeeded takes one attempt off a key that others share.
func (s *Store) Succeeded(ctx context.Context, key []byte) error {
	_, err := s.pool.Exec(ctx, `update failures set n = greatest(0, n - 1) where key = $1`, key)
	return translate(err)
}

// Forget clears the failures of a key after a success.
func (s *Store) Forget(ctx context.Context, key []byte) error {
	_, err := s.pool.Exec(ctx, `delete from failures where key = $1`, key)
	return translate(err)
}
