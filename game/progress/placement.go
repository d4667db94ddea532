package progress

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
)

// Placement is a newcomer's starting check.
type Placement struct {
	ID    int64
	Begun time.Time
	Ended *time.Time
	Tasks []PlacementTask
}

// PlacementTask is one of its tasks, with what came of it.
type PlacementTask struct {
	PickedTask
	Game   game.GameID // that it is played in, 0: none yet, or none under way
	Passed *bool       // nil: not answered yet
	Took   int         // seconds
}

// Passed lists what came of the tasks.
func (p Placement) Passed() []*bool {
	out := make([]*bool, len(p.Tasks))
	for i, t := range p.Tasks {
		out[i] = t.Passed
	}
	return out
}

// Next is the index of the first task that is not answered; -1 where the check
// is over.
func (p Placement) Next() int {
	for i, t := range p.Tasks {
		if t.Passed == nil && p.Ended == nil {
			return i
		}
	}
	return -1
}

// PickedTask is one task of the starting check as it was picked: a mate to give on
// the board from near the end, or a question about a position.
type PickedTask struct {
	Code   string // "one", "question", or the ending
	Ask    string // what the child reads
	Ending string
	Target ending.Stage // the stage whose end solves it; empty for the question
	Budget int          // own moves
	FEN    string
}

// Question is the code of the task that is answered in words, inOne that of the mate
// in one move.
const (
	Question = "question"
	inOne    = "one"
)

// The answers to the question, as posted.
const (
	IsStalemate = "stalemate"
	IsMate      = "mate"
	IsNeither   = "neither"
)

// The starting check ends at the second miss, or after ten minutes of thought.
const (
	placementMisses  = 2
	PlacementSeconds = 10 * 60
)

// placementRow is a row of the starting check: how near the end it begins and
// how many moves more than the fewest may be used.
type placementRow struct {
	code, ask, ending string
	stage             ending.Stage
	least, most       int // fewest moves to the end
	spare             int
}

// placementRows are data, in the order in which they are asked (teaching 2).
var placementRows = []placementRow{
	{inOne, "Give mate in one move.", "KQK", ending.Mate, 2, 2, 0},
	{Question, "It is his turn. Is it mate, stalemate or neither?", "KQK", ending.Mate, 2, 3, 0},
	{"KRRK", "Give mate with the two rooks.", "KRRK", ending.Mate, 2, 3, 4},
	{"KQK", "Give mate with the queen.", "KQK", ending.Mate, 3, 4, 4},
	{"KRK", "Give mate with the rook.", "KRK", ending.Mate, 4, 6, 5},
	{"KPK", "Bring your pawn to the last row.", "KPK", ending.Escort, 0, 0, 12},
}

// PlacementCount is the number of tasks.
func PlacementCount() int { return len(placementRows) }

// AskAt is what a child reads of a task, counted from 0; empty where there is no
// such task.
func AskAt(i int) string {
	if i < 0 || i >= len(placementRows) {
		return ""
	}
	return placementRows[i].ask
}

// Starts of a row are looked at for a fitting one, so many at a time.
const looked, rounds = 20, 1000

// PickPlacement picks the tasks of a starting check. The same seed picks the
// same tasks; each is checked with the tables.
func PickPlacement(ctx context.Context, j *ending.Judge, seed int64) ([]PickedTask, error) {
	out := make([]PickedTask, len(placementRows))
	for i, row := range placementRows {
		t := PickedTask{Code: row.code, Ask: row.ask, Ending: row.ending, Target: row.stage}
		p, par, err := row.pick(ctx, j, seed+int64(i))
		if err != nil {
			return nil, fmt.Errorf("task %d of the starting check: %w", i+1, err)
		}
		if t.FEN, t.Budget = p.FEN(), par+row.spare; row.code == Question {
			t.Target, t.Budget = "", 0
		}
		out[i] = t
	}
	return out, nil
}

// pick finds a position of a row, and the fewest moves that solve it; of a pawn
// they are not counted.
func (row placementRow) pick(ctx context.Context, j *ending.Judge, seed int64) (board.Position, int, error) {
	plan, ok := ending.PlanOf(row.ending)
	if !ok {
		return board.Position{}, 0, errors.New("no plan of " + row.ending)
	}
	want := []string{IsStalemate, IsMate, IsNeither}[rand.New(rand.NewPCG(uint64(seed), 6)).IntN(3)]
	for round := range int64(rounds) {
		picked, err := j.Pick(ctx, plan, ending.Wanted{Stage: row.stage, Kind: ending.AtRandom, Least: row.least,
			Most: row.most, N: looked, Seed: seed + round<<32})
		if err != nil && len(picked.Starts) == 0 {
			return board.Position{}, 0, err
		}
		for _, p := range picked.Starts {
			found, ok, err := row.fit(ctx, j, p, want)
			if err != nil {
				return found, 0, err
			}
			if ok {
				par, err := row.par(ctx, j, found)
				return found, par, err
			}
		}
	}
	return board.Position{}, 0, errors.New("no position was found for " + row.code)
}

// fit makes a task of a start, where it can be one.
func (row placementRow) fit(ctx context.Context, j *ending.Judge, p board.Position,
	want string) (found board.Position, ok bool, err error) {
	switch row.code {
	case inOne:
		return mateInOne(ctx, j, p)
	case Question:
		if found, ok, err = mateInOne(ctx, j, p); ok {
			found, ok = asked(found, want)
		}
		return found, ok, err
	case "KPK":
		ok, err = demanding(ctx, j, p)
		return p, ok, err
	}
	return p, true, nil
}

func (row placementRow) par(ctx context.Context, j *ending.Judge, p board.Position) (int, error) {
	if row.code == Question || row.ending == "KPK" {
		return 0, nil
	}
	l, err := j.Look(ctx, p)
	return l.MateIn(), err
}

// mateInOne plays on, by both sides at their best, until one move mates.
func mateInOne(ctx context.Context, j *ending.Judge, p board.Position) (board.Position, bool, error) {
	best, ok, err := j.Best(ctx, p)
	if err != nil || !ok {
		return p, false, err
	}
	p = p.Play(best.Move)
	if len(p.Moves()) == 0 {
		return p, false, nil
	}
	reply, err := j.Reply(ctx, p, ending.HoldsOut, 1)
	if err != nil {
		return p, false, err
	}
	p = p.Play(reply)
	l, err := j.Look(ctx, p)
	return p, err == nil && l.Won() && l.MateIn() == 1, err
}

// Answer is the right answer to the question about a position in which the lone
// king is to move.
func Answer(p board.Position) string {
	switch {
	case p.Checkmate():
		return IsMate
	case p.Stalemate():
		return IsStalemate
	}
	return IsNeither
}

// asked looks for a position one move on with the answer that is wanted; where
// he can still move he has one move alone, so that it has to be found.
func asked(p board.Position, want string) (board.Position, bool) {
	for _, m := range p.Moves() {
		if q := p.Play(m); Answer(q) == want && len(q.Moves()) <= 1 && q.Count() == p.Count() {
			return q, true
		}
	}
	return p, false
}

// demanding says whether a pawn ending asks for the king first: the pawn stands
// on row 5 or 6, and its next step throws the win away.
func demanding(ctx context.Context, j *ending.Judge, p board.Position) (bool, error) {
	options, err := j.Options(ctx, p)
	for _, o := range options {
		from := o.Move.From
		if p.At(from).Kind == board.Pawn && (from.Rank() == 4 || from.Rank() == 5) && !o.Wins() {
			return true, err
		}
	}
	return false, err
}

// PlacementOver says whether a starting check has ended: everything is answered, two
// tasks were missed, or the time is up. passed has one entry per task, nil
// while the task is not answered.
func PlacementOver(passed []*bool, seconds int) bool {
	misses, answered := 0, 0
	for _, p := range passed {
		if p == nil {
			continue
		}
		if answered++; !*p {
			misses++
		}
	}
	return misses >= placementMisses || answered == len(passed) || answered > 0 && seconds >= PlacementSeconds
}

// PlacementResult is where the starting check sorts a newcomer into the ladder.
type PlacementResult struct {
	First Key    // where practice begins
	Why   string // one sentence, for a coach
}

// rung is one step of the sorting: the tasks that show that an ending's finish
// is known.
type rung struct {
	ending string
	tasks  []int // indexes into placementRows
}

// rungs are data, in the order of the ladder.
var rungs = []rung{{"KRRK", []int{0, 2}}, {"KQK", []int{1, 3}}, {"KRK", []int{4}}}

// PlacementResultOf sorts a newcomer: practice begins with the finish of the first
// ending whose tasks were missed or not reached; who has found all mates begins with
// the whole of the rook, and who has brought the pawn home too with two bishops.
func PlacementResultOf(passed []*bool) PlacementResult {
	found := func(i int) bool { return i < len(passed) && passed[i] != nil && *passed[i] }
	known := ""
	for i, r := range rungs {
		plan, ok := ending.PlanOf(r.ending)
		if !ok {
			continue
		}
		for _, t := range r.tasks {
			if !found(t) {
				why := "In the starting check the first mates were not found yet"
				if known != "" {
					why = "In the starting check mate was found with " + known
				}
				return PlacementResult{Key{r.ending, plan.Steps[plan.Last()].Stage},
					fmt.Sprintf("%s; the finish with %s comes first.", why, theMen(r.ending))}
			}
		}
		if i > 0 {
			known += " and "
		}
		known += theMen(r.ending)
	}
	if !found(len(placementRows) - 1) {
		return PlacementResult{Key{"KRK", ending.Centralise},
			"In the starting check every mate was found; the whole rook ending comes first."}
	}
	return PlacementResult{Key{"KBBK", ending.Corner},
		"In the starting check everything was found; the finish with two bishops comes first."}
}

// theMen names an ending's men in a sentence.
func theMen(code string) string {
	if code == "KRRK" || code == "KBBK" {
		return game.Lower(ending.NameOf(code))
	}
	return "the " + game.Lower(ending.NameOf(code))
}
