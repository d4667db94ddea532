package store

import (
	"context"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// underWay is how long a mail about a concern counts as on its way: it is tried at once, so
// after that it has been put off, or its job is lost. It stands for a later concern no longer.
const underWay = 5 * time.Minute

// remindEvery is how often an officer has a mail again while a concern is unopened.
const remindEvery = 24 * time.Hour

// tellOfficers puts down a mail to each officer of a club that something waits. Where one to
// an officer is on its way, it stands for this one, too.
func (s *Store) tellOfficers(ctx context.Context, tx pgx.Tx, c game.ClubID) error {
	if !s.mails {
		return nil
	}
	const q = `insert into letters (club_id, to_id, kind, at)
		select u.club_id, u.id, 'concern', @now
		from people u
		where u.club_id = @club and u.role = 'welfare' and ` + isHere + ` and not exists (select from letters l
			where l.club_id = u.club_id and l.to_id = u.id and l.kind = 'concern' and l.tried_at is null and l.outcome is null
				and l.at > @fresh)
		order by u.id
		returning club_id as club, id as letter`
	now := s.now()
	_, err := s.putLetters(ctx, tx, q, args{"club": c, "now": now, "fresh": now.Add(-underWay)})
	return err
}

// remindOfficers puts down a mail to each officer for whom a concern waits unopened and who has
// had none for a day: the last one may have come too late to be sent, or was overlooked.
func (s *Store) remindOfficers(ctx context.Context) error {
	const q = `insert into letters (club_id, to_id, kind, at)
		select u.club_id, u.id, 'concern', @now
		from people u
		where u.role = 'welfare' and u.mail_refused_at is null and ` + isHere + `
			and exists (select from concerns c where c.club_id = u.club_id and c.opened_at is null)
			and not exists (select from letters l
				where l.club_id = u.club_id and l.to_id = u.id and l.kind = 'concern' and l.at > @since
					and coalesce(l.outcome not in ('refused', 'dropped'), true))
		order by u.club_id, u.id
		limit @most
		returning club_id as club, id as letter`
	now := s.now()
	for n := lettersAtOnce; n == lettersAtOnce; {
		err := s.tx(ctx, func(tx pgx.Tx) (err error) {
			n, err = s.putLetters(ctx, tx, q, args{"now": now, "since": now.Add(-remindEvery), "most": lettersAtOnce})
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// standsForOthers ends the mails to an officer that had not been begun when this one was sent:
// it says the same.
func standsForOthers(ctx context.Context, tx pgx.Tx, c game.ClubID, id int64) error {
	const q = `update letters o set outcome = 'dropped' from letters l
		where l.club_id = $1 and l.id = $2 and o.club_id = l.club_id and o.to_id = l.to_id and o.kind = l.kind and o.id <> l.id
			and o.tried_at is null and o.outcome is null and o.at <= l.tried_at`
	_, err := tx.Exec(ctx, q, c, id)
	return err
}

// OfficerMail is the last mail to an officer that something waits.
type OfficerMail struct {
	Sends   bool // mail can be sent
	Stopped bool // a server refused one: nothing is sent until the address is given anew
	At      *time.Time
	Outcome Outcome // empty: it is still to be sent
	Slow    bool    // it is still to be sent, and no longer just on its way
}

// OfficerMail reads the last mail to an officer; without one its time is nil. One that nobody
// was to have any more is none.
func (s *Store) OfficerMail(ctx context.Context, a game.Actor) (OfficerMail, error) {
	const q = `select @sends::boolean as sends, u.mail_refused_at is not null as stopped, l.at, coalesce(l.outcome, '') as outcome,
			coalesce(l.outcome is null and l.at <= @fresh, false) as slow
		from people u
		left join lateral (select at, outcome from letters l
			where l.club_id = u.club_id and l.to_id = u.id and l.kind = 'concern' and coalesce(l.outcome <> 'dropped', true)
			order by l.id desc
			limit 1) l on true
		where u.club_id = @club and u.id = @person`
	m, err := readOne[OfficerMail](ctx, s.pool, q, args{
		"sends": s.mails, "club": a.Club, "person": a.Person, "fresh": s.now().Add(-underWay),
	})
	return m, translate(err)
}
