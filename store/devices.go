package store

import (
	"context"
	"errors"
	"slices"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// MostDevices is how many persons a browser is remembered for, and DeviceFor how
// long after the last sign-in.
const (
	MostDevices = 8
	DeviceFor   = 180 * 24 * time.Hour
)

// Device finds, among the tokens that a browser has, the one of the person whom a
// card's number or a coach's address belongs to; nothing where there is none. It
// opens nothing: a sign-in from a browser that knows its person is only counted
// apart from those of strangers.
func (s *Store) Device(ctx context.Context, tokens []club.Secret, number, email string) ([]byte, error) {
	clubs, hashes := hashed(tokens)
	const q = `select k.hash
		from unnest(@clubs::bigint[], @hashes::bytea[]) t(club, hash)
		join keys k on k.club_id = t.club and k.hash = t.hash
		join people p on p.club_id = k.club_id and p.id = k.person_id
		where k.kind = 'device' and k.expires_at > @now and p.archived_at is null
			and (p.number::text = nullif(@number, '') or lower(p.email) = lower(nullif(@email, '')))
		limit 1`
	var hash []byte
	err := s.pool.QueryRow(ctx, q, args{
		"clubs": clubs, "hashes": hashes, "now": s.now(), "number": number, "email": email,
	}).Scan(&hash)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	return hash, translate(err)
}

// LastHere finds the person who signed in last in a browser with these tokens; nobody
// where there is none.
func (s *Store) LastHere(ctx context.Context, tokens []club.Secret) (game.Actor, error) {
	clubs, hashes := hashed(tokens)
	const q = `select p.club_id as club, p.id as person, p.role, p.name
		from unnest(@clubs::bigint[], @hashes::bytea[]) with ordinality t(club, hash, no)
		join keys k on k.club_id = t.club and k.hash = t.hash
		join people p on p.club_id = k.club_id and p.id = k.person_id
		where k.kind = 'device' and k.expires_at > @now and p.archived_at is null
		order by t.no desc
		limit 1`
	a, err := readOne[game.Actor](ctx, s.pool, q, args{"clubs": clubs, "hashes": hashes, "now": s.now()})
	if errors.Is(err, pgx.ErrNoRows) {
		return game.Actor{}, nil
	}
	return a, translate(err)
}

// hashed turns tokens into what the table of keys has of them.
func hashed(tokens []club.Secret) (clubs []int64, hashes [][]byte) {
	for _, t := range tokens {
		if c, ok := t.Club(); ok {
			clubs, hashes = append(clubs, int64(c)), append(hashes, t.Hash())
		}
	}
	return clubs, hashes
}

// Remember notes that a person has signed in in a browser with these tokens,
// and returns the tokens that the browser has now: one for each person, oldest
// first. If there are too many, the oldest is dropped.
func (s *Store) Remember(ctx context.Context, a game.Actor, tokens []club.Secret) (now []club.Secret, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		good, own, err := s.known(ctx, tx, a, tokens)
		if err != nil {
			return err
		}
		if own == "" {
			own = club.NewSecret(a.Club)
		}
		good = append(slices.DeleteFunc(good, func(t club.Secret) bool { return t == own }), own)
		now = good[max(0, len(good)-MostDevices):]
		clubs, hashes := hashed(good[:len(good)-len(now)])
		const drop = `delete from keys k
			using unnest($1::bigint[], $2::bytea[]) t(club, hash)
			where k.club_id = t.club and k.hash = t.hash and k.kind = 'device'`
		if _, err := tx.Exec(ctx, drop, clubs, hashes); err != nil {
			return err
		}
		const keep = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
			values (@club, @hash, 'device', @person, @now, @until)
			on conflict (club_id, hash) do update set expires_at = excluded.expires_at`
		_, err = tx.Exec(ctx, keep, args{
			"club": a.Club, "hash": own.Hash(), "person": a.Person, "now": s.now(), "until": s.now().Add(DeviceFor),
		})
		return err
	})
	return now, err
}

// known keeps the tokens that are good, in order, and finds the person's own.
func (s *Store) known(ctx context.Context, tx pgx.Tx, a game.Actor,
	tokens []club.Secret) (good []club.Secret, own club.Secret, err error) {
	for _, t := range tokens {
		c, ok := t.Club()
		if !ok || slices.Contains(good, t) {
			continue
		}
		var person game.PersonID
		const q = `select person_id from keys where club_id = $1 and hash = $2 and kind = 'device' and expires_at > $3`
		err := tx.QueryRow(ctx, q, c, t.Hash(), s.now()).Scan(&person)
		if errors.Is(err, pgx.ErrNoRows) {
			continue
		}
		if err != nil {
			return nil, "", err
		}
		if good = append(good, t); c == a.Club && person == a.Person {
			own = t
		}
	}
	return good, own, nil
}
