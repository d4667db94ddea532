package progress

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"drover/game"
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
	Games   map[string]int // by ending: all ended games that count, however long ago
	Cells   []Cell         // of the stages that were played or mastered, in the order of the plans
	Stuck   []StuckAt
	Next    *Proposal // what comes next, nil: nothing, or only re-checks
	Test    *Proposal // the same, where it is a test; nil: it is none
	Habits  []HabitAt // those that strike, the most frequent first; what is to be taught first, or shows in it, is not among them
}

// HabitAt is a habit that strikes, with its chances and how often it struck, in all endings in
// which it does.
type HabitAt struct {
	Habit practice.Habit
	N, K  int
}

// Cell is one stage in an overview.
type Cell struct {
	Key
	Last  []bool // whether each of the last games was clean, the oldest first
	Clean int
	Of    int // games in which the stage was entered
	Bell  bool
}

// Cell is the cell of a stage; the zero value where it was neither played nor mastered.
func (o Overview) Cell(k Key) Cell {
	i := slices.IndexFunc(o.Cells, func(c Cell) bool { return c.Key == k })
	if i < 0 {
		return Cell{}
	}
	return o.Cells[i]
}

// StuckAt is a drill in which the student is stuck.
type StuckAt struct {
	Ending string
	Hold   bool
	Lost   int         // tries in a row that went wrong
	Game   game.GameID // the last of them
	Help   *Proposal   // the drill that helps, nil: none
}

// Overview is what the stage view says of the student.
func (r Record) Overview() Overview {
	o := Overview{Student: r.Student, Found: r.Diagnosis()}
	o.Games = r.games()
	o.Cells = CellsOf(Record{Now: r.Now, Stages: r.recent()}.Clean(), r.Bells)
	for _, t := range r.stuck(o.Found.First) {
		o.Stuck = append(o.Stuck, StuckAt{t.Drill.Ending, t.Drill.Hold, t.Lost, t.Game, t.Help})
	}
	if p, ok := r.next(o.Found.First); ok {
		o.Next = &p
	}
	if o.Next != nil && o.Next.Mode == practice.Test {
		o.Test = o.Next
	}
	o.Habits = r.habits(o.Found.First)
	return o
}

// games counts the ended games of each ending.
func (r Record) games() map[string]int {
	seen, by := map[game.GameID]bool{}, map[string]int{}
	for _, p := range r.Stages {
		if !seen[p.Game] {
			seen[p.Game] = true
			by[p.Ending]++
		}
	}
	return by
}

// habits are those that strike in an ending of which there are enough games for a diagnosis,
// over the same games; but not the one that is to be taught first, or shows in the stage that is.
func (r Record) habits(first *First) []HabitAt {
	by := map[practice.Habit]HabitAt{}
	recent := r.recent()
	for _, plan := range ending.Plans() {
		games := tallies(&plan, recent)
		if len(games) < Enough {
			continue
		}
		sum := practice.Habitual{}
		for _, stage := range Sum(games) {
			sum = sum.Add(stage.Habits)
		}
		for h, t := range sum {
			if strikes(h, t) {
				by[h] = HabitAt{h, by[h].N + t.N, by[h].K + t.K}
			}
		}
	}
	if first != nil {
		delete(by, first.Habit)
		delete(by, first.Shows)
	}
	return slices.SortedFunc(maps.Values(by), func(a, b HabitAt) int {
		return cmp.Or(cmp.Compare(b.K*a.N, a.K*b.N), cmp.Compare(a.Habit, b.Habit))
	})
}

// CellsOf are the cells of a student, from whether each game of a stage was clean, the oldest
// first, and the bells.
func CellsOf(by map[Key][]bool, bells map[Key]Day) []Cell {
	var cells []Cell
	for _, plan := range ending.Taught() {
		for _, step := range plan.Steps {
			k := Key{plan.Code, step.Stage}
			_, bell := bells[k]
			if clean := by[k]; len(clean) > 0 || bell {
				cells = append(cells, Cell{Key: k, Last: clean[max(0, len(clean)-LastGames):], Clean: count(clean), Of: len(clean),
					Bell: bell})
			}
		}
	}
	return cells
}

// OverviewFor is how long an overview is kept where no game ends: what it says is of
// the last weeks, and games grow old.
const OverviewFor = 24 * time.Hour
