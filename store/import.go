package store

import (
	"context"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// Record is a whole game from elsewhere, with the times at which it was
// played.
type Record struct {
	Task    club.Assignment
	Start   int
	Try     int
	Began   time.Time
	State   practice.State
	Outcome practice.Outcome
}

// Import writes whole games into the actor's club, in the order given.
func (s *Store) Import(ctx context.Context, a game.Actor, records []Record) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		for _, r := range records {
			who := game.Actor{Club: a.Club, Person: r.State.Student}
			id, err := insertGame(ctx, tx, who, r.Task, r.Start, r.Try, r.Began)
			if err != nil {
				return fmt.Errorf("import a game: %w", err)
			}
			if err := importActs(ctx, tx, a.Club, id, r.State.Acts); err != nil {
				return err
			}
			if r.State.End == "" {
				continue
			}
			e := entry{club: a.Club, setup: r.State.Setup, outcome: &r.Outcome}
			e.setup.Game = id
			if err := project(ctx, tx, e, r.State.Acts[len(r.State.Acts)-1].At); err != nil {
				return fmt.Errorf("import a game's outcome: %w", err)
			}
			if err := s.jobs.put(ctx, tx, OverviewJob{a.Club, r.State.Student}); err != nil {
				return err
			}
		}
		return audit(ctx, tx, a, "games imported", 0, fmt.Sprint(len(records)))
	})
}

func importActs(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.GameID, acts []practice.Act) error {
	names := []string{"club_id", "game_id", "seq", "kind", "by_id", "client_id", "at", "move", "reply", "grade", "cost",
		"plies", "stage", "par", "took", "end", "help"}
	orNull := func(s string) any {
		if s == "" {
			return nil
		}
		return s
	}
	_, err := tx.CopyFrom(ctx, pgx.Identifier{"acts"}, names, pgx.CopyFromSlice(len(acts), func(i int) ([]any, error) {
		a := acts[i]
		return []any{int64(c), int64(id), a.Seq, string(a.Kind), int64(a.By), a.Client, a.At, orNull(a.Move), orNull(a.Reply),
			orNull(string(a.Grade)),
			a.Cost, a.Plies, orNull(string(a.Stage)), a.Par, a.Took, orNull(string(a.End)), int(a.Help)}, nil
	}))
	if err != nil {
		return fmt.Errorf("import acts: %w", err)
	}
	return nil
}

// DirectLink makes a link that opens a person's first page at one tap. The
// demo prints such links; the site itself has cards and guardians' links.
func (s *Store) DirectLink(ctx context.Context, a game.Actor) (club.Secret, error) {
	token := club.NewSecret(a.Club)
	const q = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
		values (@club, @hash, 'card', @person, @now, @until)`
	_, err := s.pool.Exec(ctx, q, args{
		"club": a.Club, "hash": token.Hash(), "person": a.Person, "now": s.now(), "until": s.now().Add(7 * 24 * time.Hour),
	})
	return token, translate(err)
}
