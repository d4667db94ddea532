package practice_test

import (
	"context"
	"strings"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// TestTaskIsSettledOnce: a game has the task of its setup, to win where none is
// named, and the one that was stored is found again.
func TestTaskIsSettledOnce(t *testing.T) {
	t.Parallel()
	if g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1"); g.Task != (practice.Win{}) {
		t.Errorf("%T", g.Task)
	}
	if g := begin(t, "KPK", "8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", hold); g.Task != (practice.Hold{}) {
		t.Errorf("%T", g.Task)
	}
	for stored, want := range map[bool]practice.Task{false: practice.Win{}, true: practice.Hold{}} {
		if got := practice.TaskOf(stored); got != want || got.Defends() != stored || got.Staged() == stored {
			t.Errorf("stored as %v: %T", stored, got)
		}
	}
}

// TestTaskWords: what each kind says of the same game.
func TestTaskWords(t *testing.T) {
	t.Parallel()
	for task, want := range map[practice.Task]string{
		practice.Win{}:  "The win is gone; cover, which man; You did it alone. Best: 7 moves.; his king, 50 left",
		practice.Hold{}: "The draw is gone; his next step, the moves that hold; You held it alone.; ten, 10 left",
	} {
		g := begin(t, "KPK", "8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", func(s *practice.Setup) { s.Task = task })
		left := map[int]string{50: "his king, 50 left", 10: "ten, 10 left"}[task.Left(g.State)]
		help := task.HelpName(ending.HelpCover) + ", " + task.HelpName(ending.HelpMan)
		got := strings.Join([]string{task.Gone(), help, task.Praise(practice.Outcome{Par: 7}), left}, "; ")
		if got != want {
			t.Errorf("%T says %q, want %q", task, got, want)
		}
	}
}

// TestSuccessByTask: which ends each kind wants.
func TestSuccessByTask(t *testing.T) {
	t.Parallel()
	mated := begin(t, "KQK", "k7/1Q6/1K6/8/8/8/8/8 b - - 0 1").State // Black is to move, and mate
	for _, c := range []struct {
		ends      []practice.End
		win, hold bool
	}{
		{[]practice.End{practice.Mated}, true, true}, // White is the student
		{[]practice.End{practice.Reached}, true, false},
		{[]practice.End{
			practice.HeldOut, practice.Stalemate, practice.Dead, practice.Fifty, practice.Fivefold, practice.Threefold,
		}, false, true},
		{[]practice.End{
			practice.Drawn, practice.LetGo, practice.OverMoves, practice.Time,
			practice.Resigned, practice.Abandoned, practice.Restarted, "",
		}, false, false},
	} {
		for _, e := range c.ends {
			s := mated
			s.End = e
			if w, h := (practice.Win{}).Success(s), (practice.Hold{}).Success(s); w != c.win || h != c.hold {
				t.Errorf("%q: won %v, held %v", e, w, h)
			}
		}
	}
	mated.Side, mated.End = board.Black, practice.Mated
	if (practice.Hold{}).Success(mated) {
		t.Error("who is mated has held")
	}
}

// folded is a game after one own move with its reply, as the log keeps them, with no
// end decided.
func folded(t *testing.T, code, fen string, a practice.Act, change ...func(*practice.Setup)) practice.State {
	t.Helper()
	a.Seq, a.Kind, a.Stage = 1, practice.Move, ending.Mate
	g := begin(t, code, fen, change...)
	s, err := g.Fold(a)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestEndFromTheFoldedState: the end of a move is read from the state after it, by
// the rules of the game's task; while the reply is due only the board makes one.
func TestEndFromTheFoldedState(t *testing.T) {
	t.Parallel()
	const (
		stale  = "KQK 7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"
		rook   = "KRK 8/8/8/4k3/8/8/8/R3K3 w - - 0 1"
		loose  = "KRK 8/8/8/8/3k4/8/8/4R2K w - - 0 1"
		late   = "KRK 8/8/8/4k3/8/8/8/R3K3 w - - 76 90"
		bishop = "KBNK 7N/8/8/4kB2/8/8/5K2/8 w - - 0 1"
		pawn   = "KPK 8/3k4/3P4/4K3/8/8/8/8 b - - 0 1"
	)
	one := func(s *practice.Setup) { s.Budget = 1 }
	black := func(s *practice.Setup) { hold(s); s.Side = board.Black }
	type changes []func(*practice.Setup)
	for name, c := range map[string]struct {
		start, move, reply string
		grade              ending.Grade
		change             changes
		want               practice.End
	}{
		"mate":                     {"KQK k7/2Q5/1K6/8/8/8/8/8 w - - 0 1", "c7b7", "", ending.OnCourse, nil, practice.Mated},
		"stalemate is a stop":      {stale, "f2f7", "", ending.WinGone, nil, ""},
		"stalemate in a test":      {stale, "f2f7", "", ending.WinGone, changes{test}, practice.Stalemate},
		"a reply is due":           {rook, "a1a4", "", ending.OnCourse, changes{one}, ""},
		"the moves are used up":    {rook, "a1a4", "e5d5", ending.OnCourse, changes{one}, practice.OverMoves},
		"the game goes on":         {rook, "a1a4", "e5d5", ending.OnCourse, nil, ""},
		"the rook is taken":        {loose, "e1e3", "d4e3", ending.WinGone, nil, ""},
		"the rook is taken, test":  {loose, "e1e3", "d4e3", ending.WinGone, changes{test}, practice.Dead},
		"only fifty moves, test":   {late, "e1d2", "e5d4", ending.WinGone, changes{test}, practice.Fifty},
		"the bishop is lost, test": {bishop, "f5h3", "e5f6", ending.WinGone, changes{test}, practice.Drawn},
		"held":                     {pawn, "d7d8", "e5e6", ending.Held, changes{black, one}, practice.HeldOut},
		"held, the answer is due":  {pawn, "d7d8", "", ending.Held, changes{black, one}, ""},
		"held, more is wanted":     {pawn, "d7d8", "e5e6", ending.Held, changes{black}, ""},
		"the draw went":            {pawn, "d7e8", "e5e6", ending.DrawGone, changes{black}, ""},
		"the draw went, test":      {pawn, "d7e8", "e5e6", ending.DrawGone, changes{black, test}, practice.LetGo},
		"he has still to answer":   {pawn, "d7e8", "", ending.DrawGone, changes{black, test}, ""},
		"the pawn is taken": {
			"KPK 8/8/8/8/7k/8/4p3/4K3 w - - 0 1", "e1e2", "", ending.Held, changes{hold}, practice.Dead,
		},
	} {
		code, fen, _ := strings.Cut(c.start, " ")
		s := folded(t, code, fen, practice.Act{Move: c.move, Reply: c.reply, Grade: c.grade}, c.change...)
		if got, err := s.Task.End(ctx, judge, s); err != nil || got != c.want {
			t.Errorf("%s: ends %q, want %q (%v)", name, got, c.want, err)
		}
	}
}

// promote is a third kind of task, made of the first: it is done when the pawn has
// become a queen.
type promote struct{ practice.Win }

func (p promote) End(ctx context.Context, j *ending.Judge, s practice.State) (practice.End, error) {
	if s.Line[len(s.Line)-1].Move.Promotion == board.Queen {
		return practice.Reached, nil
	}
	return p.Win.End(ctx, j, s)
}

func (promote) Success(s practice.State) bool  { return s.End == practice.Reached }
func (promote) Title(practice.State) string    { return "The pawn is a queen" }
func (promote) Gone() string                   { return "The pawn is stopped" }
func (promote) Praise(practice.Outcome) string { return "You led it there alone." }
func (promote) Staged() bool                   { return false }
func (promote) Answer(context.Context, *ending.Judge, practice.State) (*board.Move, error) {
	return nil, nil
}

// TestThirdKind: a kind of task is plugged into a game's setup alone; judging,
// answering, ending, words and summary follow.
func TestThirdKind(t *testing.T) {
	t.Parallel()
	third := func(s *practice.Setup) { s.Task = promote{} }
	g := begin(t, "KPK", "8/4P3/8/8/8/k7/8/4K3 w - - 0 1", third)
	a := g.do(practice.Move, "e8=Q")
	o := g.outcome()
	if a.End != practice.Reached || a.Reply != "" || g.Title() != "The pawn is a queen" || o.Result != practice.Clean {
		t.Errorf("%+v, %q, %+v", a, g.Title(), o)
	}
	g = begin(t, "KPK", "8/4P3/8/8/8/k7/8/4K3 w - - 0 1", third)
	if a := g.do(practice.Move, "Kd2"); a.End != "" || a.Reply != "" || a.Grade != ending.OnCourse {
		t.Errorf("it answers by its own rule: %+v", a)
	}
	g = begin(t, "KPK", "8/4P3/8/8/8/k7/8/4K3 w - - 0 1", third)
	g.do(practice.Move, "e8=N")
	_, err := g.try(practice.Command{Do: practice.Move, Move: "e1e2"})
	if !g.Gone || err == nil || !strings.Contains(err.Error(), "The pawn is stopped here.") {
		t.Errorf("gone %v, a move after it: %v", g.Gone, err)
	}
}
