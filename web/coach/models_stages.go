package coach

import (
	"fmt"
	"strconv"

	"drover/game/progress"
	"drover/web/view"
)

// StagesPage is /stages.
type StagesPage struct {
	view.Page
	Finding  []view.Part // the h1
	Action   *view.Link  // the one main action, may be nil
	Why      string      // the reason for the drill that the action sets, may be empty
	Evidence string      // of the finding, may be empty
	Said     []SaidLine
	Tools    StagesTools
	Held     bool   // to a drill or to some days
	Chosen   string // ending id for narrow pages, as asked by ?ending=
	Endings  []StageColumns
	ByName   bool // how the students stand
	ByFirst  bool
	ToName   string // the address of the other order
	ToFirst  string
	Rows     []StageRow
	Holds    HoldsTable
	Leaf     Leaf
}

// SaidLine is one thing that is said above the table, quieter than the finding.
type SaidLine struct {
	Say   string
	Do    view.Link // may be empty
	About string    // what the action is about, to somebody who hears its name alone
}

// Leaf says which rows a page has, and leads to those before and after them.
type Leaf struct {
	Which         string // "Students 1 to 50 of 212", empty where one page has them all
	Before, After string // addresses of the pages before and after, empty: none
}

// leaf is a page of what a word names, such as Students, from 1: most are on one, here are on this one, and to gives
// the address of another. A page beyond the last leads back to that one.
func leaf(of string, page, most, here, total int, to func(page int) string) Leaf {
	if total <= most && page <= 1 {
		return Leaf{}
	}
	from := (page - 1) * most
	l := Leaf{Which: "There are no more."}
	if here > 0 {
		l.Which = fmt.Sprintf("%s %d to %d of %d", of, from+1, from+here, total)
	}
	if page > 1 {
		l.Before = to(min(page-1, max(1, (total+most-1)/most)))
	}
	if here > 0 && from+here < total {
		l.After = to(page + 1)
	}
	return l
}

// lastPage is more pages than any list has.
const lastPage = 10_000

// pageOf reads the number of a page, from 1; nonsense means the first.
func pageOf(text string) int {
	page, _ := strconv.Atoi(text)
	return min(max(page, 1), lastPage)
}

// HoldsTable is the table of hold drills: students down, endings across.
type HoldsTable struct {
	Names []view.Link // of the endings, each to its guide
	Rows  []HoldRow
}

// HoldRow is one student's draws, one cell per ending.
type HoldRow struct {
	ID, Name string
	Cells    []HoldCell
}

// HoldCell is one student's draws of one ending.
type HoldCell struct {
	Bars []bool // one per game, oldest first: whether it was held alone
	Say  string // "3 of 5 held, 2 alone"
}

// StageColumns is one ending with its stages: a group of columns.
type StageColumns struct {
	view.Ending
	Stages []StageColumn
}

// StageColumn is one column: a stage of an ending.
type StageColumn struct {
	Stage string
	Sort  string // the address of the table in the order of this column
	By    bool   // it is in that order
}

// StageRow is one student. Cells follow the order of the columns of all endings.
type StageRow struct {
	ID, Name string
	Cells    []StageCell
	First    *FirstCell // what to teach first, nil: nothing stands out
	Say      string     // then why: "Nothing stands out so far"
	Habits   []string   // that strike beside it: "useless checks, 14 of 22"
}

// StageCell is what one student did in one stage.
type StageCell struct {
	Bars  []bool // one per game, oldest first, true is clean; at most the last ten
	Clean int
	Of    int    // games in which the stage was entered; 0 draws '-'
	Href  string // the games behind it
	Weak  bool   // the stage that is named
	Bell  bool   // the stage is mastered
	Turn  progress.Turn
}

// FirstCell is what to teach a student first.
type FirstCell struct {
	Ending string // its id
	Stage  string // stage id, empty: a habit
	Name   string // "King left at home", "Drive to the edge"
	Where  string // "bishop and knight, mostly edge"
	Counts string // "13 of 16 chances"
}
