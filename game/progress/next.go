package progress

import (
	"cmp"
	"slices"
	"sort"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// StuckIn is an assignment in which a student is stuck: how many of the last tries in
// a row went wrong, and the drill that helps, if there is one.
type StuckIn struct {
	TaskTries
	Lost int
	Game game.GameID // the last of them
	Help *Proposal
}

// stuck lists the assignments in which the student is stuck; first is what is to be taught
// first.
func (r Record) stuck(first *First) []StuckIn {
	var out []StuckIn
	for _, t := range r.Tries {
		lost, ok := Stuck(t.Tries)
		if !ok {
			continue
		}
		at := StuckIn{TaskTries: t, Lost: lost, Game: lastLost(t.Tries)}
		if p, ok := Propose(Known{Stuck: &Key{t.Drill.Ending, t.Drill.From}, First: first}); ok {
			at.Help = &p
		}
		out = append(out, at)
	}
	return out
}

// lastLost is the game of the last try that was not won.
func lastLost(tries []Try) game.GameID {
	for _, t := range slices.Backward(tries) {
		if !t.Won && !t.Part {
			return t.Game
		}
	}
	return 0
}

// Next names the drill that comes next; ok is false where everything is mastered or
// waits for its re-check.
func (r Record) Next() (Proposal, bool) { return r.next(r.Diagnosis().First) }

func (r Record) next(first *First) (Proposal, bool) {
	known := Known{First: first, Marks: r.Marks(), Mastery: r.Mastery}
	if r.Placement != nil && r.Placement.Ended != nil {
		result := PlacementResultOf(r.Placement.Passed())
		known.Placed = &result
	}
	for _, t := range r.stuck(first) {
		known.Stuck = &Key{t.Drill.Ending, t.Drill.From}
	}
	return Propose(known)
}

// DrillFor is the drill that fits a thing to teach.
func DrillFor(f First) Proposal {
	p, _ := Propose(Known{First: &f}) // there is one for each
	return p
}

// ItemKind says what a thing to do is.
type ItemKind int

// The kinds of things to do, in the order in which a student sees them.
const (
	PlacementItem ItemKind = iota
	RecheckItem            // asks for a stage again
	TaskItem               // was set by a coach
)

// MostItems is how many things a student sees at once; the others stand behind 'more'.
const MostItems = 3

// Item is one thing to do today.
type Item struct {
	Kind ItemKind

	Key     Key     // of a re-check: what is asked for again
	Mastery Mastery // of a re-check
	Start   string  // of a re-check that is under way; empty: none is

	Task   Task  // that was set
	Offer  Offer // of a task: what comes when it is asked for
	GoesOn bool  // a game of it is under way
	Rests  bool  // it is enough for today

	Sitting *Sitting // of a test of five: what was played of it today; nil: it is none
}

// pressing is how many days before it is due a drill stands first, and overdue for how many
// days after it it still does: what was left for longer would crowd out re-checks.
const (
	pressing = 2
	overdue  = 7
)

// Items are the things to do today, in order, of which a student sees MostItems at once: what is
// due within two days, the starting check, re-checks that are due, what else was set; what rests
// until tomorrow comes last.
func (r Record) Items() []Item {
	var items, later []Item
	for _, t := range r.Tasks {
		item := r.taskItem(t)
		if t.Due != nil && DayOf(*t.Due)-r.Today() <= pressing && r.Today()-DayOf(*t.Due) <= overdue && !item.Rests {
			items = append(items, item)
		} else {
			later = append(later, item)
		}
	}
	if r.Placement != nil && r.Placement.Next() >= 0 {
		items = append(items, Item{Kind: PlacementItem, GoesOn: r.Placement.Next() > 0 ||
			r.Placement.Tasks[r.Placement.Next()].Game != 0})
	}
	items = append(append(items, r.dueRechecks()...), later...)
	slices.SortStableFunc(items, func(a, b Item) int { return cmp.Compare(rests(a), rests(b)) })
	return items
}

// rests puts what rests until tomorrow behind what waits.
func rests(i Item) int {
	if i.Rests {
		return 1
	}
	return 0
}

// taskItem is what was set, as a thing to do today.
func (r Record) taskItem(t Task) Item {
	offer := r.offerOf(t)
	goesOn := t.OpenGame != 0 || r.Parts[t.ID] != 0
	return Item{Kind: TaskItem, Task: t, Offer: offer, GoesOn: goesOn, Rests: !goesOn && offer == EnoughToday,
		Sitting: r.Sitting(t.Drill)}
}

// offerOf says what comes when a task is asked for.
func (r Record) offerOf(t Task) Offer {
	tries := TaskTries{Assignment: t.Assignment}
	for _, all := range r.Tries {
		if all.ID == t.ID {
			tries.Tries = all.Tries
		}
	}
	return r.OfferAfter(tries)
}

// OfferAfter says what comes after the tries at an assignment.
func (r Record) OfferAfter(t TaskTries) Offer {
	return NextOffer(t.Tries, r.Today(), r.Seconds, t.Drill.Mode == practice.Test)
}

// UnderWay is the game of an assignment that is not ended: the last part, or a try;
// 0 where there is none.
func (r Record) UnderWay(task game.AssignmentID) game.GameID {
	if g := r.Parts[task]; g != 0 {
		return g
	}
	for _, t := range r.Tasks {
		if t.ID == task {
			return t.OpenGame
		}
	}
	return 0
}

// dueRechecks are the re-checks that are due, the longest due first: one per ending
// and day, until it goes well, and those under way.
func (r Record) dueRechecks() []Item {
	var items []Item
	shown, rests := map[string]bool{}, map[string]bool{}
	for k, s := range r.Mastery {
		rests[k.Ending] = rests[k.Ending] || s.Last == r.Today() && !s.Missed
	}
	for _, k := range ByDate(r.Mastery) {
		s := r.Mastery[k]
		start, goesOn := r.Rechecks[k]
		if !goesOn && (s.Due > r.Today() || shown[k.Ending] || rests[k.Ending] && !s.Missed) {
			continue
		}
		shown[k.Ending] = true
		items = append(items, Item{Kind: RecheckItem, Key: k, Mastery: s, Start: start, GoesOn: goesOn, Rests: !goesOn &&
			PlayedEnough(r.Seconds)})
	}
	return items
}

// ByDate lists the stages that are asked for again, those due first in front; what is
// asked for on one day stands in the order of teaching, backwards: the mate is the
// shortest.
func ByDate(mastery map[Key]Mastery) []Key {
	var keys []Key
	for _, plan := range ending.Plans() {
		for i := plan.Last(); i >= 0; i-- {
			if k := (Key{plan.Code, plan.Steps[i].Stage}); mastery[k].Due != 0 {
				keys = append(keys, k)
			}
		}
	}
	sort.SliceStable(keys, func(i, j int) bool { return mastery[keys[i]].Due < mastery[keys[j]].Due })
	return keys
}
