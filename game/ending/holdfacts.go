package ending

import (
	"context"
	"fmt"

	"drover/game"
	"drover/game/board"
)

// HoldSituation is a judged move of a hold drill and what followed it.
type HoldSituation struct {
	Before  board.Position
	Move    board.Move
	Verdict HoldVerdict
	Reply   *board.Move // nil where none followed
}

// HoldFacts are the computed reasons for a grade of a hold drill; For puts them
// into words. A fact that does not apply is empty.
type HoldFacts struct {
	Grade   Grade
	Holding int      // moves that kept the draw, of Moves
	Moves   int      // legal moves that there were
	Best    string   // the firmest move in SAN, once the draw is gone
	Others  []string // the moves that held, in SAN, up to four
	Stale   bool     // the game is a draw by stalemate
	Dead    bool     // too little is left to mate
	Winner  string   // the attacker's best move in SAN, once the draw is gone
	Lost    board.Man
	LostAt  board.Square // where the student's man falls to that move
	Taken   bool         // it was taken already
	MateIn  int          // moves to mate, where the draw is gone
	Queens  int          // attacker moves until the pawn queens, with best play; 0: none does
}

// HoldFacts computes the reasons for a verdict of a hold drill.
func (j *Judge) HoldFacts(ctx context.Context, s HoldSituation) (HoldFacts, error) {
	f := HoldFacts{Grade: s.Verdict.Grade, Holding: s.Verdict.Holding, Moves: s.Verdict.Moves}
	after := s.Before.Play(s.Move)
	if f.Grade == DrawGone {
		return f, j.whyDrawGone(ctx, &f, s, after)
	}
	last := after
	if s.Reply != nil {
		last = after.Play(*s.Reply)
	}
	f.Stale, f.Dead = last.Stalemate(), last.Dead()
	return f, nil
}

func (j *Judge) whyDrawGone(ctx context.Context, f *HoldFacts, s HoldSituation, after board.Position) error {
	f.MateIn = s.Verdict.After.MateIn()
	keeps, err := j.HoldingMoves(ctx, s.Before)
	if err != nil {
		return err
	}
	for _, m := range keeps[:min(4, len(keeps))] {
		f.Others = append(f.Others, s.Before.SAN(m))
	}
	firm, ok, err := j.Firmest(ctx, s.Before, 0)
	if err != nil {
		return err
	}
	if ok {
		f.Best = s.Before.SAN(firm)
	}
	winner, err := j.winner(ctx, s, after)
	if err != nil || winner == nil {
		return err
	}
	f.Winner = after.SAN(*winner)
	if winner.Capture {
		f.Lost, f.LostAt, f.Taken = after.At(winner.To), winner.To, s.Reply != nil
	}
	f.Queens, err = j.queens(ctx, after, *winner)
	return err
}

// winner is the attacker's reply, or the best one where none followed.
func (j *Judge) winner(ctx context.Context, s HoldSituation, after board.Position) (*board.Move, error) {
	if s.Reply != nil {
		return s.Reply, nil
	}
	best, ok, err := j.Best(ctx, after)
	if err != nil || !ok {
		return nil, err
	}
	return &best.Move, nil
}

// queens follows best play from a move of the attacker and counts its moves
// until its pawn queens; 0 where it has no pawn, or mates first.
func (j *Judge) queens(ctx context.Context, p board.Position, m board.Move) (int, error) {
	attacker := p.Turn()
	for n := 1; n <= 60; n++ {
		if m.Promotion != board.King && p.Turn() == attacker {
			return n, nil
		}
		p = p.Play(m)
		if len(p.Moves()) == 0 {
			return 0, nil
		}
		longest, err := j.Reply(ctx, p, HoldsOut, 0)
		if err != nil {
			return 0, err
		}
		p = p.Play(longest)
		best, ok, err := j.Best(ctx, p)
		if err != nil || !ok {
			return 0, err
		}
		m = best.Move
	}
	return 0, nil
}

// For puts facts of a hold drill into words for an age: short ones for about
// eight, with numbers for about fourteen and for grown-ups.
func (f HoldFacts) For(age int) []string {
	if f.Grade == Held {
		return f.held()
	}
	say := []string{f.why(age)}
	switch {
	case f.Best == "":
		return say
	case len(f.Others) == 1:
		return append(say, fmt.Sprintf("Only %s held the draw.", f.Best))
	case age >= Fourteen && len(f.Others) == f.Holding:
		return append(say, fmt.Sprintf("%s held.", game.List(f.Others)))
	}
	return append(say, fmt.Sprintf("%s would have held.", f.Best))
}

func (f HoldFacts) held() []string {
	switch {
	case f.Stale:
		return []string{"No move and no check: stalemate, a draw."}
	case f.Dead:
		return []string{"Too little is left to mate with: a draw."}
	case f.Holding == 1 && f.Moves > 1:
		return []string{"Still a draw. Only this move held. Well seen."}
	case f.Holding == f.Moves:
		return []string{"Still a draw. Any move holds it here."}
	}
	return []string{fmt.Sprintf("Still a draw: %d of the %d moves you had would hold it.", f.Holding, f.Moves)}
}

// why says how the attacker wins now.
func (f HoldFacts) why(age int) string {
	switch {
	case f.Lost.There && f.Taken:
		return fmt.Sprintf("Your %s on %s had no guard. He took it.", f.Lost.Kind, f.LostAt)
	case f.Lost.There:
		return fmt.Sprintf("Your %s on %s has no guard. He can take it.", f.Lost.Kind, f.LostAt)
	case f.MateIn > 0 && f.MateIn <= 3:
		return fmt.Sprintf("He mates in %d now: %s first.", f.MateIn, f.Winner)
	case f.Queens == 1:
		return fmt.Sprintf("%s: the pawn is through.", f.Winner)
	case f.Queens > 0 && age >= Fourteen:
		return fmt.Sprintf("%s wins: the pawn queens in %d, mate in %d.", f.Winner, f.Queens, f.MateIn)
	case f.Queens > 0:
		return fmt.Sprintf("%s, and the pawn gets through in %d moves.", f.Winner, f.Queens)
	case age >= Fourteen:
		return fmt.Sprintf("%s wins: mate in %d.", f.Winner, f.MateIn)
	}
	return fmt.Sprintf("Now %s wins.", f.Winner)
}
