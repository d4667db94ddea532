package main

import (
	"context"
	"fmt"
	"time"

	"drover/deploy/measurement/load"
	"drover/game"
	"drover/game/club"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// perPerson is how many sockets the server allows a person.
const perPerson = 5

// players are a club of students who play while something is measured. The server takes
// a hundred commands a minute from a person, which is two long games, so there are many.
type players struct {
	club    game.ClubID
	task    game.AssignmentID
	drill   game.DrillID
	ids     []game.PersonID
	tokens  []string
	scripts []script

	people []load.Person // those who have signed in, in order
	games  int64         // that were begun
}

// players makes the club.
func (f *filling) players(ctx context.Context, n int) (p players, err error) {
	c, err := f.found(ctx, "Players", 1, 1)
	if err != nil {
		return p, err
	}
	p.club, p.drill = c.coach.Club, c.drills[0].ID
	if p.scripts, err = scripts(ctx, f.judge, 8); err != nil {
		return p, err
	}
	rows, err := f.root.Query(ctx, `insert into people (club_id, role, name, number)
		select $1, 'student', 'Player ' || n, nextval('student_numbers') from generate_series(1, $2::int) n
		returning id`, p.club, n)
	if err != nil {
		return p, err
	}
	if p.ids, err = pgx.CollectRows(rows, pgx.RowTo[game.PersonID]); err != nil {
		return p, err
	}
	keys := pgx.CopyFromSlice(n, func(i int) ([]any, error) {
		token := club.NewSecret(p.club)
		p.tokens = append(p.tokens, string(token))
		return []any{int64(p.club), token.Hash(), "card", int64(p.ids[i])}, nil
	})
	names := []string{"club_id", "hash", "kind", "person_id"}
	if _, err := f.root.CopyFrom(ctx, pgx.Identifier{"keys"}, names, keys); err != nil {
		return p, err
	}
	p.task, err = f.store.Assign(ctx, c.coach, p.drill, p.ids, nil)
	return p, err
}

// signedIn makes sure that so many players are signed in.
func (w *world) signedIn(ctx context.Context, n int) error {
	p := &w.players
	if n > len(p.ids) {
		return fmt.Errorf("%d players are needed, and there are %d", n, len(p.ids))
	}
	if n <= len(p.people) {
		return nil
	}
	more, err := w.site.SignInAll(ctx, p.tokens[len(p.people):n])
	if err != nil {
		return err //nolint:wrapcheck // it says what did not work
	}
	p.people = append(p.people, more...)
	return nil
}

// seats begins so many games, so many for each player from the one given, and opens
// their boards.
func (w *world) seats(ctx context.Context, first, n, each int) ([]*load.Play, error) {
	if err := w.signedIn(ctx, first+(n+each-1)/each); err != nil {
		return nil, err
	}
	games, err := w.begin(ctx, first, n, each)
	if err != nil {
		return nil, err
	}
	seats := make([]load.Seat, n)
	for i, g := range games {
		seats[i] = load.Seat{Person: w.players.people[first+i/each], Game: g}
	}
	return w.site.JoinAll(ctx, seats) //nolint:wrapcheck // it says what did not work
}

// begin begins games without opening their boards.
func (w *world) begin(ctx context.Context, first, n, each int) ([]load.Game, error) {
	p := &w.players
	out := make([]load.Game, n)
	rows := make([][]any, n)
	for i := range out {
		p.games++
		id := 1_000_000_000 + p.games
		s := p.scripts[i%len(p.scripts)]
		out[i] = load.Game{ID: id, Moves: s.moves}
		rows[i] = []any{int64(p.club), id, int64(p.ids[first+i/each]), int64(p.task), int64(p.drill), 0, int(p.games), "w",
			s.setup.Ending, s.setup.Start, string(practice.Guided), "centralise", string(s.setup.Target), s.setup.Defender,
			s.setup.Seed, s.setup.Backs, s.setup.Allowance, int(s.setup.Helps), time.Now()}
	}
	names := []string{"club_id", "id", "student_id", "assignment_id", "drill_id", "start_no", "try", "side", "ending",
		"start_fen", "mode", "stage_from", "target", "defender", "seed", "backs", "allowance", "helps", "started_at"}
	if _, err := w.root.CopyFrom(ctx, pgx.Identifier{"games"}, names, pgx.CopyFromRows(rows)); err != nil {
		return nil, fmt.Errorf("begin games: %w", err)
	}
	return out, nil
}

// leave closes boards.
func leave(plays []*load.Play) {
	for _, p := range plays {
		p.Close()
	}
}
