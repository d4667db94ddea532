package progress

import (
	"time"

	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// LastGames is how many games of a stage an overview draws one by one.
const LastGames = 10

// Overview is what the stage view says of one student: all that it takes from the
// games, worked out when one has ended and kept until the next.
type Overview struct {
	Student club.Person `json:"-"`
	Found   Diagnosis
	Cells   []Cell // of the stages that were played or mastered, in the order of the plans
	Stuck   []StuckAt
	Next    *Proposal // what comes next, nil: nothing, or only re-checks
	Test    *Proposal // the same, where it is a test; nil: it is none
}

// Cell is one stage in an overview.
type Cell struct {
	Key
	Last  []bool // whether each of the last games was clean, the oldest first
	Clean int
	Of    int // games in which the stage was entered
	Bell  bool
}

// StuckAt is a drill in which the student is stuck.
type StuckAt struct {
	Ending string
	Hold   bool
	Lost   int       // tries in a row that went wrong
	Help   *Proposal // the drill that helps, nil: none
}

// Overview is what the stage view says of the student.
func (r Record) Overview() Overview {
	o := Overview{Student: r.Student, Found: r.Diagnosis()}
	by := Record{Now: r.Now, Stages: r.recent()}.Clean()
	for _, plan := range ending.Taught() {
		for _, step := range plan.Steps {
			k := Key{plan.Code, step.Stage}
			_, bell := r.Bells[k]
			if clean := by[k]; len(clean) > 0 || bell {
				o.Cells = append(o.Cells, cellOf(k, clean, bell))
			}
		}
	}
	for _, t := range r.Stuck() {
		o.Stuck = append(o.Stuck, StuckAt{t.Drill.Ending, t.Drill.Hold, t.Lost, t.Help})
	}
	if p, ok := r.Next(); ok {
		o.Next = &p
	}
	if o.Next != nil && o.Next.Mode == practice.Test {
		o.Test = o.Next
	}
	return o
}

// Played is how many games entered a stage of an ending.
func (o Overview) Played(code string) int {
	n := 0
	for _, c := range o.Cells {
		if c.Ending == code {
			n += c.Of
		}
	}
	return n
}

func cellOf(k Key, clean []bool, bell bool) Cell {
	c := Cell{Key: k, Last: clean[max(0, len(clean)-LastGames):], Of: len(clean), Bell: bell}
	for _, ok := range clean {
		if ok {
			c.Clean++
		}
	}
	return c
}

// OverviewFor is how long an overview is kept where no game ends: what it says is of
// the last weeks, and games grow old.
const OverviewFor = 24 * time.Hour
