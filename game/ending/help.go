package ending

import (
	"context"

	"drover/game/board"
)

// Help is how much a student is told, in steps.
type Help int

// The steps of help. The aim is always shown and costs nothing.
const (
	HelpAim   Help = iota // what this stage is for
	HelpWish              // where the king wants to go
	HelpCover             // which squares are covered, by which man, and his pen or the gaps
	HelpMan               // which man is to move
	HelpMove              // the best move
)

// Covered is the squares that one of the attacker's men covers.
type Covered struct {
	Man     board.Kind
	At      board.Square
	Squares []board.Square
}

// Gap is a square through which the lone king gets out if the turn passed.
type Gap struct{ From, To board.Square }

// Hint is what a step of help shows. A field that does not belong to the step
// is empty.
type Hint struct {
	Step         Help
	Wish         *board.Square
	Cover        []Covered
	Pen          []board.Square // his own square first; nil where the plan shows gaps
	Gaps         []Gap
	Man          *board.Square
	Move         *board.Move
	Next         *board.Move  // in a hold drill: what he plays after the firmest move
	HoldingMoves []board.Move // in a hold drill: the moves that hold
}

// Hint computes a step of help for a position in which the attacker is to
// move, in the sticking stage given, against a defender.
func (j *Judge) Hint(ctx context.Context, p board.Position, step Help, stage int, defender string,
	seed int64) (Hint, error) {
	h := Hint{Step: step}
	switch step {
	case HelpWish:
		return h, j.wish(ctx, &h, p, defender, seed)
	case HelpCover:
		return h, j.cover(ctx, &h, p, stage)
	case HelpMan, HelpMove:
		best, ok, err := j.Best(ctx, p)
		if err != nil || !ok {
			return h, err
		}
		if step == HelpMove {
			h.Move = &best.Move
		} else {
			h.Man = &best.Move.From
		}
	case HelpAim:
	}
	return h, nil
}

// wish is the square that the defender would step to if the turn passed.
func (j *Judge) wish(ctx context.Context, h *Hint, p board.Position, defender string, seed int64) error {
	passed, ok := p.Pass()
	if !ok || len(passed.Moves()) == 0 {
		return nil
	}
	m, err := j.Reply(ctx, passed, defender, seed)
	if err == nil {
		h.Wish = &m.To
	}
	return err
}

func (j *Judge) cover(ctx context.Context, h *Hint, p board.Position, stage int) error {
	attacker, lone := p.Turn(), 1-p.Turn()
	for sq := board.Square(0); sq < 64; sq++ {
		if m := p.At(sq); m.There && m.Color == attacker {
			h.Cover = append(h.Cover, Covered{Man: m.Kind, At: sq, Squares: p.CoveredFrom(sq)})
		}
	}
	l, err := j.Look(ctx, p)
	if err != nil || l.Plan == nil || l.Plan.Pawn {
		return err
	}
	if l.Plan.Pen {
		h.Pen = Pen(p, lone)
		return nil
	}
	h.Gaps, err = j.gaps(ctx, p, l.Plan, stage)
	return err
}

// gaps are the steps by which the king would no longer be shut out if the turn
// passed; in the first stage, the steps into the centre.
func (j *Judge) gaps(ctx context.Context, p board.Position, plan *Plan, stage int) ([]Gap, error) {
	region := plan.barred(stage)
	passed, ok := p.Pass()
	if !ok {
		return nil, nil
	}
	return j.waysOut(ctx, passed, region, stage > 0)
}

// barred is the region that he is kept from in a stage: the one that opened it, in the
// first stage the one that it is to shut him out of.
func (p *Plan) barred(stage int) int { return p.Steps[max(stage-1, 0)].Region }

// waysOut are the steps of the king who is to move by which he reaches a region's
// squares; where he is to be kept out of it, also those after which he is no longer
// shut out.
func (j *Judge) waysOut(ctx context.Context, p board.Position, region int, keep bool) ([]Gap, error) {
	sp, err := toSolver(p)
	if err != nil {
		return nil, err
	}
	var gaps []Gap
	for _, m := range p.Moves() {
		out := onRegion(m.To, region)
		if keep && !out && !m.Capture {
			held, err := j.tables.Held(ctx, sp.Play(toSolverMove(m)))
			if err != nil {
				return nil, err
			}
			out = !held[region-1]
		}
		if out {
			gaps = append(gaps, Gap{m.From, m.To})
		}
	}
	return gaps, nil
}
