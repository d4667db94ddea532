package ending

import (
	"context"
	"errors"
	"fmt"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// Judge answers questions about positions from the solver's tables. It is
// safe for many goroutines.
type Judge struct{ tables *solver.Tables }

// NewJudge makes a judge over the tables.
func NewJudge(t *solver.Tables) *Judge { return &Judge{tables: t} }

// Ready builds the tables of the basic mates.
func (j *Judge) Ready(ctx context.Context) error {
	if err := j.tables.Basic(ctx); err != nil {
		return fmt.Errorf("build the basic mates: %w", err)
	}
	return nil
}

// Look is what is true of a position.
type Look struct {
	Name     string      // the ending, as in "KBNK"
	Plan     *Plan       // nil where the ending has none
	Attacker board.Color // the side that the name puts first
	Turn     board.Color
	Outcome  solver.Outcome // for the side to move
	Plies    int            // to mate, with best play by both; 0 in a draw
	Clock    int            // half-moves since the last capture or pawn move
	ShutOut  [3]bool        // of regions 1 to 3, so that he cannot come back
	Stage    int            // index into the plan's steps, from this position alone; -1 where there is none
	Par      int            // attacker moves that force the next stage, in the last stage the mate
}

// Won says whether the attacker wins.
func (l Look) Won() bool {
	if l.Turn == l.Attacker {
		return l.Outcome == solver.Win
	}
	return l.Outcome == solver.Loss
}

// MateIn is the number of moves the winning side has still to make.
func (l Look) MateIn() int { return (l.Plies + 1) / 2 }

// FiftyExact says whether the clock and the distance alone decide what the
// fifty-move rule makes of a position: the winner has no pawn to move, no man to
// take, and none to give up and still win.
func (l Look) FiftyExact() bool {
	switch l.Name {
	case "KQK", "KRK", "KBBK", "KBNK":
		return true
	}
	return l.Outcome == solver.Draw
}

// UnderFifty is the outcome for the side to move under the fifty-move rule
// (FIDE Laws 9.3) from the position's clock. Where FiftyExact is false a win
// that is too long for the clock may still be made by way of a capture or a
// pawn move, and counts as one.
func (l Look) UnderFifty() solver.Outcome {
	if l.FiftyExact() && l.Plies > 100-l.Clock {
		return solver.Draw
	}
	return l.Outcome
}

// Look finds what is true of a position. An ending that has no table is an
// error of kind Bad.
func (j *Judge) Look(ctx context.Context, p board.Position) (Look, error) {
	sp, err := toSolver(p)
	if err != nil {
		return Look{}, err
	}
	return j.look(ctx, sp, p.HalfMoves())
}

// lookAfter finds what is true of the position after a move.
func (j *Judge) lookAfter(ctx context.Context, sp solver.Position, p board.Position, m board.Move) (Look, error) {
	clock := p.HalfMoves() + 1
	if m.Capture || p.At(m.From).Kind == board.Pawn {
		clock = 0
	}
	return j.look(ctx, sp.Play(toSolverMove(m)), clock)
}

func (j *Judge) look(ctx context.Context, sp solver.Position, clock int) (Look, error) {
	v, err := j.value(ctx, sp)
	if err != nil {
		return Look{}, err
	}
	l := Look{
		Name: sp.Name(), Attacker: board.Color(sp.Attacker()), Turn: board.Color(sp.Turn),
		Outcome: v.Outcome, Plies: v.Plies, Clock: clock, Stage: -1,
	}
	l.Plan, _ = PlanOf(l.Name)
	if l.Plan == nil {
		return l, nil
	}
	if l.Plan.Pawn {
		return j.lookPawn(ctx, sp, l)
	}
	if l.ShutOut, err = j.tables.Held(ctx, sp); err != nil {
		return Look{}, fmt.Errorf("regions of %s: %w", l.Name, err)
	}
	if !l.Won() {
		return l, nil
	}
	l.Stage = l.Plan.raw(l.ShutOut)
	l.Par, err = j.par(ctx, sp, l, l.Stage)
	return l, err
}

// lookPawn finds the stage of a pawn ending; its par is the moves to mate.
func (j *Judge) lookPawn(ctx context.Context, sp solver.Position, l Look) (Look, error) {
	if !l.Won() {
		return l, nil
	}
	front, err := j.tables.Front(ctx, sp)
	if err != nil {
		return l, fmt.Errorf("front of %s: %w", l.Name, err)
	}
	if l.Stage, l.Par = 0, l.MateIn(); front {
		l.Stage = 1
	}
	return l, nil
}

// par is the fewest attacker moves that complete a stage from here.
func (j *Judge) par(ctx context.Context, sp solver.Position, l Look, stage int) (int, error) {
	region := l.Plan.Steps[stage].Region
	if region == 0 {
		return l.MateIn(), nil
	}
	n, ok, err := j.tables.Par(ctx, sp, region)
	if err != nil {
		return 0, fmt.Errorf("par of %s: %w", l.Name, err)
	}
	if !ok {
		return l.MateIn(), nil // only a win by way of a capture could miss the region
	}
	return n, nil
}

// ParOf is the par of a stage of the plan from a position that is won.
func (j *Judge) ParOf(ctx context.Context, p board.Position, stage int) (int, error) {
	sp, err := toSolver(p)
	if err != nil {
		return 0, err
	}
	l, err := j.look(ctx, sp, p.HalfMoves())
	if err != nil || l.Plan == nil || !l.Won() || stage < 0 || stage > l.Plan.Last() {
		return 0, err
	}
	return j.par(ctx, sp, l, stage)
}

func (j *Judge) value(ctx context.Context, sp solver.Position) (solver.Value, error) {
	v, err := j.tables.Probe(ctx, sp)
	if errors.Is(err, solver.ErrNoTable) {
		return v, game.Wrap(game.Bad, fmt.Sprintf("The ending %s is not one that Drover can judge. It judges %s.", sp.Name(),
			known()), err)
	}
	if err != nil {
		return v, fmt.Errorf("probe %s: %w", sp.Name(), err)
	}
	return v, nil
}

// known lists the endings with a plan, for a sentence.
func known() string {
	var codes []string
	for _, p := range plans {
		codes = append(codes, p.Code)
	}
	return game.List(codes)
}

// toSolver takes a position of up to four men to the solver's form.
func toSolver(p board.Position) (solver.Position, error) {
	sp := solver.Position{Turn: solver.Color(p.Turn()), EnPassant: solver.NoSquare}
	if n := p.Count(); n > solver.MaxMen {
		return sp, board.BadField(board.FieldPlacement,
			"there are %d men; Drover judges endings of up to %d, kings included", n, solver.MaxMen)
	}
	if p.Castling() {
		return sp, board.BadField(board.FieldCastling, "endings are judged without castling; write - in this field")
	}
	for sq := board.Square(0); sq < 64; sq++ {
		if m := p.At(sq); m.There {
			sp.Men[sp.Count] = solver.Man{Kind: solver.Kind(m.Kind), Color: solver.Color(m.Color), At: solver.Square(sq)}
			sp.Count++
		}
	}
	if sq, ok := p.Passing(); ok {
		sp.EnPassant = solver.Square(sq)
	}
	return sp, nil
}

func toSolverMove(m board.Move) solver.Move {
	return solver.Move{From: solver.Square(m.From), To: solver.Square(m.To), Promotion: solver.Kind(m.Promotion),
		Capture: m.Capture}
}

// Dead says whether no series of legal moves leads to mate (FIDE Laws 5.2.2).
func (j *Judge) Dead(p board.Position) (bool, error) {
	sp, err := toSolver(p)
	return err == nil && sp.Dead(), err
}
