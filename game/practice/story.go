package practice

import (
	"cmp"
	"slices"

	"drover/game/board"
	"drover/game/ending"
)

// Told is an own move of a game's whole story.
type Told struct {
	FullMove
	No   int  // the number of the move, from 1
	Away bool // it was taken back

	Nearer int  // the 'no nearer' count after it
	Stuck  bool // the first move of the game at which that is said
}

// Story tells all own moves in the order in which they were made, those that were
// taken back too. It fails only on a log that was tampered with.
func (s State) Story() ([]Told, error) {
	now, err := Begin(s.Setup)
	if err != nil {
		return nil, err
	}
	var story []Told
	var standing []int // indexes into story of the moves that stand
	said := false      // that a move came no nearer
	for _, a := range s.Acts {
		if now, err = now.Fold(a); err != nil {
			return nil, err
		}
		switch n := len(now.Line); {
		case a.Kind == Move:
			standing = append(standing, len(story))
			told := Told{FullMove: now.Line[n-1], No: n}
			told.Nearer = now.NoNearer()
			told.Stuck = !said && ShownGrade(a.Grade, told.Nearer) == StuckGrade
			said = said || told.Stuck
			story = append(story, told)
		case a.Kind == Back:
			story[standing[n]].Away = true
			standing = standing[:n]
		case a.Reply != "":
			story[len(story)-1].FullMove = now.Line[n-1]
		}
	}
	return story, nil
}

// fewLooks is how many moves a child of the shorter wording looks at once more.
const fewLooks = 2

// Fewest are the few things of a list that weigh most, in their own order; weigh says how much
// one weighs, and whether it may be among them.
func Fewest[T any](all []T, weigh func(T) (weight int, ok bool)) []T {
	at := make([]int, 0, len(all))
	for i, one := range all {
		if _, ok := weigh(one); ok {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(a, b int) int {
		x, _ := weigh(all[a])
		y, _ := weigh(all[b])
		return cmp.Compare(y, x)
	})
	at = at[:min(fewLooks, len(at))]
	slices.Sort(at)
	out := make([]T, len(at))
	for i, n := range at {
		out[i] = all[n]
	}
	return out
}

// goneWeight is the weight of a move that took the win or the draw: more than that of any that
// only cost moves.
const goneWeight = 1000

// Weight says how dear a move was.
func (a Act) Weight() int {
	if a.Grade == ending.WinGone || a.Grade == ending.DrawGone {
		return goneWeight
	}
	return a.Cost
}

// Visit is one stay in a stage, on the line that stands.
type Visit struct {
	Stage ending.Stage
	Moves int
	Par   int  // of the stage when it began
	Lost  bool // it ended with an earlier stage
}

// Visits are the stays in stages of the line that stands, in order.
func (s State) Visits() []Visit {
	var visits []Visit
	for _, t := range s.Line {
		n := len(visits)
		if n == 0 || visits[n-1].Stage != t.Act.Stage {
			if n > 0 {
				visits[n-1].Lost = order(s, t.Act.Stage) < order(s, visits[n-1].Stage)
			}
			visits = append(visits, Visit{Stage: t.Act.Stage, Par: t.Act.Par})
			n++
		}
		visits[n-1].Moves++
	}
	return visits
}

// Partner is the coach who moved the lone king by hand, if one did.
func (s State) Partner() (name string, ok bool) {
	for _, a := range s.Acts {
		if a.Kind == Hand {
			name, ok = a.Who, true
		}
	}
	return name, ok
}

// Watching is the name of the coach who watches; empty where none does.
func (s State) Watching() string {
	if n := len(s.Lines); n > 0 {
		return s.Lines[n-1].Who
	}
	return ""
}

// leastPen is the smallest that his pen has been in the game so far; 0 where the
// men on the board have none.
func (s State) leastPen() int {
	plan, ok := ending.PlanOf(s.Ending)
	if !ok || !s.task().Staged() || !plan.Pen && (!plan.Pawn || pawnLeft(s.Pos)) {
		return 0
	}
	now := len(ending.Pen(s.Pos, 1-s.Side))
	if n := len(s.Line); n > 0 && s.Line[n-1].Pen > 0 {
		return min(now, s.Line[n-1].Pen)
	}
	return now
}

func pawnLeft(p board.Position) bool {
	for sq := board.Square(0); sq < 64; sq++ {
		if m := p.At(sq); m.There && m.Kind == board.Pawn {
			return true
		}
	}
	return false
}
