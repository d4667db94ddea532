package view

// TodayPage is /today.
type TodayPage struct {
	Page
	Lead    string // "Three things today, about 20 minutes."
	Due     []DueCard
	Endings []EndingMarks
}

// DueCard is one thing to do: at most three are drawn.
type DueCard struct {
	Post     string   // where its form goes
	Href     string   // or the page that it opens; with neither it is there tomorrow, without a button
	Hidden   []Hidden // what the form says
	Title    string   // "Rook"
	Stage    string   // stage id of its mark, may be empty
	State    State    // state of that mark
	StageSay string   // words beside the mark, the stage's name if empty
	Line     string   // "4 starts, due Thursday"
	FEN      string   // the next start, drawn as a cut-out
	Action   string   // "Start", "Go on", "Try again"
}

// sketch is the next start, cut to where the men stand if they stand together.
func (c DueCard) sketch() Sketch { return Sketch{FEN: c.FEN, Cut: true, Small: true} }

// Waits says whether there is something to do now.
func (c DueCard) Waits() bool { return c.Post != "" || c.Href != "" }

// CheckPage is /check: the task of the starting check that is asked now.
type CheckPage struct {
	Page
	No       int    // from 1
	Of       int    // of how many
	Ask      string // "It is his turn. Is it mate, stalemate or neither?"
	FEN      string
	Black    bool     // seen from Black's side
	Answers  []Choice // of the question; none: it is played on the board
	Action   string   // "Play it", "Go on"
	Finished bool     // all is answered
}

// Hidden is a field of a form that nobody sees.
type Hidden struct{ Name, Value string }

// EndingMarks is one row of 'Your endings'.
type EndingMarks struct {
	Ending Ending
	Say    string // "3 of 5 stages alone"
	Marks  []Mark
}

// PlayPage is /play/{id}. The board itself arrives by the socket.
type PlayPage struct {
	Page
	Game   string // id, goes into the socket's address
	Person string // id of who plays or watches
	Title  string // "Bishop and knight"
	Sub    string // "drill 3, start 2 of 4"
	Again  bool   // a new try can be begun

	Coach         bool   // a coach watches
	Student, Name string // then: the student's id and name
}
