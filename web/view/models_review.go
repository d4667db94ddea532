package view

// ReviewPage is /games/{id}.
type ReviewPage struct {
	Page
	Game      string
	Up        Link   // the page above: the student's, or the own day
	Sub       string // "Rook, drill 3, start 2, Tuesday 24 November"
	Title     string // "Wren gave mate in 21 moves", the h1
	Well      string // what went well, may be empty
	End       string // "Checkmate, FIDE Laws 5.1.1"
	Corners   []string
	Black     bool       // seen from Black's side
	Positions []Position // every position from the start to the end
	At        int        // index into Positions that is shown
	Looks     []Look
	Groups    []TrackGroup
	Hold      bool // a hold drill: without distances
}

// Position is one position of the game.
type Position struct {
	Ply   int // its number in the story; the address is ?at=Ply
	FEN   string
	UCI   string   // the move that led here, empty at the start
	Label string   // "8 Rb7", "8 … Kf5", "Start"
	Say   string   // "mate in 9 before, 12 after"
	Check string   // square of a king in check
	Ways  []string // squares of a way out, numbered on the board
}

// Look is a card for one slip, detour or win gone.
type Look struct {
	Grade string   // detour, slip, win gone, no nearer
	Label string   // "8 Rb7"
	Ply   int      // position it opens
	Away  bool     // the move was taken back
	Lead  string   // the fact, drawn bold
	Say   []string // what follows
}

// TrackGroup is one visit to a stage.
type TrackGroup struct {
	Stage string // stage id
	Say   string // "6 moves, slip at 8"
	Moves []TrackMove
}

// TrackMove is one row of the track: a move, his reply and where mate is now.
type TrackMove struct {
	No         int
	SAN, Reply string
	Ply        int // position after the own move
	Grade      string
	Before     int // moves to mate before it, 0 where there is no win
	After      int // moves to mate after it with best play, 0 after mate or without a win
	Won        bool
	Mate       bool   // this move gave mate
	Note       string // of a hold drill: how many moves held, in place of the distance
	Away       bool   // it was taken back
}

// ReportPage is /report, a guardian's page.
type ReportPage struct {
	Page
	Name     string // the student's
	Week     string // "Havnsund chess club, week of 23 November"
	Sentence []Part
	Days     []DayMinutes // seven, Monday first
	Stages   []string     // stage ids that occur, for the key
	Rows     []ReportRow
	Bells    []string // "Mate with king and rook is mastered; the bell stays. We'll ask once more in three weeks."
	Set      []SetRow // the drills that are open for the child
	Next     string
	Help     string
	Consent  string // "You agreed to practice on 4 September."
	Kept     string // what is kept and for how long
	Until    string // "This link works until 31 December. Ask the coach for a new one at any time."
}

// SetRow is a drill that is open for a child, for its guardian.
type SetRow struct {
	Name string // as its coach named it: the child reads it too
	Say  string // "Set by Coach Maren, due Thursday."
}

// DayMinutes is one day's bar.
type DayMinutes struct {
	Day     string // "Mo"
	Minutes int
}

// ReportRow is one ending a month ago and now.
type ReportRow struct {
	Name            string // "Mate with king and rook"
	Before, Now     []Mark
	SayThen, SayNow string // "in progress", "two of three"
}
