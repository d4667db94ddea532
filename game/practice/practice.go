// Package practice is one practice game as a pure function: a state, a
// command, and the act that follows. It reads no clock and no database; what
// it needs of time comes with the command.
package practice

import (
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
)

// Mode says when the verdict shows.
type Mode string

// The modes.
const (
	Guided   Mode = "guided"   // after each move
	Practice Mode = "practice" // only when something went wrong
	Test     Mode = "test"     // at the end
)

// Setup is what a game is played under, fixed when it starts.
type Setup struct {
	Game      game.GameID
	Student   game.PersonID
	Ending    string // the drill's ending, as in "KBNK"
	Start     string // FEN
	Side      board.Color
	Mode      Mode
	Task      Task         // what is asked; nil: to win
	Target    ending.Stage // the stage whose completion ends the game; Mate plays to the mate
	Defender  string
	Seed      int64
	Backs     int // moves that may be taken back
	Allowance int // moves over the start's par that still count as clean
	Budget    int // own moves; 0: none but the fifty-move rule. In a hold drill: moves to be held; 0: ten
	Clock     int // seconds of own thought; 0: no clock
	Increment int // seconds that the clock gains with each own move
	Helps     Steps
	Trial     bool // a coach tries the drill out: the game counts for nothing
	Loose     bool // a position once more, or free practice: it counts for nothing, too
	Quiet     bool // nothing says right or wrong, not even at the end
	Wording   int  // for which age sentences are worded: ending.Eight or Fourteen
}

// Steps is a set of steps of help, a bit each.
type Steps int

// StepsOf makes a set of steps.
func StepsOf(steps ...ending.Help) Steps {
	var s Steps
	for _, h := range steps {
		s |= 1 << h
	}
	return s
}

// Has says whether a step is in the set.
func (s Steps) Has(h ending.Help) bool { return h >= 0 && s&(1<<h) != 0 }

// List gives the steps in order.
func (s Steps) List() []ending.Help {
	list := []ending.Help{}
	for h := ending.HelpWish; h <= ending.HelpMove; h++ {
		if s.Has(h) {
			list = append(list, h)
		}
	}
	return list
}

// Kind is what a person did.
type Kind string

// The kinds of act in this version of the log.
const (
	Move   Kind = "move"   // a move, with its judgement, the reply and the end, if any
	Help   Kind = "help"   // a step of help was looked at
	Back   Kind = "back"   // the last move and its reply are taken back
	Helped Kind = "helped" // 'someone helped me', also after the end
	Resign Kind = "resign" // gives up, or declines to go on after the win went
	Flag   Kind = "flag"   // the drill's clock has run out
	Watch  Kind = "watch"  // a coach watches
	Unseen Kind = "unseen" // the coach has gone; a reply by hand that is due comes with it
	Hand   Kind = "hand"   // the defender's reply by a coach's hand
	Left   Kind = "left"   // nothing happened for a day
	Anew   Kind = "anew"   // a new try is begun in place of this one, while it still goes on
	Stop   Kind = "stop"   // no guardian's consent stands any more
)

// End is how a game ended; empty while it goes on.
type End string

// The ends. Each has its article in articles.
const (
	Mated     End = "mate"
	Reached   End = "stage"     // the drill's last stage is complete
	Stalemate End = "stalemate" // no move, no check
	Dead      End = "dead"      // too little left to mate
	Fifty     End = "fifty"     // fifty moves each without a capture or pawn move
	Fivefold  End = "fivefold"  // the same position a fifth time
	Threefold End = "threefold" // a third time, claimed by the defender in a test
	Drawn     End = "drawn"     // the win went, and the student did not go on
	OverMoves End = "budget"    // the drill's number of moves is used up
	HeldOut   End = "held"      // a hold drill's moves are held
	LetGo     End = "let go"    // the draw went, and the student did not go on
	Time      End = "time"      // the drill's clock has run out
	Resigned  End = "resigned"
	Abandoned End = "left"
	Restarted End = "restarted" // a new try took its place
	Stopped   End = "stopped"   // practice rests: the game counts for nothing
)

// articles names the article of the FIDE Laws of Chess (in force from 1
// January 2023) behind each end; an end of Drover's own has none.
var articles = map[End]string{
	Mated: "5.1.1", Stalemate: "5.2.1", Dead: "5.2.2", Fifty: "9.3", Fivefold: "9.6.1",
	Threefold: "9.2", Resigned: "5.1.2", Time: "6.9",
}

// Command is what a client asks for.
type Command struct {
	Do   Kind
	ID   string // the client's own id of this command, at most 32 bytes
	Ply  int    // the number of half-moves in the position that it answers
	Move string // coordinates
	Step int    // of help, 1 to 4
	Took int    // milliseconds of thought, as the client counted
	By   game.PersonID
	At   time.Time

	Coach bool   // By is a coach who watches
	Who   string // the coach's name
}

// Act is one thing a person did and what followed it. It is one row of the
// log; Fold rebuilds a state from acts without a solver.
type Act struct {
	Seq    int
	Kind   Kind
	By     game.PersonID
	Who    string // the coach's name, of an act of a coach
	Client string
	At     time.Time
	Move   string // coordinates; empty but for a move
	Reply  string
	Grade  ending.Grade
	Cost   int
	Plies  int          // to mate before the move
	Stage  ending.Stage // the sticking stage in which the move was made
	Par    int          // of that stage before the move
	Took   int          // milliseconds that count
	Help   ending.Help  // the step that was looked at; 0 but for help
	End    End
}

// FullMove is a move of the student on the line that stands, with its reply: what a
// FEN counts as one move.
type FullMove struct {
	Act    Act
	Before board.Position
	Move   board.Move
	After  board.Position // before the reply
	Reply  *board.Move
	Pen    int // the smallest that his pen was in the game before the move; 0 where there is none

	nearer Nearer // after it
}

// State is a game after some acts. It is a value: Fold returns a new one and leaves
// the old one as it was, though the two share what they have in common.
type State struct {
	Setup
	Pos      board.Position // where the game stands now
	First    board.Position
	Acts     []Act
	Line     []FullMove // moves not taken back
	Backed   int        // moves taken back
	Used     Steps      // steps of help that were looked at
	Assisted bool       // someone helped
	Gone     bool       // stopped: the win, or the draw, is gone
	Lines    []Line     // of coaches who watch
	End      End

	ply    int // half-moves on the line that stands
	before int // the same, before the last act
	acts   *memory[Act]
	line   *memory[FullMove]
}

// Begin is the state before the first act. The task is settled here for the whole
// game.
func Begin(s Setup) (State, error) {
	s.Task = s.task()
	p, err := board.ParseFEN(s.Start)
	if err != nil {
		return State{}, err
	}
	return State{Setup: s, Pos: p, First: p}, nil
}

// Ply is the number of half-moves on the line that stands.
func (s State) Ply() int { return s.ply }

// PlyBefore is that number before the last act.
func (s State) PlyBefore() int { return s.before }

// Last is the last act; there must be one.
func (s State) Last() Act { return s.Acts[len(s.Acts)-1] }

// Seq is the number of the last act, 0 before the first.
func (s State) Seq() int { return len(s.Acts) }

// BacksLeft is how many moves may still be taken back.
func (s State) BacksLeft() int { return max(0, s.Backs-s.Backed) }

// Find looks for an act by its client's id.
func (s State) Find(client string) (Act, bool) {
	for _, a := range s.Acts {
		if client != "" && a.Client == client {
			return a, true
		}
	}
	return Act{}, false
}
