package ending

import (
	"context"
	"fmt"
	"hash/fnv"
	"slices"

	"drover/game"
	"drover/game/board"
)

// Example is a position of the guide with its best move and what that does, all of it
// from the tables.
type Example struct {
	Position board.Position
	Best     board.Move // the quickest mate; where a draw is held, the firmest move
	MateIn   int        // moves to mate; 0 where a draw is held
	Pen      []board.Square
	Gaps     []Gap

	facts   Facts
	left    int    // gaps that the best move leaves
	next    int    // moves that the best other move loses; 0: one is as good, noOther: no other wins
	front   bool   // after it the pawn wins whoever moves
	escort  string // what the best move does for the pawn, as the rest of a sentence
	holding int    // where a draw is held: the moves that do, of moves
	moves   int    // all legal moves
	hold    bool   // a draw is held
	loses   string // where one move alone holds: what a losing one lets him do, for fourteen
}

// noOther says that one move alone wins.
const noOther = -1

// sought is how many positions of a stage the guide chooses from.
const sought = 40

// Examples are the two positions of a stage of the guide: one to begin from, and one
// whose best move shows most of what the stage wants. They are the same each time.
func (j *Judge) Examples(ctx context.Context, g Guide, stage Stage) ([2]Example, error) {
	if g.Hold {
		return j.holdExamples(ctx, g)
	}
	plan, from, ok := pickedFrom(g.Code, stage)
	if !ok {
		return [2]Example{}, fmt.Errorf("the guide of %s has no stage %s", g.Code, stage)
	}
	picked, err := j.Pick(ctx, plan, Wanted{Stage: from, Kind: AtRandom, N: sought, Seed: guideSeed(g, stage)})
	if err != nil {
		return [2]Example{}, fmt.Errorf("pick positions for %s, %s: %w", g.Code, stage, err)
	}
	var all []Example
	for _, p := range picked.Starts {
		e, err := j.example(ctx, p)
		if err != nil {
			return [2]Example{}, err
		}
		all = append(all, e)
	}
	shows := slices.MaxFunc(all[1:], func(a, b Example) int { return a.tells(stage) - b.tells(stage) })
	return [2]Example{all[0], shows}, nil
}

// pickedFrom is where the positions of a stage are picked: once the pawn is a queen, in
// the queen's own plan.
func pickedFrom(code string, stage Stage) (*Plan, Stage, bool) {
	plan, ok := PlanOf(code)
	if !ok || plan.Index(stage) < 0 {
		return nil, stage, false
	}
	if plan.Pawn && stage == Mate {
		queen, _ := PlanOf(queening)
		return queen, queen.Steps[0].Stage, true
	}
	return plan, stage, true
}

// guideSeed follows from the names, so that another stage changes nothing of this one.
// Of the seeds for draws that are held the one that begins with 5 was chosen by eye.
func guideSeed(g Guide, stage Stage) int64 {
	begins := "guide"
	if g.Hold {
		begins = "5"
	}
	h := fnv.New32a()
	_, _ = fmt.Fprintf(h, "%s %s %t %s", begins, g.Code, g.Hold, stage) // never fails
	return int64(h.Sum32())
}

// example looks at a won position with the attacker to move.
func (j *Judge) example(ctx context.Context, p board.Position) (Example, error) {
	best, ok, err := j.Best(ctx, p)
	if err != nil || !ok {
		return Example{}, fmt.Errorf("no winning move in %s: %w", p.FEN(), err)
	}
	v, err := j.Judge(ctx, p, best.Move, 0)
	if err != nil {
		return Example{}, err
	}
	e := Example{Position: p, Best: best.Move, MateIn: v.Before.MateIn(),
		front: v.Before.Plan.Pawn && v.Before.Stage == 0 && v.After.Stage > 0}
	if e.next, err = j.nextBest(ctx, p, best); err != nil {
		return e, err
	}
	if e.facts, err = j.Facts(ctx, Situation{Before: p, Move: best.Move, Verdict: v}); err != nil {
		return e, err
	}
	switch {
	case v.Before.Plan.Pawn:
		e.escort = e.escorts()
	case v.Before.Plan.Pen:
		if pen := Pen(p, 1-p.Turn()); len(pen) <= OpenPen {
			e.Pen = pen
		}
	default:
		err = j.gapsOf(ctx, &e, v.Before)
	}
	return e, err
}

// nextBest is how many moves are lost by the best move but one.
func (j *Judge) nextBest(ctx context.Context, p board.Position, best Option) (int, error) {
	options, err := j.Options(ctx, p)
	least := noOther
	for _, o := range options {
		if !o.Wins() || o.Move == best.Move {
			continue
		}
		if cost := (o.After.Plies - best.After.Plies) / 2; least == noOther || cost < least {
			least = cost
		}
	}
	return least, err
}

// gapsOf finds the gaps before the best move, and how many it leaves.
func (j *Judge) gapsOf(ctx context.Context, e *Example, l Look) (err error) {
	if e.Gaps, err = j.gaps(ctx, e.Position, l.Plan, l.Stage); err != nil {
		return err
	}
	left, err := j.waysOut(ctx, e.Position.Play(e.Best), l.Plan.barred(l.Stage), l.Stage > 0)
	e.left = len(left)
	return err
}

// escorts says what the best move of a pawn's ending does for the pawn: the king guards
// the square where it goes next, or it takes a step itself.
func (e Example) escorts() string {
	after := e.Position.Play(e.Best)
	pawn := theMan(after, board.Pawn)
	if !after.At(pawn).There || after.At(pawn).Kind != board.Pawn {
		return ""
	}
	step := 8
	if e.Position.Turn() == board.Black {
		step = -8
	}
	next, color := board.Square(int(pawn)+step), e.Position.Turn()
	switch {
	case !e.walks():
		left := 7 - pawn.Rank()
		if color == board.Black {
			left = pawn.Rank()
		}
		return fmt.Sprintf(": %s to the last row", game.Count(left, "step"))
	case after.Covers(color, next) && !e.Position.Covers(color, next):
		return fmt.Sprintf(" guards %s, where the pawn goes next", next)
	}
	return ""
}

// tells says how much the best move shows of what a stage wants.
func (e Example) tells(stage Stage) int {
	f := e.facts
	switch {
	case stage == Mate && f.Waited && e.Pen != nil, e.front && e.walks():
		return 4
	case f.Least && e.Pen != nil, len(e.Gaps) > 0 && e.left == 0, e.escort != "" && e.walks():
		return 3
	case f.Closed > 0, len(e.Gaps) > e.left:
		return 2
	case e.Pen != nil, f.Waited, e.escort != "":
		return 1
	}
	return 0
}

// walks says whether the best move is the king's.
func (e Example) walks() bool { return e.Position.At(e.Best.From).Kind == board.King }

// holdExamples are two positions in which a draw is held; in the second one move alone
// does.
func (j *Judge) holdExamples(ctx context.Context, g Guide) (out [2]Example, err error) {
	h, ok := HoldOf(g.Code)
	if !ok {
		return out, fmt.Errorf("no draw is held in %s", g.Code)
	}
	for i, kind := range []string{AtRandom, OnlyMove} {
		picked, err := j.HoldStarts(ctx, h, Wanted{Kind: kind, N: soughtHolds, Seed: guideSeed(g, HoldStage)})
		if err != nil {
			return out, fmt.Errorf("pick positions for holding %s: %w", g.Code, err)
		}
		var all []Example
		for _, p := range picked.Starts {
			if i > 0 && p.FEN() == out[0].Position.FEN() {
				continue
			}
			e, err := j.holdExample(ctx, p)
			if err != nil {
				return out, err
			}
			all = append(all, e)
		}
		out[i] = slices.MaxFunc(all, func(a, b Example) int { return a.holds(i > 0) - b.holds(i > 0) })
	}
	return out, nil
}

// soughtHolds is sought for a draw that is held.
const soughtHolds = 16

// holds says how well an example shows a draw that is held: in the first by more moves
// than one, in the second by a quiet move, best by the king.
func (e Example) holds(alone bool) int {
	switch {
	case !alone && e.holding > 1:
		return 1
	case !alone || e.Best.Capture || e.Best.Promotion != board.King:
		return 0
	case e.walks():
		return 2
	}
	return 1
}

func (j *Judge) holdExample(ctx context.Context, p board.Position) (Example, error) {
	firm, ok, err := j.Firmest(ctx, p, 0)
	if err != nil || !ok {
		return Example{}, fmt.Errorf("no move holds in %s: %w", p.FEN(), err)
	}
	keeps, err := j.HoldingMoves(ctx, p)
	if err != nil {
		return Example{}, err
	}
	e := Example{Position: p, Best: firm, hold: true, holding: len(keeps), moves: len(p.Moves())}
	if e.holding == 1 {
		e.loses, err = j.losing(ctx, p, firm)
	}
	return e, err
}

// losing says what he does after a move that does not hold.
func (j *Judge) losing(ctx context.Context, p board.Position, firm board.Move) (string, error) {
	for _, m := range p.Moves() {
		if m == firm {
			continue
		}
		v, err := j.JudgeHold(ctx, p, m)
		if err != nil {
			return "", err
		}
		f, err := j.HoldFacts(ctx, HoldSituation{Before: p, Move: m, Verdict: v})
		if err != nil {
			return "", err
		}
		if f.Winner != "" {
			return fmt.Sprintf("After %s comes %s, mate in %d.", p.SAN(m), f.Winner, f.MateIn), nil
		}
	}
	return "", nil
}
