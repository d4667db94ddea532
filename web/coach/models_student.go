package coach

import "drover/web/view"

// FirstSaid is what to teach a student first.
type FirstSaid struct {
	Stage string // stage id, empty: a habit, or nothing yet
	Name  string // "King left at home"; empty: nothing stands out
	Say   string // the rest of the sentence: where it shows, and how often
}

// WeeksPart is what a student did in the last weeks, a column each.
type WeeksPart struct {
	Time    string // "34 minutes on 3 days this week."
	Heads   []WeekHead
	Minutes []WeekMinutes
	Endings []WeeksEnding
}

// WeekHead is the Monday with which a week begins.
type WeekHead struct{ Day, Month string }

// WeekMinutes are the minutes of the weeks, all of them or those of one kind.
type WeekMinutes struct {
	Name  string
	Cells []string // a number for each week, empty: none
	All   string
}

// WeeksEnding is an ending with a row for each stage.
type WeeksEnding struct {
	Ending view.Ending
	Rows   []WeeksRow
}

// WeeksRow is one stage.
type WeeksRow struct {
	Stage     string
	Clean, Of int
	Href      string // the games behind it; empty: there are none
	Cells     []WeekCell
}

// WeekCell is one stage in one week.
type WeekCell struct {
	Bars      []bar // one for each game, the oldest first
	Width     string
	Clean, Of int
}

// GamesPart lists a student's games.
type GamesPart struct {
	Student string // id
	Head    string
	Sum     string // how many were done alone, with help and not, and what a coach watched
	Rule    string // what 'clean' means, where the list is held to a stage
	Stage   string // id of that stage
	Held    bool   // to a stage, a drill or some days
	Rows    []GameRow
	Leaf    Leaf
}

// GameRow is one game in a list.
type GameRow struct {
	ID       string // opens /games/{id}
	Day      string
	Title    string // "Rook, drill 3, start 2"
	Result   string // "clean", "over par", "not won"
	Stage    string // id of the stage in which it was lost, empty: none can be named
	Where    string // "lost the win at the corner"
	Habit    string // "useless checks"
	Struck   string // "3 of 4 chances"
	Help     string // "2 hints, one move back"
	Watched  bool   // by a coach
	Minutes  string
	Clean    bool   // in the stage that the list is held to
	Why      string // then why it was not: "a move cost 4"
	InDetail string // and "9 moves, best: 4 moves, 2 bad"
}
