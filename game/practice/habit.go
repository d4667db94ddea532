package practice

import (
	"context"

	"drover/game/board"
	"drover/game/ending"
)

// Habit is a way of going wrong that can be counted in a game.
type Habit string

// The habits, and two counts that they are held against.
const (
	Stalemates  Habit = "stalemate"    // n: moves where one would stalemate; k: stalemates
	Hanging     Habit = "men hanging"  // n: moves where one would lose a man and the win; k: done
	Checks      Habit = "checks"       // n: a winning check, no mate, was there; k: a check of cost 1 or more, stage not raised
	KingHome    Habit = "king at home" // n: moves where a best move is the king's; k: another man moved, cost 1 or more
	WrongCorner Habit = "wrong corner" // n: he is near a corner of the other colour; k: cost 2 or more, or no nearer
	Elsewhere   Habit = "elsewhere"    // the same count away from that corner
	Shuffling   Habit = "no nearer"    // n: own moves; k: cost exactly 1 at a 'no nearer' count of 4 or more
	Costly      Habit = "costly"       // n: own moves; k: cost 2 or more, or the win lost (not by the fifty-move rule)
)

// Tally is how often a habit had its chance (N) and was given in to (K).
type Tally struct {
	N int `json:"n"`
	K int `json:"k"`
}

func (t *Tally) add(chance, done bool) {
	if chance {
		t.N++
		if done {
			t.K++
		}
	}
}

// Habits counts the habits of a game over all its own moves, those taken back
// too; a move made after the best was shown is left out.
func Habits(ctx context.Context, j *ending.Judge, s State) (map[Habit]Tally, error) {
	c, err := count(ctx, j, s)
	return c.habits(), err
}

// count goes through a game's own moves for its habits and weights.
func count(ctx context.Context, j *ending.Judge, s State) (counter, error) {
	c := counter{tallies: map[Habit]*Tally{}, weights: map[ending.Stage]Weights{}}
	for _, h := range []Habit{Stalemates, Hanging, Checks, KingHome, WrongCorner, Elsewhere, Shuffling, Costly} {
		c.tallies[h] = &Tally{}
	}
	now, err := Begin(s.Setup)
	if err != nil {
		return counter{}, err
	}
	shown := false
	for i, a := range s.Acts {
		if a.Kind == Move && !shown {
			options, err := j.Options(ctx, now.Pos)
			if err != nil {
				return counter{}, err
			}
			c.move(now, a, options, raised(s, i))
		}
		shown = a.Kind == Help && a.Help >= ending.HelpMan || shown && a.Kind != Move
		if now, err = now.Fold(a); err != nil {
			return counter{}, err
		}
	}
	return c, nil
}

// habits are the tallies of those that had a chance.
func (c counter) habits() map[Habit]Tally {
	out := map[Habit]Tally{}
	for h, t := range c.tallies {
		if t.N > 0 {
			out[h] = *t
		}
	}
	return out
}

// raised says whether the stage had gone up by the next own move.
func raised(s State, i int) bool {
	for _, next := range s.Acts[i+1:] {
		if next.Kind == Move {
			return order(s, next.Stage) > order(s, s.Acts[i].Stage)
		}
	}
	return s.Success()
}

type counter struct {
	tallies map[Habit]*Tally
	weights map[ending.Stage]Weights
	nearer  Nearer
}

func (c *counter) move(s State, a Act, options []ending.Option, raised bool) {
	m, err := s.Pos.Find(a.Move)
	if err != nil {
		return // Fold will say it
	}
	c.nearer.Add(a)
	c.weights[a.Stage] = c.weights[a.Stage].Add(weightsOf(options, m))
	bad := a.Cost >= 2 || a.Grade == ending.WinGone
	o := weigh(s.Pos, options, m)
	c.tallies[Stalemates].add(o.stalemates, o.stalemated)
	c.tallies[Hanging].add(o.losing, a.Grade == ending.WinGone && o.lost)
	c.tallies[Checks].add(o.checks, m.Check && a.Cost >= 1 && a.Grade != ending.WinGone && !raised)
	c.tallies[KingHome].add(o.king, s.Pos.At(m.From).Kind != board.King && (a.Cost >= 1 || a.Grade == ending.WinGone))
	c.tallies[Shuffling].add(true, c.nearer.Count >= 4 && a.Cost == 1)
	c.tallies[Costly].add(true, a.Cost >= 2 || o.stalemated || o.lost)
	if near, ok := nearWrongCorner(s.Pos); ok {
		where := c.tallies[Elsewhere]
		if near {
			where = c.tallies[WrongCorner]
		}
		where.add(true, bad || c.nearer.Count >= 4 && a.Cost >= 1)
	}
}

// chances is what a position offered, and what the move made of it.
type chances struct {
	stalemates, losing, checks, king bool
	stalemated, lost                 bool
}

func weigh(p board.Position, options []ending.Option, played board.Move) chances {
	c := chances{}
	best := -1
	for _, o := range options {
		if o.Wins() && (best < 0 || o.After.Plies < best) {
			best = o.After.Plies
		}
	}
	for _, o := range options {
		won := o.Wins()
		stale := !won && p.Play(o.Move).Stalemate()
		c.stalemates = c.stalemates || stale
		c.losing = c.losing || !won && !stale
		c.checks = c.checks || won && o.Move.Check && o.After.Plies > 0
		c.king = c.king || won && o.After.Plies == best && p.At(o.Move.From).Kind == board.King
		if o.Move.UCI() == played.UCI() {
			c.stalemated, c.lost = stale, !won && !stale
		}
	}
	return c
}

// nearWrongCorner says whether the lone king stands on the outer two rows,
// within three steps of a corner in which mate cannot be forced and nearer to
// it than to one in which it can; ok is false where all corners are alike.
func nearWrongCorner(p board.Position) (near, ok bool) {
	king := p.King(1 - p.Turn())
	rim := min(king.File(), 7-king.File(), king.Rank(), 7-king.Rank())
	wrong, right := ending.CornerSteps(p)
	return rim <= 1 && wrong <= 3 && wrong < right, right < 8
}
