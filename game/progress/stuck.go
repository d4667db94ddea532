package progress

import (
	"context"
	"fmt"
	"hash/fnv"
	"strconv"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// Try is one ended try of an assignment; a game that was left is no try.
type Try struct {
	Day   Day // on which it ended, in the club's zone
	Start int // of the drill, from 0
	Won   bool
	Part  bool // the last part, played in place of a next try
	Game  game.GameID
}

// Offer says what comes when a student asks for the next try of an assignment.
type Offer int

// The offers.
const (
	NextTry     Offer = iota // a start of the drill
	LastPart                 // half of the last start, one stage later
	EnoughToday              // for today; the assignment is there tomorrow
)

// The rule for who is stuck, and when a day's practice is enough (teaching 2).
const (
	stuckAfter  = 3       // tries in a row that were not won
	triesADay   = 5       // of one assignment
	secondsADay = 20 * 60 // of play in all
)

// NextOffer applies the rule to the tries of one assignment, the oldest first,
// and to the seconds of play of the day. A test of five that was begun today may
// be finished, also where the last part was played in between.
func NextOffer(tries []Try, today Day, seconds int, test bool) Offer {
	todays, lost := 0, 0
	for _, t := range tries {
		if t.Day == today && !(test && t.Part) {
			todays++
		}
		if lost++; t.Won || t.Part {
			lost = 0
		}
	}
	switch {
	case todays >= triesADay, PlayedEnough(seconds) && (!test || todays == 0):
		return EnoughToday
	case lost >= stuckAfter:
		return LastPart
	}
	return NextTry
}

// PlayedEnough says whether a day's seconds of play are enough.
func PlayedEnough(seconds int) bool { return seconds >= secondsADay }

// Stuck says how many of the last tries in a row were not won, and whether they
// are three or more. A last part that was played in place of a try changes
// nothing.
func Stuck(tries []Try) (lost int, ok bool) {
	for _, t := range tries {
		switch {
		case t.Part:
		case t.Won:
			lost = 0
		default:
			lost++
		}
	}
	return lost, lost >= stuckAfter
}

// Part is a game that is begun in place of a next try.
type Part struct {
	club.Assignment // with the drill as this game has it
	Start           string
}

// LastPartOf is the last part of the start that was tried last. In place of a test it
// is practice. ok is false where there is none, as for a drill without stages.
func LastPartOf(ctx context.Context, j *ending.Judge, t TaskTries) (part Part, ok bool, err error) {
	last := t.Tries[len(t.Tries)-1].Start
	if last < 0 || last >= len(t.Drill.Starts) {
		return part, false, nil
	}
	start, err := board.ParseFEN(t.Drill.Starts[last])
	if err != nil {
		return part, false, fmt.Errorf("start %d of drill %d: %w", last, t.Drill.ID, err)
	}
	h := fnv.New64a()
	_, _ = h.Write([]byte(start.FEN() + strconv.Itoa(len(t.Tries)))) // a hash takes anything
	p, from, ok, err := PartOf(ctx, j, Key{t.Drill.Ending, t.Drill.From}, t.Drill.To, start, int64(h.Sum64()))
	if err != nil || !ok {
		return part, false, err
	}
	part = Part{t.Assignment, p.FEN()}
	if part.Drill.From = from; part.Drill.Mode == practice.Test {
		part.Drill.Mode, part.Drill.Rule = practice.Practice, club.RuleOf(practice.Practice)
	}
	part.Drill.Rule.Budget = 0
	return part, true, nil
}

// PartOf picks the last part of a start: one stage later, where the drill has a
// later one, and with half the par or less. ok is false where there is none.
func PartOf(ctx context.Context, j *ending.Judge, k Key, to ending.Stage, start board.Position,
	seed int64) (p board.Position, from ending.Stage, ok bool, err error) {
	plan, ok := ending.PlanOf(k.Ending)
	if !ok || plan.Index(k.Stage) < 0 || plan.Index(to) < 0 {
		return p, "", false, nil
	}
	par, err := j.ParOf(ctx, start, plan.Index(to))
	if err != nil {
		return p, "", false, err
	}
	if from = Later(k).Stage; plan.Index(from) > plan.Index(to) {
		from = k.Stage
	}
	for _, least := range []int{max(par/4, 2), 2} { // not the very last move, where there is more
		picked, err := j.Pick(ctx, plan, ending.Wanted{Stage: from, To: to, Kind: ending.AtRandom, Least: least,
			Most: max(par/2, 2), N: 1, Seed: seed})
		if err == nil {
			return picked.Starts[0], from, true, nil
		}
		if game.KindOf(err) != game.Bad {
			return p, "", false, err
		}
	}
	return p, "", false, nil
}
