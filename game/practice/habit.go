package practice

import (
	"context"
	"slices"

	"drover/game/board"
	"drover/game/ending"
)

// Habit is a way of going wrong that is not bound to a stage.
type Habit string

// The habits. Each has its moves: a position that has one of them gives the habit its
// chance, and it strikes where one is played.
const (
	Stalemates  Habit = "stalemate"    // a move that stalemates
	Hanging     Habit = "men hanging"  // a move that loses a man and the win
	Checks      Habit = "checks"       // a check that keeps the win and costs 1 or more
	KingHome    Habit = "king at home" // another man's move that keeps the win and costs 1 or more
	WrongCorner Habit = "wrong corner" // any move, while he is near a corner of the other colour
	Shuffling   Habit = "no nearer"    // a move of cost exactly 1: it keeps the win and comes no nearer to mate
	Hurry       Habit = "hurry"        // any move, while little is left on the clock
)

// Habits lists the habits; a copy.
func Habits() []Habit {
	return []Habit{Stalemates, Hanging, Checks, KingHome, WrongCorner, Shuffling, Hurry}
}

// Tally is how often a habit had its chance and how often it struck, as a page says it:
// of 'king at home' in the positions where a best move was the king's; at the wrong
// corner and in a hurry, where every move is one of the habit's, it struck with the moves
// that cost 2 or more or lost the win.
type Tally struct {
	N       int     `json:"n"`
	K       int     `json:"k"`
	Of      int     `json:"of"` // positions in which the habit had a move of its own
	Weights Weights `json:"w"`  // its own moves in them, against what was possible
	Drawn   Offered `json:"d"`  // and how much of a careless eye's look they draw, by class, in thousandths
}

// Add adds up tallies.
func (t Tally) Add(o Tally) Tally {
	return Tally{t.N + o.N, t.K + o.K, t.Of + o.Of, t.Weights.Add(o.Weights), t.Drawn.Add(o.Drawn)}
}

// Habitual counts a student's habits in a game or a stage; it has those that had a chance.
type Habitual map[Habit]Tally

// Add adds up two counts.
func (h Habitual) Add(o Habitual) Habitual {
	sum := Habitual{}
	for _, one := range []Habitual{h, o} {
		for habit, t := range one {
			sum[habit] = sum[habit].Add(t)
		}
	}
	return sum
}

// countStages gives the weights and habits of each stage of a game, over all its own moves,
// those taken back too; a move made after the best was shown is left out.
func countStages(ctx context.Context, j *ending.Judge, s State) (counter, error) {
	c := counter{weights: map[ending.Stage]Weights{}, habits: map[ending.Stage]Habitual{}}
	now, err := Begin(s.Setup)
	if err != nil {
		return counter{}, err
	}
	shown := false
	for _, a := range s.Acts {
		if a.Kind == Move && !shown {
			options, err := j.Options(ctx, now.Pos)
			if err != nil {
				return counter{}, err
			}
			c.move(now, a, options)
		}
		shown = a.Kind == Help && a.Help >= ending.HelpMan || shown && a.Kind != Move
		if now, err = now.Fold(a); err != nil {
			return counter{}, err
		}
	}
	return c, nil
}

type counter struct {
	weights map[ending.Stage]Weights
	habits  map[ending.Stage]Habitual
}

func (c *counter) move(s State, a Act, options []ending.Option) {
	m, err := s.Pos.Find(a.Move)
	if err != nil {
		return // Fold will say it
	}
	moves := classify(s.Pos, options, m)
	c.weights[a.Stage] = c.weights[a.Stage].Add(weightsOf(moves, everyMove))
	here := c.habits[a.Stage]
	if here == nil {
		here = Habitual{}
		c.habits[a.Stage] = here
	}
	for _, h := range habitMoves {
		if t := tallyOf(h, s, moves); t.Of > 0 {
			here[h.habit] = here[h.habit].Add(t)
		}
	}
}

// habitOf says which positions give a habit its chance and which moves are its own;
// in which of these positions a page counts it, and from which class on it has struck.
type habitOf struct {
	habit  Habit
	chance func(s State) bool
	own    func(m legal) bool
	told   func(moves []legal) bool
	struck int
}

func anywhere(State) bool  { return true }
func everyMove(legal) bool { return true }
func always([]legal) bool  { return true }

// habitMoves are data: a habit is added here.
var habitMoves = []habitOf{
	{Stalemates, anywhere, func(m legal) bool { return m.stalemate }, always, 0},
	{Hanging, anywhere, func(m legal) bool { return m.class == Classes-1 && !m.stalemate }, always, 0},
	{Checks, anywhere, func(m legal) bool { return m.check && m.costs() }, always, 0},
	{KingHome, anywhere, func(m legal) bool { return m.man != board.King && m.costs() }, kingIsBest, 0},
	{WrongCorner, nearWrongCorner, everyMove, always, 2},
	{Shuffling, anywhere, func(m legal) bool { return m.class == 1 }, always, 0},
	{Hurry, hurried, everyMove, always, 2},
}

// tallyOf is what one move adds to a habit.
func tallyOf(h habitOf, s State, moves []legal) Tally {
	if !h.chance(s) || !slices.ContainsFunc(moves, h.own) {
		return Tally{}
	}
	t := Tally{Of: 1, Weights: weightsOf(moves, h.own), Drawn: drawn(moves, h.own)}
	if !h.told(moves) {
		return t
	}
	t.N = 1
	if sum(t.Weights.Made[h.struck:]) > 0 {
		t.K = 1
	}
	return t
}

func kingIsBest(moves []legal) bool {
	return slices.ContainsFunc(moves, func(m legal) bool { return m.class == 0 && m.man == board.King })
}

// hurried says whether less than a third of the clock is left.
func hurried(s State) bool { return s.Clock > 0 && 3*s.TimeLeft() < 1000*s.Clock }

// nearWrongCorner says whether the lone king stands on the outer two rows, within
// three steps of a corner in which mate cannot be forced and nearer to it than to one
// in which it can.
func nearWrongCorner(s State) bool {
	p := s.Pos
	king := p.King(1 - p.Turn())
	rim := min(king.File(), 7-king.File(), king.Rank(), 7-king.Rank())
	wrong, right := ending.CornerSteps(p)
	return rim <= 1 && wrong <= 3 && wrong < right && right < 8
}
