package store

import (
	"context"
	"errors"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Feed is what a coach or a guardian sees of the own calendar feed. Its address is shown to
// the session that made it, and never again.
type Feed struct {
	May  bool      // there is somebody whose drills it may count
	Ends time.Time // the midnight at which one that is made now ends
	Own  *OwnFeed  // nil: there is none
}

// OwnFeed is a feed that works.
type OwnFeed struct {
	Made  time.Time
	Until time.Time  // the midnight at which it ends
	Read  *time.Time // the first reading of the last day on which a calendar read it
}

// DueDay is how many drills are due on a day.
type DueDay struct {
	Day    time.Time
	Drills int
}

// practises holds the people p to students who may practise, and feedScope to those whom a
// feed's owner may see.
const practises = `p.role = 'student' and p.archived_at is null and ` + mayPractise

var feedScope = map[game.Role]string{
	game.Coach: inScope,
	game.Guardian: ` and exists (select from guardians g
		where g.club_id = p.club_id and g.guardian_id = @reader and g.student_id = p.id)`,
}

// Feed reads a person's own feed.
func (s *Store) Feed(ctx context.Context, a game.Actor) (f Feed, err error) {
	if f.Ends, err = s.feedEnds(ctx, s.pool, a, ""); err != nil {
		return f, translate(err)
	}
	switch _, err := fed(ctx, s.pool, a); {
	case err == nil:
		f.May = true
	case !errors.Is(err, pgx.ErrNoRows):
		return f, translate(err)
	}
	const q = `select made_at as made, expires_at as until, seen_at as read
		from keys
		where club_id = @club and person_id = @person and kind = 'feed' and expires_at > @now`
	own, err := readAll[OwnFeed](ctx, s.pool, q, args{"club": a.Club, "person": a.Person, "now": s.now()})
	if len(own) > 0 {
		f.Own = &own[0]
	}
	return f, translate(err)
}

// fed finds the child whose data a guardian's feed shows, the first of several. A coach's
// feed is about no one child, and lives without any.
func fed(ctx context.Context, from querier, a game.Actor) (child game.PersonID, err error) {
	if a.Role == game.Coach {
		return 0, nil
	}
	q := `select p.id from people p where p.club_id = @club and ` + practises + feedScope[game.Guardian] + ` order by p.id limit 1`
	err = from.QueryRow(ctx, q, args{"club": a.Club, "reader": a.Person}).Scan(&child)
	return child, err
}

// MakeFeed makes the address of a person's calendar feed, which works until the end of the
// term, and a substitute's until the last day. The one that was there before ends.
func (s *Store) MakeFeed(ctx context.Context, a game.Actor, sent ...Sent) (token club.Secret, err error) {
	token = club.NewSecret(a.Club)
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		until, err := s.feedUntil(ctx, tx, a)
		if err != nil {
			return 0, err
		}
		if _, err := dropFeed(ctx, tx, a); err != nil {
			return 0, err
		}
		const q = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
			values (@club, @hash, 'feed', @person, @now, @until)`
		if _, err := tx.Exec(ctx, q, args{
			"club": a.Club, "hash": token.Hash(), "person": a.Person, "now": s.now(), "until": until,
		}); err != nil {
			return 0, err
		}
		if err := s.show(ctx, tx, in.Session, ShownFeed, int64(a.Person), token); err != nil {
			return 0, err
		}
		return int64(a.Person), audit(ctx, tx, a, "feed made", a.Person, "")
	})
	return token, err
}

// feedUntil is feedEnds of a person who may make a feed. It locks the person's row, as does
// whoever stops a link or resets an account: a feed is made before that and ends with it, or
// it is not made, since a session that has ended is shown nothing (a foreign key of shown).
func (s *Store) feedUntil(ctx context.Context, tx pgx.Tx, a game.Actor) (time.Time, error) {
	until, err := s.feedEnds(ctx, tx, a, ` for no key update of p`)
	if err != nil {
		return until, err
	}
	_, err = fed(ctx, tx, a)
	if errors.Is(err, pgx.ErrNoRows) {
		err = game.Fail(game.Conflict, "A calendar feed needs a guardian's consent to practice. Ask the coach to note it.")
	}
	return until, err
}

// feedEnds says until when a feed works that a person makes now: to the end of the term, and
// that of a substitute to the last day. lock is what the query adds.
func (s *Store) feedEnds(ctx context.Context, from querier, a game.Actor, lock string) (time.Time, error) {
	var c club.Club
	var last *time.Time
	q := `select c.zone, p.until_at
		from people p
		join clubs c on c.id = p.club_id
		where p.club_id = @club and p.id = @person and p.role in ('coach', 'guardian') and p.archived_at is null and p.barred_at is null
			and (p.until_at is null or p.until_at > @now)` + lock
	if err := from.QueryRow(ctx, q, args{"club": a.Club, "person": a.Person, "now": s.now()}).Scan(&c.Zone, &last); err != nil {
		return time.Time{}, err
	}
	end := club.TermEnd(c.Local(s.now()))
	if last != nil && last.Before(end) {
		end = *last
	}
	return end, nil
}

// dropFeed ends a person's feed, if there is one, and no longer shows its address.
func dropFeed(ctx context.Context, tx pgx.Tx, a game.Actor) (was bool, err error) {
	row, err := tx.Exec(ctx, `delete from keys where club_id = $1 and person_id = $2 and kind = 'feed'`, a.Club, a.Person)
	if err != nil {
		return false, err
	}
	return row.RowsAffected() > 0, unshow(ctx, tx, a.Club, ShownFeed, a.Person)
}

// EndFeed ends a person's own feed at once; one that has ended before stays so.
func (s *Store) EndFeed(ctx context.Context, a game.Actor) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		was, err := dropFeed(ctx, tx, a)
		if err != nil || !was {
			return err
		}
		return audit(ctx, tx, a, "feed ended", a.Person, "")
	})
}

// ReadFeed is what a calendar is told with a feed's token: the days from today to the end of
// the term on which drills are due. A feed that has ended, for whatever reason, is missing,
// as is one that never was. Nothing is kept from one reading to the next, so that a feed ends
// with its owner, the owner's last day, a guardian's link and the child's consent.
func (s *Store) ReadFeed(ctx context.Context, token club.Secret) (days []DueDay, err error) {
	c, ok := token.Club()
	if !ok {
		return nil, missing()
	}
	err = s.tx(ctx, func(tx pgx.Tx) error {
		of, err := s.feedOf(ctx, tx, c, token)
		if err != nil {
			return err
		}
		child, err := fed(ctx, tx, of.Actor)
		if err != nil {
			return err
		}
		if days, err = s.dueDays(ctx, tx, of); err != nil {
			return err
		}
		return s.noteFeed(ctx, tx, of, child)
	})
	return days, err
}

// feedRow is a feed that works: whose it is, and where the club's day begins.
type feedRow struct {
	game.Actor
	Hash  []byte
	Until time.Time
	Zone  string
}

// local is a time in the club.
func (f feedRow) local(t time.Time) time.Time { return club.Club{Zone: f.Zone}.Local(t) }

// feedOf finds a feed.
func (s *Store) feedOf(ctx context.Context, tx pgx.Tx, c game.ClubID, token club.Secret) (feedRow, error) {
	const q = `select p.club_id as club, p.id as person, p.role, p.name, k.hash, k.expires_at as until, c.zone
		from keys k
		join people p on p.club_id = k.club_id and p.id = k.person_id and p.role in ('coach', 'guardian')
			and p.archived_at is null and p.barred_at is null and (p.until_at is null or p.until_at > @now)
		join clubs c on c.id = p.club_id
		where k.club_id = @club and k.hash = @hash and k.kind = 'feed' and k.expires_at > @now`
	return readOne[feedRow](ctx, tx, q, args{"club": c, "hash": token.Hash(), "now": s.now()})
}

// dueDays counts the drills that are due on each day; one that several students have counts
// once.
func (s *Store) dueDays(ctx context.Context, from querier, of feedRow) ([]DueDay, error) {
	q := `select a.due_on as day, count(distinct a.drill_id) as drills
		from assignees e
		join assignments a on a.club_id = e.club_id and a.id = e.assignment_id and a.withdrawn_at is null
			and a.opens_at <= @now and a.due_on >= @today::date and a.due_on <= @last::date
		join people p on p.club_id = e.club_id and p.id = e.student_id and ` + practises + feedScope[of.Role] + `
		where e.club_id = @club and e.passed_at is null and e.withdrawn_at is null
		group by a.due_on
		order by a.due_on`
	return readAll[DueDay](ctx, from, q, args{
		"club": of.Club, "reader": of.Person, "now": s.now(), "today": of.local(s.now()),
		"last": of.local(of.Until.Add(-time.Second)), // the end is the midnight after the last day
	})
}

// noteFeed writes to the audit that a calendar read a feed, once for each day of the club.
// Of two that read it at once the second waits at the key's row, and finds it noted.
func (s *Store) noteFeed(ctx context.Context, tx pgx.Tx, of feedRow, child game.PersonID) error {
	now := of.local(s.now())
	midnight := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	const q = `update keys set seen_at = @now
		where club_id = @club and hash = @hash and kind = 'feed' and (seen_at is null or seen_at < @midnight)`
	row, err := tx.Exec(ctx, q, args{"club": of.Club, "hash": of.Hash, "now": now, "midnight": midnight})
	if err != nil || row.RowsAffected() == 0 {
		return err
	}
	return audit(ctx, tx, of.Actor, "feed read", child, "")
}
