package practice_test

import (
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	kinds "drover/game"
	"drover/game/board"
	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/practice"
)

// played is a simulated game with its summary.
type played struct {
	practice.State
	practice.Outcome
}

// games are games of fair and weak students in every ending, shown and in a
// test. They are played once.
var games = sync.OnceValues(func() ([]played, error) {
	rng := rand.New(rand.NewPCG(4, 2))
	onRim := cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 0 }, 0.4)
	students := []cohort.Student{{Skill: 0.9}, {Skill: 0.6}, {Skill: 0.3}, {Skill: 0.9, Weak: onRim}}
	var all []played
	for _, plan := range ending.Plans() {
		starts, err := judge.Starts(ctx, &plan, plan.Steps[0].Stage, 8, 18)
		if err != nil {
			return nil, err
		}
		for i, p := range starts {
			for _, mode := range []practice.Mode{practice.Guided, practice.Test} {
				set := practice.Setup{Game: 1, Student: me, Ending: plan.Code, Start: p.FEN(), Mode: mode,
					Target: plan.Steps[plan.Last()].Stage, Defender: "longest", Seed: 5, Allowance: 3}
				if mode != practice.Test {
					set.Backs = 2
				}
				s, err := cohort.Play(ctx, judge, set, students[i%len(students)], rng, began)
				if err != nil {
					return nil, err
				}
				o, err := practice.Summary(ctx, judge, s)
				if err != nil {
					return nil, err
				}
				all = append(all, played{s, o})
			}
		}
	}
	return all, nil
})

// simulated hands on the games.
func simulated(t *testing.T, visit func(s practice.State, o practice.Outcome)) {
	t.Helper()
	all, err := games()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range all {
		visit(g.State, g.Outcome)
	}
}

// TestActsAreWhole: every move of a log has its judgement, and its reply or
// the reason why there is none.
func TestActsAreWhole(t *testing.T) {
	t.Parallel()
	simulated(t, func(s practice.State, _ practice.Outcome) {
		plan, _ := ending.PlanOf(s.Ending)
		for i, a := range s.Acts {
			if a.Seq != i+1 || a.By != me || a.End != "" && i != len(s.Acts)-1 {
				t.Errorf("%s, act %d: %+v", s.Start, i, a)
			}
			if a.Kind != practice.Move {
				continue
			}
			if a.Grade == "" || a.Cost < 0 || a.Plies <= 0 || a.Plies%2 == 0 || a.Took < 0 {
				t.Errorf("%s, act %d is not judged: %+v", s.Start, i, a)
			}
			if plan.Index(a.Stage) < 0 && s.Ending != "KRRK" { // with a rook less it is another plan's stage
				t.Errorf("%s, act %d is in stage %q", s.Start, i, a.Stage)
			}
			silent := a.End != "" || a.Grade == ending.WinGone
			if a.Reply == "" && !silent {
				t.Errorf("%s, act %d has no reply: %+v", s.Start, i, a)
			}
		}
	})
}

// TestSummaryIsItsDefinition: result, failed stage and stage rows of simulated
// games, counted here from the acts.
func TestSummaryIsItsDefinition(t *testing.T) {
	t.Parallel()
	seen := map[practice.Result]int{}
	simulated(t, func(s practice.State, o practice.Outcome) {
		seen[o.Result]++
		want := practice.Clean
		switch backed := len(s.Acts) > 0 && s.Backed > 0; {
		case s.End != practice.Mated && s.End != practice.Reached:
			want = practice.NotWon
		case backed:
			want = practice.WonHelped
		case len(s.Line) > o.Par+s.Allowance:
			want = practice.OverPar
		}
		if o.Result != want || o.End != s.End || o.Moves != len(s.Line) || (o.Failed != "") != (want == practice.NotWon) {
			t.Errorf("%s: %+v, want %s", s.Start, o, want)
		}
		if first, err := judge.Look(ctx, s.First); err != nil || o.Par != first.MateIn() {
			t.Errorf("%s: par %d, mate in %d (%v)", s.Start, o.Par, first.MateIn(), err)
		}
		last := s.Line[len(s.Line)-1].Act
		if s.End == practice.Fifty { // the moves ran out: the greatest excess over par
			for _, r := range o.Stages {
				for _, f := range o.Stages {
					if f.Stage == o.Failed && r.Moves-r.Par > f.Moves-f.Par {
						t.Errorf("%s: %s is blamed, %s took more over par", s.Start, f.Stage, r.Stage)
					}
				}
			}
		} else if last.Grade == ending.WinGone && o.Failed != last.Stage {
			t.Errorf("%s: the win went in %s, %s is named", s.Start, last.Stage, o.Failed)
		}
		stagesAddUp(t, s, o)
	})
	for _, r := range []practice.Result{practice.Clean, practice.OverPar, practice.WonHelped, practice.NotWon} {
		if seen[r] == 0 {
			t.Errorf("no game was %s: %v", r, seen)
		}
	}
}

func stagesAddUp(t *testing.T, s practice.State, o practice.Outcome) {
	t.Helper()
	moves, slips, costly := map[ending.Stage]int{}, map[ending.Stage]int{}, map[ending.Stage]int{}
	plan, _ := ending.PlanOf(s.Ending)
	var last ending.Stage
	par := map[ending.Stage]int{}
	for _, a := range s.Acts {
		if a.Kind != practice.Move {
			continue
		}
		last = a.Stage
		if moves[a.Stage]++; moves[a.Stage] == 1 {
			par[a.Stage] = a.Par
		}
		if a.Grade == ending.Slip {
			slips[a.Stage]++
		}
		if a.Cost >= 2 || a.Grade == ending.WinGone {
			costly[a.Stage]++
		}
	}
	if len(o.Stages) != len(moves) {
		t.Errorf("%s: %d stages entered, %d rows", s.Start, len(moves), len(o.Stages))
	}
	won := false
	for _, r := range o.Stages {
		if r.Moves != moves[r.Stage] || r.Slips != slips[r.Stage] || r.Par != par[r.Stage] || r.Bad < costly[r.Stage] ||
			r.Bad > r.Moves {
			t.Errorf("%s: %+v; counted %d moves, %d slips, %d costly, par %d", s.Start, r, moves[r.Stage], slips[r.Stage],
				costly[r.Stage], par[r.Stage])
		}
		if r.Completed != (plan.Index(r.Stage) < plan.Index(last) || r.Stage == last && s.Success()) {
			t.Errorf("%s: ended in %s (won: %v), %+v", s.Start, last, s.Success(), r)
		}
		if r.Clean && (!r.Completed || r.Helps > 0 || r.Moves > r.Par+max(2, (r.Par+1)/2)) {
			t.Errorf("%s: %+v is not clean", s.Start, r)
		}
		won = won || r.Completed
	}
	if s.Success() && !won {
		t.Errorf("%s is won and no stage is complete: %+v", s.Start, o.Stages)
	}
}

// TestEveryPrefixFolds: whatever part of a log has come, it folds to the game
// as it stood then.
func TestEveryPrefixFolds(t *testing.T) {
	t.Parallel()
	simulated(t, func(whole practice.State, _ practice.Outcome) {
		s, err := practice.Begin(whole.Setup)
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range whole.Acts {
			before := s.Ply()
			next, err := s.Fold(a)
			if err != nil {
				t.Fatalf("%s, act %d: %v", whole.Start, i, err)
			}
			step := map[practice.Kind]int{practice.Move: 1}[a.Kind]
			if a.Reply != "" {
				step = 2
			}
			if a.Kind != practice.Back && next.Ply() != before+step || next.Seq() != i+1 || s.Seq() != i {
				t.Errorf("%s, act %d: %d half-moves became %d", whole.Start, i, before, next.Ply())
			}
			if next.Gone && next.End != "" && a.Kind == practice.Move {
				t.Errorf("%s, act %d: stopped and ended", whole.Start, i)
			}
			s = next
		}
		if s.Pos.FEN() != whole.Pos.FEN() || s.End != whole.End {
			t.Errorf("%s folds to %s", whole.Start, s.Pos.FEN())
		}
	})
}

// TestFoldRefusesTamperedLogs: a log that nobody could have played is an error
// and no panic.
func TestFoldRefusesTamperedLogs(t *testing.T) {
	t.Parallel()
	s := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1").State
	for name, a := range map[string]practice.Act{
		"an illegal move":      {Seq: 1, Kind: practice.Move, Move: "a1h8"},
		"no move":              {Seq: 1, Kind: practice.Move},
		"an illegal reply":     {Seq: 1, Kind: practice.Move, Move: "a1a2", Reply: "e5e8"},
		"nothing to take back": {Seq: 1, Kind: practice.Back},
	} {
		if next, err := s.Fold(a); err == nil {
			t.Errorf("%s folds to %s", name, next.Pos.FEN())
		}
	}
	if s.Seq() != 0 || s.Ply() != 0 {
		t.Error("a refused act changed the state")
	}
}

// TestFoldLeavesTheOldState: states share their acts, and none writes into
// another's.
func TestFoldLeavesTheOldState(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	g.best()
	fork := g.State
	g.best()
	other := &game{TB: t, State: fork, n: 50}
	other.do(practice.Move, "Kf2")
	if fork.Seq() != 1 || g.Acts[1].Move == other.Acts[1].Move || len(fork.Line) != 1 {
		t.Errorf("%+v and %+v", g.Acts[1], other.Acts[1])
	}
}

// TestLeft: a game that was left for a day ends as left; one that had stopped
// ends as what became of the win. Nobody's ply matters.
func TestLeft(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, fen, move string
		want            practice.End
	}{
		{"KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "Kd2", practice.Abandoned},
		{"KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "Qf7", practice.Stalemate},
		{"KRK", "8/8/8/8/3k4/8/8/4R2K w - - 0 1", "Re3", practice.Dead},
		{"KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 76 90", "Kd2", practice.Fifty},
	} {
		g := begin(t, c.code, c.fen)
		g.do(practice.Move, c.move)
		next, err := practice.Apply(ctx, judge, g.State, practice.Command{Do: practice.Left, At: began})
		if err != nil || next.End != c.want || next.Last().End != c.want {
			t.Errorf("%s: %+v, %v; want %s", c.fen, next.Last(), err, c.want)
		}
	}
}

// TestEndedBeforeTheFirstMove: a game in which nothing was played is not won, and no stage
// is blamed or counted.
func TestEndedBeforeTheFirstMove(t *testing.T) {
	t.Parallel()
	for _, how := range []practice.Kind{practice.Left, practice.Resign, practice.Anew} {
		for _, change := range []func(*practice.Setup){test, func(*practice.Setup) {}} {
			g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", change)
			g.do(how, "")
			if o := g.outcome(); g.End == "" || o.Result != practice.NotWon || o.Failed != "" || o.Moves+len(o.Stages) != 0 {
				t.Errorf("%s: %+v", how, o)
			}
		}
	}
}

// TestResign ends a game that goes on; the stage of the last move is named.
func TestResign(t *testing.T) {
	t.Parallel()
	g := begin(t, "KBNK", "4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1")
	g.best()
	g.do(practice.Resign, "")
	if o := g.outcome(); g.End != practice.Resigned || o.Result != practice.NotWon || o.Failed != g.Acts[0].Stage {
		t.Errorf("%s: %+v", g.End, o)
	}
	if _, err := g.try(practice.Command{Do: practice.Resign}); refusal(err) != practice.Over {
		t.Errorf("resigned twice: %v", err)
	}
}

// TestTakeBack: the move and its reply go, the count of take-backs stays, and
// the stage pays.
func TestTakeBack(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", func(s *practice.Setup) { s.Backs = 2 })
	if _, err := g.try(practice.Command{Do: practice.Back}); refusal(err) != practice.NotTurn {
		t.Errorf("nothing to take back: %v", err)
	}
	g.best()
	after := g.Pos.FEN()
	g.do(practice.Move, "Ra3")
	g.do(practice.Back, "")
	if g.Pos.FEN() != after || g.BacksLeft() != 1 || g.Ply() != 2 || g.Seq() != 3 || !g.Aided() {
		t.Errorf("%s with %d left", g.Pos.FEN(), g.BacksLeft())
	}
	g.do(practice.Back, "")
	if g.Pos.FEN() != g.First.FEN() || g.BacksLeft() != 0 {
		t.Errorf("%s with %d left", g.Pos.FEN(), g.BacksLeft())
	}
	for g.End == "" {
		g.best()
	}
	helps := 0
	for _, r := range g.outcome().Stages {
		helps += r.Helps
	}
	if o := g.outcome(); o.Result != practice.WonHelped || helps != 2 {
		t.Errorf("%+v", o)
	}
}

// TestIdFound: an act is found by its client's id, none by an empty one.
func TestIdFound(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	g.best()
	if a, ok := g.Find("c1"); !ok || a.Seq != 1 {
		t.Errorf("%+v, %v", a, ok)
	}
	for _, id := range []string{"", "c2", "C1"} {
		if a, ok := g.Find(id); ok {
			t.Errorf("%q finds %+v", id, a)
		}
	}
}

// TestRefusalKinds: the kind that a refusal's word stands for, and that words
// come through wrapping.
func TestRefusalKinds(t *testing.T) {
	t.Parallel()
	for no, kind := range map[practice.No]kinds.Kind{
		practice.Stale: kinds.Conflict, practice.Over: kinds.Gone, practice.Denied: kinds.Denied,
		practice.Illegal: kinds.Bad, practice.NotTurn: kinds.Bad, practice.Bad: kinds.Bad,
	} {
		err := practice.Refuse(no, "Look again.")
		if got, ok := practice.Refusal(err); !ok || got != no || kinds.KindOf(err) != kind ||
			kinds.Saying(err) != "Look again." {
			t.Errorf("%s: %v, kind %d", no, err, kinds.KindOf(err))
		}
	}
	if no, ok := practice.Refusal(kinds.Fail(kinds.Bad, "x")); ok {
		t.Errorf("another error is the refusal %s", no)
	}
}

// TestWords: every end has a title, a game of one move is one move, and the
// articles are those of the Laws.
func TestWords(t *testing.T) {
	t.Parallel()
	titles := map[string]bool{}
	for _, e := range []practice.End{
		practice.Mated, practice.Reached, practice.Stalemate, practice.Dead, practice.Fifty, practice.Fivefold,
		practice.Threefold, practice.Drawn, practice.OverMoves, practice.Resigned, practice.Abandoned,
		practice.HeldOut, practice.LetGo, practice.Time, practice.Restarted, practice.Stopped,
	} {
		title := practice.State{End: e}.Title()
		if titles[title] || title == (practice.State{End: "other"}).Title() {
			t.Errorf("%s: %q", e, title)
		}
		titles[title] = true
		if own := e == practice.Reached || e == practice.OverMoves || e == practice.Abandoned || e == practice.Restarted || e == practice.Stopped ||
			e == practice.Drawn || e == practice.HeldOut || e == practice.LetGo; own != (e.Article() == "") {
			t.Errorf("%s: article %q", e, e.Article())
		}
		if won := (practice.State{End: e}).Success(); (e == practice.Mated || e == practice.Reached) != won {
			t.Errorf("%s: won is %v", e, won)
		}
	}
	for n, want := range map[int]string{1: "Checkmate in 1 move", 21: "Checkmate in 21 moves"} {
		if got := (practice.State{End: practice.Mated, Line: make([]practice.FullMove, n)}).Title(); got != want {
			t.Error(got)
		}
	}
}

// TestOutcomeSentences: what the end says to the student: a fact, and no blame.
func TestOutcomeSentences(t *testing.T) {
	t.Parallel()
	for want, o := range map[string]practice.Outcome{
		"You did it alone. Best: 14 moves.":        {Result: practice.Clean, Par: 14},
		"You did it alone.":                        {Result: practice.Clean},
		"You won alone, over par. Best: 14 moves.": {Result: practice.OverPar, Par: 14},
		"You played it with Coach Maren. Now try the same start alone.": {
			Result: practice.WonHelped, Shared: true, With: "Coach Maren",
		},
		"You played it with your coach. Now try the same start alone.": {
			Result: practice.NotWon, Shared: true,
		},
		"It counts as helped. Try the next one alone.": {Result: practice.WonHelped},
		"You got as far as this part: Mate. Trying it again is a good next step.": {
			Result: practice.NotWon, Failed: ending.Mate,
		},
		"You got as far as this part: Centralise. Trying it again is a good next step.": {
			Result: practice.NotWon, Failed: ending.Centralise,
		},
		"You got as far as this part: To the middle. Trying it again is a good next step.": {
			Result: practice.NotWon, Failed: ending.Centralise, Wording: 8,
		},
		"Another try is a good next step.": {Result: practice.NotWon},
		"A grown-up can tell you more.":    {Result: practice.NotWon, End: practice.Stopped, Failed: ending.Mate},
	} {
		if got := strings.Join(o.Sentences(), " "); got != want {
			t.Errorf("%+v says %q, want %q", o, got, want)
		}
		if again := strings.Contains(want, "another") || strings.Contains(want, "Another") ||
			strings.Contains(want, "again") || strings.Contains(want, "same start"); again != (o.Next() == practice.AgainStep) {
			t.Errorf("%q stands above a button that leads to %q", want, o.Next())
		}
	}
}

// TestShows: guided shows each verdict, practice what went wrong and every
// fourth move without coming nearer, a test nothing.
func TestShows(t *testing.T) {
	t.Parallel()
	for _, g := range []ending.Grade{ending.OnCourse, ending.Detour, ending.Slip, ending.WinGone} {
		for n := range 13 {
			stuck := n == 4 || n == 8 || n == 12
			if practice.Stuck(n) != stuck {
				t.Errorf("stuck at %d is %v", n, !stuck)
			}
			wrong := g == ending.Slip || g == ending.WinGone
			if !practice.Guided.Shows(g, n) || practice.Practice.Shows(g, n) != (wrong || stuck) || practice.Test.Shows(g, n) {
				t.Errorf("%s at %d", g, n)
			}
		}
	}
}

// TestHeldDrawIsNoFailure: a draw that was held is headed so, however it came.
func TestHeldDrawIsNoFailure(t *testing.T) {
	t.Parallel()
	for end, want := range map[practice.End]string{
		practice.HeldOut: "Held for 0 moves", practice.Dead: "You held the draw: too little left to mate with",
		practice.Stalemate: "You held the draw: stalemate", practice.Fifty: "You held the draw: the fifty-move rule",
		practice.Threefold: "You held the draw: the same position three times",
		practice.Fivefold:  "You held the draw: the same position five times",
	} {
		if got := (practice.State{Setup: practice.Setup{Task: practice.Hold{}}, End: end}).Title(); got != want {
			t.Errorf("%s is headed %q, want %q", end, got, want)
		}
	}
}

// TestPoints: a PGN's result is White's points first, whichever side the student has (PGN
// standard, S. J. Edwards 1994, 8.1.1.7).
func TestPoints(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		end          practice.End
		hold         bool
		white, black string
	}{
		{practice.Mated, false, "1-0", "0-1"}, {practice.Mated, true, "0-1", "1-0"}, {practice.Resigned, false, "0-1", "1-0"},
		{practice.Stalemate, false, "1/2-1/2", "1/2-1/2"}, {practice.Time, false, "1/2-1/2", "1/2-1/2"},
		{practice.Time, true, "0-1", "1-0"}, {practice.Stopped, false, "*", "*"}, {practice.Reached, false, "*", "*"},
	} {
		for side, want := range map[board.Color]string{board.White: c.white, board.Black: c.black} {
			mated := map[board.Color]string{board.White: "8/8/8/8/8/1k6/1q6/K7 w - - 0 1", board.Black: "k7/1Q6/1K6/8/8/8/8/8 b - - 0 1"}[side]
			s, err := practice.Begin(practice.Setup{Task: practice.TaskOf(c.hold), Side: side, Start: mated})
			if s.End = c.end; err != nil || s.Points() != want {
				t.Errorf("%s, hold %v, side %v: %s, %v", c.end, c.hold, side, s.Points(), err)
			}
		}
	}
}
