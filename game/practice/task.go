package practice

import (
	"context"

	"drover/game/board"
	"drover/game/ending"
)

// Task is a kind of task: what a game asks of the student, how a move is judged
// and answered by it, and how all that is said. A game has one from its Setup and
// asks nothing else what kind it is; a kind is added by a type that has these
// methods (it may embed another kind and differ in a few) and a line in TaskOf.
//
// A State is passed after Fold: what a method needs to know of the game it reads
// there, and it changes nothing. Methods are pure, as all of this package.
type Task interface {
	Rules
	Words
	Helper
	Starter
}

// Rules are how a kind of task is played.
type Rules interface {
	// Judge judges a move of the student's in the position on the board.
	Judge(ctx context.Context, j *ending.Judge, s State, m board.Move) (Judged, error)
	// Answer is the other side's reply to the student's move, the last of the line;
	// nil where none comes now. It is asked for only where End finds no end yet.
	Answer(ctx context.Context, j *ending.Judge, s State) (*board.Move, error)
	// End is the end that the last move makes, alone or with its reply; empty where
	// the game goes on or is stopped.
	End(ctx context.Context, j *ending.Judge, s State) (End, error)
	// Declined is the end of a stopped game that the student gives up, where neither
	// stalemate nor a dead position made one.
	Declined(ctx context.Context, j *ending.Judge, s State) (End, error)
	// Success says whether a game has ended as the task wants it.
	Success(s State) bool
	// Left is the number of own moves before an end comes of their number alone;
	// below 0 where that is past.
	Left(s State) int
	// Summary is the outcome of a game that has ended.
	Summary(ctx context.Context, j *ending.Judge, s State) (Outcome, error)
}

// Words are what is said of a game of a kind of task.
type Words interface {
	// Brief is what is asked, before the first move.
	Brief(s State) Brief
	// Staged says whether the game goes through the stages of a plan. Where it does
	// not it has one stage, which tells nothing of how the game stands.
	Staged() bool
	// Defends says whether a draw is enough for the student.
	Defends() bool
	// Why puts the reasons for the verdict on a move into words for an age.
	Why(ctx context.Context, j *ending.Judge, s State, t FullMove, age int) ([]string, error)
	// Say is all that the page says of the last move of the line.
	Say(ctx context.Context, j *ending.Judge, s State) (Said, error)
	// Title is the headline of an ended game; empty for that of every kind.
	Title(s State) string
	// Praise is what is said of a clean game.
	Praise(o Outcome) string
	// Gone is the headline of a stopped game, a sentence without its stop.
	Gone() string
	// Cause says what stopped a game, with its article.
	Cause(ctx context.Context, j *ending.Judge, s State) (string, error)
}

// Helper is the help of a kind of task.
type Helper interface {
	// Stand is where a game stands, with the student to move.
	Stand(ctx context.Context, j *ending.Judge, s State) (Standing, error)
	// Hint is what a step of help shows for the position on the board.
	Hint(ctx context.Context, j *ending.Judge, s State, step ending.Help) (ending.Hint, error)
	// HelpName names a step of help, inside a sentence.
	HelpName(step ending.Help) string
}

// Starter is what a drill of a kind of task is made of: its endings, its line and
// its starts.
type Starter interface {
	// Name is the name of an ending as its drills are headed; ok is false where the
	// task has no such ending. The other methods are given one that it has.
	Name(code string) (name string, ok bool)
	// Line says what a drill asks for, the beginning of a sentence.
	Line(s Setup) string
	// Pick picks starts of an ending.
	Pick(ctx context.Context, j *ending.Judge, code string, w ending.Wanted) (ending.Picked, error)
	// Paste reads starts of an ending, a FEN on each line; a line that does not fit
	// is left out, with a sentence.
	Paste(ctx context.Context, j *ending.Judge, code, text string) (starts []board.Position, problems []string, err error)
}

// TaskOf is the task of a drill or a game as it is stored: to defend a draw, or to
// win.
func TaskOf(hold bool) Task {
	if hold {
		return Hold{}
	}
	return Win{}
}

// task is the game's task; to win where its Setup names none.
func (s Setup) task() Task {
	if s.Task == nil {
		return Win{}
	}
	return s.Task
}

// Judged is what the judge says of a move, as its act keeps it.
type Judged struct {
	Grade ending.Grade
	Cost  int
	Plies int          // to mate before the move
	Stage ending.Stage // in which the move was made
	Par   int          // of that stage before the move
}

// onto writes a judgement into the act of its move.
func (v Judged) onto(a Act) Act {
	a.Grade, a.Cost, a.Plies, a.Stage, a.Par = v.Grade, v.Cost, v.Plies, v.Stage, v.Par
	return a
}

// Said is what the page says of a move.
type Said struct {
	Grade ending.Grade
	Back  bool // a stage was lost
	Why   []string
}

// Brief is what is asked of the student in a game.
type Brief struct {
	Stages  []Aim
	Corners []string // in which mate can be forced, where that matters
	Pen     bool     // his pen serves as help
	Wanted  int      // moves to be held; 0: it is not moves that are asked for
}

// Aim is a stage with what to try for in it.
type Aim struct {
	Stage     ending.Stage
	Name, Say string
}

// Success says whether a game has ended as its drill wants it: won, or in a hold
// drill not lost.
func (s State) Success() bool { return s.task().Success(s) }

// Summary is the outcome of a game that has ended.
func Summary(ctx context.Context, j *ending.Judge, s State) (Outcome, error) {
	o, err := s.task().Summary(ctx, j, s)
	o.Loose = s.Loose
	return o, err
}

// Why puts the reasons for the verdict on a move into words for an age.
func (s State) Why(ctx context.Context, j *ending.Judge, t FullMove, age int) ([]string, error) {
	return s.task().Why(ctx, j, s, t, age)
}
