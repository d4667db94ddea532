package coach

import (
	"context"
	"fmt"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/web/site"
)

// How many searches for starts run at once on a node, and how many more wait. A
// search takes half a second of a core at the most.
const (
	searchesAtOnce  = 2
	searchesWaiting = 6
)

// retryAfter is how many seconds somebody waits for whom there was no place left.
const retryAfter = "5"

// searchCrowd is what is told for whom there is no place.
const searchCrowd = "Many starts are being picked just now. What you typed is still here: wait a few seconds, then try once more."

// built is a drill that was made of a form, or why it was not; its starts may be
// there all the same.
type built struct {
	drill   club.Drill
	looked  int // positions of the stage
	longest int // own moves of the longest start, where the starts are known
	err     error
}

// build makes a drill of a form: checks it and picks its starts.
func (s Pages) build(ctx context.Context, f drillForm) built {
	d, w, err := s.read(f)
	if err != nil {
		return built{drill: d, err: err}
	}
	picked, err := s.starts(ctx, d, w, f)
	for _, p := range picked.Starts {
		d.Starts = append(d.Starts, p.FEN())
	}
	d.Rule.Pass(f.Pass, len(d.Starts))
	longest := 0
	if err == nil {
		var asked []club.Asked
		if asked, err = progress.AskedOf(ctx, s.Judge, d); err == nil {
			err = d.Fits(asked)
		}
		for _, a := range asked {
			longest = max(longest, a.Moves)
		}
	}
	return built{d, picked.Looked, longest, err}
}

// read makes a drill without starts of a form, and says which starts it wants.
func (s Pages) read(f drillForm) (d club.Drill, w ending.Wanted, err error) {
	n := numbers{club.Problems{}}
	d = club.Drill{
		Name: f.Name, Ending: f.Ending, Mode: practice.Mode(f.Mode), From: ending.Stage(f.From), To: ending.Stage(f.To),
		Defender: f.Defender,
		Rule: club.Rule{
			Allowance: n.read("allowance", f.Allowance), Backs: n.read("backs", f.Backs), Budget: n.read("budget", f.Budget),
			Clock: 60 * n.read("clock", f.Clock), Increment: n.read("increment", f.Increment), Help: f.Help,
		},
		Kind: f.Kind,
	}
	if code, ok := f.hold(); ok {
		d.Ending, d.Hold = code, true
	}
	if d.Mode == practice.Test {
		d.Rule.Help, d.Rule.Backs = nil, 0 // a test gives none
	}
	w = ending.Wanted{Stage: d.From, To: d.To, Kind: f.Kind, N: n.read("count", f.Count), Least: n.read("par", f.Least),
		Most: n.read("par", f.Most)}
	if w.Seed, err = strconv.ParseInt(f.Seed, 10, 64); err != nil {
		n.bad["count"] = "Pick the starts again."
	}
	if f.Kind != pasted && (w.N < 1 || w.N > club.MaxStarts) {
		n.bad["count"] = fmt.Sprintf("Choose from 1 to %d starts.", club.MaxStarts)
	}
	if w.Most > 0 && w.Least > w.Most {
		n.bad["par"] = "The first number is the smaller one."
	}
	found, err := site.Problems(d.Validate())
	for field, say := range found {
		n.bad[field] = say
	}
	if err != nil {
		return d, w, err
	}
	return d, w, n.bad.Err()
}

// starts picks a drill's starts, or reads those that were pasted.
func (s Pages) starts(ctx context.Context, d club.Drill, w ending.Wanted, f drillForm) (ending.Picked, error) {
	var picked ending.Picked
	var err error
	if f.Kind == pasted {
		picked.Starts, err = s.paste(ctx, d, f.FENs)
		return picked, err
	}
	leave, err := s.Searches.Enter(ctx)
	if err != nil {
		return picked, err
	}
	defer leave()
	picked, err = d.Task().Pick(ctx, s.Judge, d.Ending, w)
	if game.KindOf(err) == game.Bad {
		return picked, club.Problems{"count": game.Saying(err)}.Err()
	}
	return picked, err
}
