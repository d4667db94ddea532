package store

import (
	"context"
	"errors"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Own reads how a person has the board and the pages.
func (s *Store) Own(ctx context.Context, a game.Actor) (club.Own, error) {
	const q = `select coalesce(pace, 0) as pace, sounds, turned, big, scheme
		from own_settings
		where club_id = $1 and person_id = $2`
	type row struct {
		Pace                int
		Sounds, Turned, Big bool
		Scheme              club.Scheme
	}
	r, err := readOne[row](ctx, s.pool, q, a.Club, a.Person)
	if errors.Is(err, pgx.ErrNoRows) {
		return club.Own{Pace: club.ClubPace}, nil
	}
	return club.Own{Pace: club.PaceOf(r.Pace), Sounds: r.Sounds, Turned: r.Turned, Big: r.Big, Scheme: r.Scheme},
		translate(err)
}

// KeepOwn keeps how a person has the board and the pages.
func (s *Store) KeepOwn(ctx context.Context, a game.Actor, o club.Own) error {
	if err := o.Validate(); err != nil {
		return err
	}
	const q = `insert into own_settings (club_id, person_id, pace, sounds, turned, big, scheme)
		values (@club, @person, nullif(@pace, 0), @sounds, @turned, @big, @scheme)
		on conflict (club_id, person_id) do update set pace = excluded.pace, sounds = excluded.sounds,
			turned = excluded.turned, big = excluded.big, scheme = excluded.scheme`
	_, err := s.pool.Exec(ctx, q, args{
		"club": a.Club, "person": a.Person, "pace": o.Pace.Milliseconds(), "sounds": o.Sounds, "turned": o.Turned,
		"big": o.Big, "scheme": o.Scheme,
	})
	return translate(err)
}
