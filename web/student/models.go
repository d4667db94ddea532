package student

import "drover/web/view"

// TodayPage is /today.
type TodayPage struct {
	view.Page
	Lead    string // "Three things today, about 20 minutes."
	Aim     string // what to keep in mind, in eight words or fewer; empty: nothing stands out
	Due     []DueCard
	Rested  bool // enough was played today
	Cards   bool // the cards before the first game are shown
	Endings []view.EndingMarks
	Papers  []Paper // certificates of endings that were mastered just now
}

// Paper is the certificate of an ending.
type Paper struct {
	Ending view.Ending
	Say    string // "Mate with king and queen is yours, every part of it."
	Href   string
}

// DueCard is one thing to do: at most three are drawn.
type DueCard struct {
	Post     string        // where its form goes
	Href     string        // or the page that it opens; with neither it is there tomorrow, without a button
	Hidden   []view.Hidden // what the form says
	Title    string        // "Rook"
	Stage    string        // stage id of its mark, may be empty
	State    view.State    // state of that mark
	StageSay string        // words beside the mark, the stage's name if empty
	Line     string        // "4 starts, due Thursday"
	FEN      string        // the next start, drawn as a cut-out
	Action   string        // "Start", "Go on", "Try again"
}

// sketch is the next start, cut to where the men stand if they stand together.
func (c DueCard) sketch() view.Sketch { return view.Sketch{FEN: c.FEN, Cut: true, Small: true} }

// Waits says whether there is something to do now.
func (c DueCard) Waits() bool { return c.Post != "" || c.Href != "" }

// CheckPage is /check: the task of the starting check that is asked now.
type CheckPage struct {
	view.Page
	No       int    // from 1
	Of       int    // of how many
	Ask      string // "It is his turn. Is it mate, stalemate or neither?"
	FEN      string
	Black    bool          // seen from Black's side
	Answers  []view.Choice // of the question; none: it is played on the board
	Action   string        // "Play it", "Go on"
	Finished bool          // all is answered
}

// RestPage is /today while practice rests: it says neither why nor by whom.
type RestPage struct {
	view.Page
	Say string
}

// FreePage is /free: free practice.
type FreePage struct {
	view.Page
	Rows  []FreeRow
	Sides []view.Choice
	Kings []view.Choice // how the lone king plays
	GoOn  view.Link     // the game under way, empty: none
}

// FreeRow is one ending with the stages that free practice can begin with.
type FreeRow struct {
	Ending view.Ending
	Name   string
	Stages []FreeStage
}

// FreeStage is one of them.
type FreeStage struct {
	Value string // of the button
	Stage string // stage id of its mark
	State view.State
	Word  string
}
