package progress

import (
	"cmp"
	"context"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// MostOpen is how many drills that a student has not done a proposal adds up to: as many as
// the student sees at once.
const MostOpen = MostItems

// SpareMoves is how many moves more than its longest start takes a drill near par allows.
const SpareMoves = 3

// How many starts a drill has that is made of a proposal, and how many a drill needs to suit
// one: the starts of a test, and enough for practice not to be learned by heart.
const (
	madeStarts  = 4
	testStarts  = 5
	leastStarts = 3
)

// Code names what is proposed, as in "KRK edge mate guided random centre": proposals with
// the same code are the same drill.
func (p Proposal) Code() string {
	parts := []string{p.Ending, string(p.From), string(p.To), string(p.Mode), p.Kind, p.Defender}
	if p.Near {
		parts = append(parts, "near")
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), " ")
}

// Suits says how well a drill does what a proposal asks for; 0: not at all. The ending, what
// is asked in it and the kind of starts are the same, and of random starts the stages and
// when the verdict shows; of starts of a kind it is the kind that trains. Among those the one
// comes first that begins where the proposal does, then the one with its defender.
func (p Proposal) Suits(d club.Drill) int {
	least := leastStarts
	if p.Mode == practice.Test {
		least = testStarts
	}
	switch {
	case d.Ending != p.Ending || d.Hold != p.Hold || cmp.Or(d.Kind, ending.AtRandom) != p.Kind,
		(d.Mode == practice.Test) != (p.Mode == practice.Test),
		d.Rule.Clock > 0 || len(d.Starts) < least || !p.Hold && nearPar(d) != p.Near,
		p.Kind == ending.AtRandom && (d.From != p.From || d.To != p.To || d.Mode != p.Mode):
		return 0
	}
	score := 1
	for i, same := range []bool{d.Defender == p.Defender, d.Mode == p.Mode, d.To == p.To, d.From == p.From} {
		if same {
			score += 1 << (i + 1)
		}
	}
	return score
}

// nearPar says whether a drill's moves are numbered near par: below what is asked of a fair
// student.
func nearPar(d club.Drill) bool {
	plan, ok := ending.PlanOf(d.Ending)
	return ok && d.Rule.Budget > 0 && d.Rule.Budget <= plan.Pass
}

// Best is the place of the drill among some that suits a proposal best, the first of equals;
// -1: none suits it.
func (p Proposal) Best(drills []club.Drill) int {
	best, most := -1, 0
	for i := range drills {
		if score := p.Suits(drills[i]); score > most {
			best, most = i, score
		}
	}
	return best
}

// ReadyFor is the ready drill that suits a proposal best, of those whose codes are not among
// some; false: none suits it.
func (p Proposal) ReadyFor(all []Ready, but map[string]bool) (Ready, bool) {
	var best Ready
	most := 0
	for _, r := range all {
		if score := p.Suits(r.Drill); score > most && !but[r.Code] {
			best, most = r, score
		}
	}
	return best, most > 0
}

// Draft is the drill that is made of a proposal, before its starts are picked.
func (p Proposal) Draft() club.Drill {
	d := club.Drill{Ending: p.Ending, Hold: p.Hold, Mode: p.Mode, From: p.From, To: p.To, Defender: p.Defender, Kind: p.Kind,
		Rule: club.RuleOf(p.Mode)}
	d.Name = d.Title()
	name, _ := d.Task().Name(d.Ending)
	for _, k := range ending.StartKinds() {
		if k.Code == p.Kind && p.Kind != ending.AtRandom {
			d.Name, d.Trains = name+": "+strings.ToLower(k.Name[:1])+k.Name[1:], k.Say
		}
	}
	switch {
	case p.Mode == practice.Test:
		d.Name = name + ": test"
	case p.Near:
		d.Name += ", few moves to spare"
	}
	return d
}

// Make makes a drill of a proposal, as the builder would. The seed follows from the code, so
// the same proposal gives the same starts everywhere.
func (p Proposal) Make(ctx context.Context, judge *ending.Judge) (club.Drill, error) {
	d, n, way := p.Draft(), madeStarts, club.PassAll
	if p.Mode == practice.Test {
		n, way = testStarts, club.PassMost
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(p.Code())) // never fails
	picked, err := d.Task().Pick(ctx, judge, d.Ending, ending.Wanted{Stage: d.From, To: d.To, Kind: d.Kind, N: n,
		Seed: int64(h.Sum32())})
	if err != nil {
		return d, fmt.Errorf("pick starts of the proposal %s: %w", p.Code(), err)
	}
	for _, start := range picked.Starts {
		d.Starts = append(d.Starts, start.FEN())
	}
	d.Rule.Pass(way, len(d.Starts))
	asked, err := AskedOf(ctx, judge, d)
	if err != nil {
		return d, err
	}
	for _, a := range asked {
		if p.Near {
			d.Rule.Budget = max(d.Rule.Budget, a.Moves+SpareMoves)
		}
	}
	if err := d.Validate(); err != nil {
		return d, fmt.Errorf("the drill of the proposal %s: %w", p.Code(), err)
	}
	if err := d.Fits(asked); err != nil {
		return d, fmt.Errorf("the drill of the proposal %s: %w", p.Code(), err)
	}
	return d, nil
}

// AskedOf is what each start of a drill asks for.
func AskedOf(ctx context.Context, judge *ending.Judge, d club.Drill) ([]club.Asked, error) {
	var all []club.Asked
	for _, fen := range d.Starts {
		p, err := board.ParseFEN(fen)
		if err != nil {
			return nil, fmt.Errorf("start %q: %w", fen, err)
		}
		start := club.Asked{Moves: practice.Setup{Budget: d.Rule.Budget}.Wanted(), Clock: p.HalfMoves()}
		if plan, ok := ending.PlanOf(d.Ending); ok && !d.Hold {
			if start.Moves, err = judge.ParOf(ctx, p, plan.Index(d.To)); err != nil {
				return nil, fmt.Errorf("par of %q: %w", fen, err)
			}
		}
		all = append(all, start)
	}
	return all, nil
}
