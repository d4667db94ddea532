package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Settings reads what a coach may change of a club.
func (s *Store) Settings(ctx context.Context, c game.ClubID) (club.Settings, error) {
	const q = `select name, zone, outside, emergency, revision from clubs where id = $1`
	type row struct {
		Name, Zone, Outside, Emergency string
		Revision                       int
	}
	r, err := readOne[row](ctx, s.pool, q, c)
	if err != nil {
		return club.Settings{}, translate(err)
	}
	out := club.Settings{Name: r.Name, Zone: r.Zone, Outside: r.Outside, Emergency: r.Emergency, Revision: r.Revision}
	out.Holidays, err = s.Holidays(ctx, c)
	return out, err
}

const readHolidays = `select from_on as "from", to_on as "to", name from holidays where club_id = $1 order by from_on, to_on`

// Holidays lists a club's holidays in order.
func (s *Store) Holidays(ctx context.Context, c game.ClubID) ([]club.Holiday, error) {
	out, err := readAll[club.Holiday](ctx, s.pool, readHolidays, c)
	return out, translate(err)
}

// KeepSettings changes a club's settings; it can be undone. Where somebody else has
// changed them since, nothing is changed.
func (s *Store) KeepSettings(ctx context.Context, a game.Actor, n club.Settings) (game.ChangeID, error) {
	if err := n.Validate(); err != nil {
		return 0, err
	}
	return s.change(ctx, a, ofClub, 0, func(tx pgx.Tx) error {
		const q = `update clubs set name = @name, zone = @zone, outside = @outside, emergency = @emergency,
				revision = revision + 1
			where id = @club and revision = @revision`
		err := takeTurn(ctx, tx, q, n.Revision, args{"club": a.Club, "name": n.Name, "zone": n.Zone, "outside": n.Outside,
			"emergency": n.Emergency})
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `delete from holidays where club_id = $1`, a.Club); err != nil {
			return err
		}
		for _, h := range n.Holidays {
			const in = `insert into holidays (club_id, from_on, to_on, name) values ($1, $2, $3, $4) on conflict do nothing`
			if _, err := tx.Exec(ctx, in, a.Club, day(h.From), day(h.To), h.Name); err != nil {
				return err
			}
		}
		return nil
	})
}

// day is the calendar day of a time.
func day(t time.Time) string { return t.Format(time.DateOnly) }
