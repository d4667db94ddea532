package review

import "drover/web/view"

// GamePage is /games/{id}.
type GamePage struct {
	view.Page
	Game      string
	Up        view.Link // the page above: the student's, or the own day
	Sub       string    // "Rook, drill 3, start 2, Tuesday 24 November"
	Title     string    // "Wren gave mate in 21 moves", the h1
	Well      string    // what went well, may be empty
	End       string    // "Checkmate, FIDE Laws 5.1.1"
	Corners   []string
	Black     bool       // seen from Black's side
	Positions []Position // every position from the start to the end
	At        int        // index into Positions that is shown
	Looks     []Look
	Groups    []TrackGroup
	Hold      bool // a hold drill: without distances
	Own       bool // the reader has played it
	Bare      bool // to be read here alone, and not taken along
	Before    string
	After     string // addresses of the games before and after, empty: none
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
	Also  string   // after an own move: the other moves that kept the win
}

// Look is a card for one slip, detour or win gone.
type Look struct {
	Grade string   // detour, slip, win gone, no nearer
	Label string   // "8 Rb7"
	Ply   int      // position it opens
	Away  bool     // the move was taken back
	Lead  string   // the fact, drawn bold
	Say   []string // what follows
	Seq   int      // of the move in the game's log

	weight int // the dearer the move was, the greater
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
