package ending

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// The kinds of start, as they are posted.
const (
	AtRandom    = "random" // only of its stage
	Traps       = "trap"   // many moves throw the win away
	OnlyMove    = "only"   // one move alone is right
	WrongCorner = "corner" // near a corner where mate cannot be forced
	AlongEdge   = "edge"   // to be driven along the edge
	KingMoves   = "king"   // only king moves are right
	ChecksCost  = "checks" // there are checks, and each one costs
)

// StartKind is a kind of start positions.
type StartKind struct {
	Code string // as posted
	Name string // as a page writes it
	Say  string // what it is, one sentence
	Only string // the ending that alone has it; empty: all
	fit  fitting
}

// fitting says whether a won position with the attacker to move is of a kind.
type fitting func(ctx context.Context, j *Judge, p board.Position) (bool, error)

// startKinds is data: a kind is added here.
var startKinds = []StartKind{
	{AtRandom, "At random", "Any legal starts, with none repeated or mirrored.", "", anyStart},
	{Traps, "Traps",
		"A third or more of the natural moves throw the win away: checks, king steps nearer, squares taken from him.", "",
		trap},
	{OnlyMove, "Only move", "Only one move is on course.", "", onlyMove},
	{KingMoves, "King moves", "Every move that is on course is the king's.", "", kingMoves},
	{ChecksCost, "Checks cost", "There are checks to give, and not one of them is on course.", "", checksCost},
	{WrongCorner, "Wrong corner", "He sits in or near a corner where mate cannot be forced.", "KBNK", inWrongCorner},
	{AlongEdge, "Along the edge", "He is on the edge, on the side of the wrong corner, and must be driven along.", "KBNK",
		alongEdge},
}

// StartKinds lists the kinds of start; a copy.
func StartKinds() []StartKind { return slices.Clone(startKinds) }

// kindOf finds a kind that an ending has.
func kindOf(code, plan string) (fitting, bool) {
	for _, k := range startKinds {
		if k.Code == code && (k.Only == "" || k.Only == plan) {
			return k.fit, true
		}
	}
	return nil, false
}

func anyStart(context.Context, *Judge, board.Position) (bool, error) { return true, nil }

// trap says whether a third or more of the natural moves lose the win or
// stalemate.
func trap(ctx context.Context, j *Judge, p board.Position) (bool, error) {
	options, err := j.Options(ctx, p)
	if err != nil {
		return false, err
	}
	had := room(p)
	lost, all := 0, 0
	for _, o := range options { // these first: most positions have none, and the costly count is spared
		if !o.Wins() && natural(p, o.Move, had) {
			lost++
		}
	}
	if lost == 0 {
		return false, nil
	}
	for _, o := range options {
		if all < 3*lost+1 && natural(p, o.Move, had) {
			all++
		}
	}
	return 3*lost >= all, nil
}

// natural says whether a move is one that comes to mind first: a check, a king's
// step nearer, or a move that leaves him fewer squares than he had
// (common practice, no source).
func natural(p board.Position, m board.Move, had int) bool {
	lone := p.King(1 - p.Turn())
	if m.Check {
		return true
	}
	if p.At(m.From).Kind == board.King && steps(m.To, lone) < steps(m.From, lone) {
		return true
	}
	return len(p.Play(m).Moves()) < had
}

// room is the number of squares that the lone king could step to if the turn
// passed.
func room(p board.Position) int {
	if passed, ok := p.Pass(); ok {
		return len(passed.Moves())
	}
	return 0
}

func onlyMove(ctx context.Context, j *Judge, p board.Position) (bool, error) {
	_, answers, err := j.Survey(ctx, p)
	n := 0
	for _, a := range answers {
		if a.Grade == OnCourse {
			n++
		}
	}
	return n == 1, err
}

// kingMoves says whether a move is on course and all such moves are the king's.
func kingMoves(ctx context.Context, j *Judge, p board.Position) (bool, error) {
	_, answers, err := j.Survey(ctx, p)
	king := false
	for _, a := range answers {
		if a.Grade != OnCourse {
			continue
		}
		if p.At(a.Move.From).Kind != board.King {
			return false, err
		}
		king = true
	}
	return king, err
}

// checksCost says whether there are checks, and none of them is on course.
func checksCost(ctx context.Context, j *Judge, p board.Position) (bool, error) {
	if !slices.ContainsFunc(p.Moves(), func(m board.Move) bool { return m.Check }) {
		return false, nil // most positions; the costly survey is spared
	}
	_, answers, err := j.Survey(ctx, p)
	for _, a := range answers {
		if a.Move.Check && a.Grade == OnCourse {
			return false, err
		}
	}
	return true, err
}

// CornerSteps is, with the attacker to move, the number of king moves from the
// lone king to the nearest corner in which mate cannot be forced, and to the
// nearest other: 8 where all corners are alike.
func CornerSteps(p board.Position) (wrong, right int) {
	king := p.King(1 - p.Turn())
	bad := wrongCorners(p, p.Turn())
	wrong, right = 8, 8
	for _, c := range corners {
		n := steps(king, c)
		if len(bad) < 4 && c != bad[0] && c != bad[1] {
			right = min(right, n)
		} else {
			wrong = min(wrong, n)
		}
	}
	return wrong, right
}

func inWrongCorner(_ context.Context, _ *Judge, p board.Position) (bool, error) {
	wrong, _ := CornerSteps(p)
	return wrong <= 1, nil
}

func alongEdge(_ context.Context, _ *Judge, p board.Position) (bool, error) {
	wrong, right := CornerSteps(p)
	return fromRim(p.King(1-p.Turn())) == 0 && wrong < right, nil
}

// Pasted reads FENs, one on each line, as starts of a plan. Lines that do not fit are
// left out, each with a sentence; the others are kept.
func (j *Judge) Pasted(ctx context.Context, plan *Plan,
	text string) (starts []board.Position, problems []string, err error) {
	return eachLine(text, func(line string) (board.Position, error) { return j.pasted(ctx, plan, line) })
}

// eachLine reads a start from each line that is not empty.
func eachLine(text string,
	read func(line string) (board.Position, error)) (starts []board.Position, problems []string, err error) {
	for i, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		p, err := read(line)
		if game.KindOf(err) == game.Bad {
			problems = append(problems, fmt.Sprintf("Line %d: %s.", i+1, wrongWith(err)))
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		starts = append(starts, p)
	}
	return starts, problems, nil
}

// wrongWith says what is wrong with a start, inside a sentence. The line is named
// already, so the field of its FEN is not.
func wrongWith(err error) string {
	var bad *board.FieldError
	if errors.As(err, &bad) {
		return bad.What
	}
	return game.Saying(err)
}

// readStart reads a FEN of one ending, which a drill names so, in which the game
// still goes on.
func (j *Judge) readStart(ctx context.Context, line, code, name string) (board.Position, Look, error) {
	p, err := board.ParseFEN(line)
	if err != nil {
		return p, Look{}, err
	}
	sp, err := toSolver(p)
	if err != nil {
		return p, Look{}, err
	}
	if sp.Name() != code { // before a table is built for it
		return p, Look{}, game.Fail(game.Bad,
			fmt.Sprintf("this is the ending %s, but the drill is for %s", NameOf(sp.Name()), name))
	}
	l, err := j.look(ctx, sp, p.HalfMoves())
	switch {
	case err != nil:
		return p, l, err
	case p.Checkmate():
		return p, l, game.Fail(game.Bad, "it is mate already")
	case p.Stalemate():
		return p, l, game.Fail(game.Bad, "it is stalemate already")
	}
	return p, l, nil
}

func (j *Judge) pasted(ctx context.Context, plan *Plan, line string) (board.Position, error) {
	p, l, err := j.readStart(ctx, line, plan.Code, plan.Name)
	switch {
	case err != nil:
		return p, err
	case l.Turn != l.Attacker:
		return p, game.Fail(game.Bad, "the lone king is to move; a start has the other side to move")
	case !l.Won():
		return p, j.whyDrawn(ctx, p)
	case l.UnderFifty() == solver.Draw:
		return p, game.Fail(game.Bad, "mate takes longer than the fifty-move rule leaves; write 0 as the half-move clock")
	}
	return p, nil
}

// whyDrawn says why a start is a draw already.
func (j *Judge) whyDrawn(ctx context.Context, p board.Position) error {
	at, ok, err := j.falls(ctx, p)
	if err != nil {
		return err
	}
	if ok {
		return game.Fail(game.Bad, fmt.Sprintf("it is a draw already, the %s on %s cannot be saved", p.At(at).Kind, at))
	}
	return game.Fail(game.Bad, "it is a draw already")
}
