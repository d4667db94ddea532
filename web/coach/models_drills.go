package coach

import (
	"strconv"

	"drover/store"
	"drover/web/view"
)

// DrillsPage is /drills.
type DrillsPage struct {
	view.Page
	Ask    store.ShelfAsk
	Rows   []DrillRow
	Misses bool    // there are ready drills that the club has never had
	For    []int64 // students for whom one is chosen, none: nobody yet
	Group  int64   // the group for which one is chosen; 0: none
	Leaf   Leaf
}

// forIDs names the students for whom a drill is chosen.
func (m DrillsPage) forIDs() string { return idList(m.For) }

// forThem is the part of an address that names them.
func (m DrillsPage) forThem() string {
	switch {
	case len(m.For) > 0:
		return "?for=" + m.forIDs()
	case m.Group > 0:
		return "?group=" + strconv.FormatInt(m.Group, 10)
	}
	return ""
}

// forStudents is forThem for the builder, which knows no groups.
func (m DrillsPage) forStudents() string {
	m.Group = 0
	return m.forThem()
}

// asks says whether the shelf is held to some drills.
func (m DrillsPage) asks() bool {
	return m.Ask.Find != "" || m.Ask.Ending != "" || m.Ask.Trains != "" || m.Ask.Level > 0
}

// DrillRow is one drill of the shelf and who has it.
type DrillRow struct {
	ID      string
	Ending  view.Ending
	Name    string // "Rook: drive to the edge, then mate"
	Line    string // "against a king that holds out longest, 4 starts"
	Trains  string // one sentence, may be empty
	Level   int    // of a ready drill, 0: none
	Stages  []string
	Who     []string
	Has     int // students who have it
	Through int // of those, through with it
}

// DrillNewPage is /drills/new with the form and two of its starts.
type DrillNewPage struct {
	view.Page
	Title                    string // "Rook: drive to the edge, then mate"
	Endings                  []EndingChoice
	Holds                    []EndingChoice // hold drills
	Hold                     bool           // a hold drill is chosen
	From, To                 []view.Choice  // all stages; those that the ending does not have are off
	Defenders                []view.Choice
	Modes                    []view.Choice
	Kinds                    []view.Choice // of starts; "pasted" takes FENs instead
	FENs                     string        // as pasted
	Helps                    []view.Choice // several may be chosen
	Passes                   []view.Choice // what passes the drill
	Allowances, Takes        []view.Choice // moves over par, and take-backs
	Count, Least, Most       string        // as typed
	Budget, Clock, Increment string        // as typed
	Name                     string
	Seed                     string
	Of                       string      // id of the drill that this is a new version of; may be empty
	For                      string      // ids of students to give it to, with commas; may be empty
	Starts                   []StartCard // at most two are drawn
	Facts                    []Fact      // of the starts
	Line                     string      // the whole drill in one line
	Errors                   view.Errors
}

// budgetLabel names the number of moves, which a hold drill asks for.
func (m DrillNewPage) budgetLabel() string {
	if m.Hold {
		return "Moves to hold"
	}
	return "Moves at most"
}

// EndingChoice is one ending to choose, with the stages that its plan has.
type EndingChoice struct {
	view.Ending
	Value  string // as posted
	Chosen bool
	Stages []string // ids of the stages of its plan, in order; none of a hold drill
	From   []string // of those, where a drill may begin
	Kinds  []string // of start
	Men    string   // as a FEN writes them, the student's in capitals: "KRk"
}

func (e EndingChoice) hold() bool { return len(e.Stages) == 0 }

// Fact is one line of a list of facts.
type Fact struct{ Name, Say string }

// StartCard is one start position.
type StartCard struct {
	FEN string
	No  string // "1 of 24"
	Say string // "mate in 13"
}

// AssignPage is /drills/{id}.
type AssignPage struct {
	view.Page
	ID       string
	Name     string
	Line     string
	Trains   string        // one sentence, may be empty
	Guide    string        // the address of its ending's guide
	Old      bool          // this version is not on the shelf
	Newer    string        // id of the version that is, empty: the drill is archived
	Starts   []StartCard   // at most four are drawn
	All      view.Choice   // everybody
	Groups   []view.Choice // whole groups to give it to
	Students []AssignRow
	From     string // 2026-11-27, as typed
	Due      string
	Until    string
	NewName  string // in the form that renames
	Errors   view.Errors
}

// AssignRow is one student to give the drill to.
type AssignRow struct {
	ID, Name string
	Chosen   bool
	Has      string // "1 of 4 starts done, due Thursday", empty if not given yet
}
