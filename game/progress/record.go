package progress

import (
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// Window is how far back the diagnosis, the stage view and the stuck rule look.
const Window = 8 * 7 * 24 * time.Hour

// Record is what is known of one student: what was played, set and mastered, and
// what is under way. All that is decided about a student is decided in this package
// from the record alone, so that a table of records is a test of it. The store fills
// a record in one read, for some pages only the parts that they are decided from, and
// pages put into words what was decided.
type Record struct {
	Student   club.Person
	Now       time.Time // in the club's own time
	Stages    []StagePlayed
	Mastery   map[Key]Mastery
	Trials    []Trial     // ended games in test mode, the oldest first: what mastery follows from
	Bells     map[Key]Day // the day on which each stage was mastered
	Tries     []TaskTries // at what is set and not yet done, of the last weeks
	Tasks     []Task      // what is set and not yet done, what is due first in front
	Parts     map[game.AssignmentID]game.GameID
	Rechecks  map[Key]string // under way, with the start of each
	Seconds   int            // of play today
	Played    []Played
	Holds     []HoldsPlayed // the draws that were defended, by ending
	Spent     []Spent       // the time of thought of the last weeks, game by game
	Placement *Placement    // the starting check, nil: none
}

// Today is the calendar day of the record, in the club's own time.
func (r Record) Today() Day { return DayOf(r.Now) }

// StagePlayed is one stage of one ended game.
type StagePlayed struct {
	Student   game.PersonID
	Ending    string
	Stage     ending.Stage
	Clean     bool
	Completed bool
	Ended     time.Time
	Game      game.GameID
	Moves     int   // the student's moves
	Bad       int   // how many of them were bad
	Par       int   // at the first entry
	Made      []int // the student's moves by class, and what was offered: see practice.Weights; empty in old rows
	Offered   []int
	Habits    practice.Habitual // none in old rows
}

// Weights are the moves of the stage against what was possible.
func (p StagePlayed) Weights() practice.Weights {
	var w practice.Weights
	copy(w.Made[:], p.Made)
	copy(w.Offered[:], p.Offered)
	return w
}

// LeastPar is the least par of a stage that a page draws: below it there was next to
// nothing to do.
const LeastPar = 2

// Shown says whether a page draws the stage; its moves count for the diagnosis all the same.
func (p StagePlayed) Shown() bool { return p.Par >= LeastPar }

// Played is one ended game in a report.
type Played struct {
	Ending  string
	Hold    bool // a draw was defended
	Ended   time.Time
	Seconds int // of thought
	Result  practice.Result
	Failed  ending.Stage
	End     practice.End
}

// HoldsPlayed is one student's hold drills of one ending over the last weeks.
type HoldsPlayed struct {
	Student game.PersonID
	Ending  string
	Alone   []bool // one per game, the oldest first: whether the draw was held alone
	Held    int    // games in which it was held, with help or without
}

// Unaided is in how many of the games the draw was held alone.
func (h HoldsPlayed) Unaided() int { return count(h.Alone) }

// Failure counts the games of an ending that were lost in a stage.
type Failure struct {
	Ending string
	Stage  ending.Stage // empty: games of the ending in all
	Games  int
}

// Task is an assignment as its student sees it.
type Task struct {
	club.Assignment
	Coach string // who gave it
	Done  int    // starts that were won
	Next  int    // the start that comes next: of the game under way, else the first that is not won
	Left  []int  // starts that are not won yet, in order

	OpenGame game.GameID // the game under way, 0: none
	Wording  int         // for which age it is worded: ending.Eight or Fourteen
}

// TaskTries are the tries of one student at one assignment, the oldest first.
type TaskTries struct {
	club.Assignment
	Student club.Person
	Tries   []Try
}
