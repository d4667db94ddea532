package ending_test

import (
	"context"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// TestGrades has a real position for each grade in each ending that can have
// it: cost, the stage of the move and the stage after it.
func TestGrades(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		fen, move   string
		grade       ending.Grade
		cost        int
		stage, next ending.Stage
	}{
		{"7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", ending.OnCourse, 0, ending.Mate, ending.Mate},
		{"8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qd4+", ending.OnCourse, 0, ending.Edge, ending.Edge},
		{"8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Kd6", ending.OnCourse, 1, ending.Edge, ending.Edge},
		{"8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Ke6", ending.Detour, 2, ending.Edge, ending.Edge},
		{"8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qa5+", ending.WinGone, 0, ending.Edge, ending.Edge},
		{"8/8/8/8/K7/8/5Q2/7k w - - 0 1", "Qe1+", ending.Slip, 2, ending.Mate, ending.Edge},
		{"8/8/8/8/K7/8/5Q2/7k w - - 0 1", "Ka3", ending.WinGone, 0, ending.Mate, ending.Mate},
		{"8/8/4k3/8/8/3R4/K7/8 w - - 0 1", "Rd5", ending.WinGone, 0, ending.Centralise, ending.Centralise},
		{"8/8/3K4/8/7R/3R4/2k5/8 w - - 0 1", "Kc5", ending.Detour, 9, ending.Edge, ending.Edge},
		{"1k4K1/8/R7/3R4/8/8/8/8 w - - 0 1", "Ra7", ending.Slip, 6, ending.Mate, ending.Edge},
		{"5B2/8/8/5B2/5k2/8/K7/8 w - - 0 1", "Bb1", ending.OnCourse, 0, ending.Centralise, ending.Centralise},
		{"5B2/8/8/5B2/5k2/8/K7/8 w - - 0 1", "Kb2", ending.WinGone, 0, ending.Centralise, ending.Centralise},
		{"k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1", "Ba6", ending.OnCourse, 0, ending.Mate, ending.Mate},
		{"k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1", "Ka5", ending.Slip, 10, ending.Mate, ending.Corner},
		{"k7/8/1K6/3N4/8/8/8/5B2 w - - 93 80", "Ba6", ending.OnCourse, 0, ending.Mate, ending.Mate},
		{"k7/8/1K6/3N4/8/8/8/5B2 w - - 93 80", "Ka5", ending.WinGone, 0, ending.Mate, ending.Mate},
	} {
		p := parse(t, c.fen)
		v := judgeMove(t, p, find(t, p, c.move), 0)
		steps := v.Before.Plan.Steps
		if v.Grade != c.grade || v.Cost != c.cost || steps[v.Stage].Stage != c.stage || steps[v.Next].Stage != c.next {
			t.Errorf("%s %s: %s, cost %d, %s to %s", c.fen, c.move, v.Grade, v.Cost, steps[v.Stage].Stage, steps[v.Next].Stage)
		}
		if v.Back != (v.Next < v.Stage) || v.Fifty != strings.Contains(c.fen, " 93 ") && c.grade == ending.WinGone {
			t.Errorf("%s %s: back %v, fifty %v", c.fen, c.move, v.Back, v.Fifty)
		}
	}
}

// TestGradeIsItsDefinition: over random positions, moves and sticking stages
// each grade is what design says it is, worked out here from the positions.
func TestGradeIsItsDefinition(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	seen := map[string]int{}
	each(t, func(s ending.Situation, _ ending.Facts) {
		if s.Reply != nil {
			return
		}
		plan := s.Verdict.Before.Plan
		stage := rng.IntN(len(plan.Steps))
		v := judgeMove(t, s.Before, s.Move, stage)
		before, after := look(t, s.Before), look(t, s.Before.Play(s.Move))
		grade, cost, next := define(plan, before, after, max(stage, before.Stage))
		if v.Grade != grade || v.Cost != cost || v.Next != next {
			t.Errorf("%s %s in stage %d: %s, cost %d, next %d; by definition %s, %d, %d",
				s.Before.FEN(), s.Before.SAN(s.Move), stage, v.Grade, v.Cost, v.Next, grade, cost, next)
		}
		seen[string(grade)]++
		if grade == ending.Detour && v.Back {
			seen["detour back"]++
		}
	})
	for _, want := range []string{"on course", "detour", "slip", "win gone", "detour back"} {
		if seen[want] < 20 {
			t.Errorf("only %d of %q", seen[want], want)
		}
	}
}

// define grades a move by the words of the definition. stage sticks already.
func define(plan *ending.Plan, before, after ending.Look, stage int) (grade ending.Grade, cost, next int) {
	if !after.Won() {
		return ending.WinGone, 0, stage
	}
	cost = after.MateIn() + 1 - before.MateIn()
	held := func(l ending.Look) bool { return stage == 0 || l.ShutOut[plan.Steps[stage-1].Region-1] }
	switch {
	case cost <= 1:
		return ending.OnCourse, cost, stage
	case held(after):
		return ending.Detour, cost, stage
	case held(before):
		grade = ending.Slip
	default:
		grade = ending.Detour
	}
	for next < plan.Last() && after.ShutOut[plan.Steps[next].Region-1] {
		next++
	}
	return grade, cost, next
}

// TestBlameIsExact: no reply of the defender ever leaves a region that holds,
// so a stage that is lost was lost by an own move.
func TestBlameIsExact(t *testing.T) {
	t.Parallel()
	held := [3]int{}
	each(t, func(s ending.Situation, _ ending.Facts) {
		if s.Reply != nil {
			return
		}
		p := s.Before.Play(s.Move)
		l := look(t, p)
		if !l.Won() {
			return
		}
		for _, m := range p.Moves() {
			next := look(t, p.Play(m))
			for r, was := range l.ShutOut {
				if !was {
					continue
				}
				if held[r]++; !next.ShutOut[r] {
					t.Errorf("%s: region %d holds, and %s leaves it", p.FEN(), r+1, p.SAN(m))
				}
			}
		}
	})
	if held[0] < 1000 || held[1] < 1000 || held[2] < 150 {
		t.Errorf("regions held %v times: too few to say", held)
	}
}

// TestStick: a stage goes up with the position and never down by it; one that
// the plan does not have is taken from the position.
func TestStick(t *testing.T) {
	t.Parallel()
	plan, _ := ending.PlanOf("KBNK")
	for _, c := range []struct{ raw, was, want int }{
		{0, 0, 0}, {2, 0, 2}, {0, 2, 2}, {3, 1, 3}, {1, 3, 3}, {2, 4, 2}, {-1, 0, 0}, {-1, 2, 2}, {1, -1, 1},
	} {
		if got := ending.Stick(ending.Look{Plan: plan, Stage: c.raw}, c.was); got != c.want {
			t.Errorf("stage %d, position %d: %d, want %d", c.was, c.raw, got, c.want)
		}
	}
	if got := ending.Stick(ending.Look{Stage: -1}, 3); got != 0 {
		t.Errorf("without a plan: %d", got)
	}
}

// TestStageNeverFallsByReply: over random games of weak play the sticking stage
// falls only with an own move of cost 2 or more.
func TestStageNeverFallsByReply(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 9))
	falls := 0
	for _, plan := range ending.Plans() {
		for range 6 {
			p := aStart(t, &plan, rng.Int64())
			for stage, move := 0, 0; move < 40; move++ {
				m := p.Moves()[rng.IntN(len(p.Moves()))]
				if best, _, err := judge.Best(context.Background(), p); err == nil && rng.IntN(3) > 0 {
					m = best.Move
				}
				v := judgeMove(t, p, m, stage)
				if v.Stage < stage || v.Back && v.Cost < 2 {
					t.Fatalf("%s %s: stage %d became %d, cost %d", p.FEN(), p.SAN(m), stage, v.Stage, v.Cost)
				}
				if v.Back {
					falls++
				}
				stage, p = v.Next, p.Play(m)
				if v.Grade == ending.WinGone || p.Checkmate() {
					break
				}
				p = p.Play(reply(t, p, "centre", 4))
				if l := look(t, p); l.Plan != v.Before.Plan {
					break // a rook is gone: another plan
				}
			}
		}
	}
	if falls == 0 {
		t.Error("no stage ever fell")
	}
}

func aStart(t *testing.T, plan *ending.Plan, seed int64) board.Position {
	t.Helper()
	starts, err := judge.Starts(context.Background(), plan, plan.Steps[0].Stage, 1, seed)
	if err != nil {
		t.Fatal(err)
	}
	return starts[0]
}

// exchanged is the same position with the colours exchanged.
func exchanged(t testing.TB, p board.Position) board.Position {
	t.Helper()
	f := strings.Fields(p.FEN())
	rows := strings.Split(f[0], "/")
	for i := range 4 {
		rows[i], rows[7-i] = rows[7-i], rows[i]
	}
	swap := func(r rune) rune {
		if unicode.IsUpper(r) {
			return unicode.ToLower(r)
		}
		return unicode.ToUpper(r)
	}
	f[0] = strings.Map(swap, strings.Join(rows, "/"))
	f[1] = map[string]string{"w": "b", "b": "w"}[f[1]]
	return parse(t, strings.Join(f, " "))
}

// TestColoursExchanged: Black attacking gets the same verdicts as White.
func TestColoursExchanged(t *testing.T) {
	t.Parallel()
	each(t, func(s ending.Situation, f ending.Facts) {
		if s.Reply != nil {
			return
		}
		p := exchanged(t, s.Before)
		m := find(t, p, mirrored(s.Move))
		v := judgeMove(t, p, m, 0)
		w := s.Verdict
		if v.Before.Attacker != board.Black || v.Before.Name != w.Before.Name || v.Before.ShutOut != w.Before.ShutOut ||
			v.After.ShutOut != w.After.ShutOut {
			t.Errorf("%s: %+v, exchanged %+v", s.Before.FEN(), w.Before, v.Before)
		}
		if v.Grade != w.Grade || v.Cost != w.Cost || v.Stage != w.Stage || v.Next != w.Next || v.Par != w.Par ||
			v.Before.Plies != w.Before.Plies {
			t.Errorf("%s %s: %s, cost %d, exchanged %s, %d", s.Before.FEN(), s.Before.SAN(s.Move), w.Grade, w.Cost, v.Grade,
				v.Cost)
		}
		g := facts(t, ending.Situation{Before: p, Move: m, Verdict: v})
		if g.Closed != f.Closed || g.Waited != f.Waited || g.PenIs != f.PenIs || g.Steps != f.Steps || g.Stale != f.Stale ||
			g.Forked != f.Forked {
			t.Errorf("%s %s: %+v, exchanged %+v", s.Before.FEN(), s.Before.SAN(s.Move), f, g)
		}
	})
}

// mirrored is a move on the board turned upside down.
func mirrored(m board.Move) string {
	flip := func(s board.Square) string { return (s ^ 56).String() }
	return flip(m.From) + flip(m.To)
}

// TestSurveyAgreesWithJudge: the two ways to a grade give the same one, and
// each answer is what is true of the position after its move.
func TestSurveyAgreesWithJudge(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(5, 5))
	for _, plan := range ending.Plans() {
		p := aStart(t, &plan, rng.Int64())
		for range 6 {
			now, answers, err := judge.Survey(ctx, p)
			if err != nil || now != look(t, p) || len(answers) != len(p.Moves()) {
				t.Fatalf("%s: %+v, %d answers, %v", p.FEN(), now, len(answers), err)
			}
			for i, a := range answers {
				if a.Move.UCI() != p.Moves()[i].UCI() || a.After != look(t, p.Play(a.Move)) {
					t.Errorf("%s %s: answered %+v", p.FEN(), p.SAN(p.Moves()[i]), a)
				}
				if v := judgeMove(t, p, a.Move, 0); v.Grade != a.Grade || v.Cost != a.Cost {
					t.Errorf("%s %s: survey %s %d, judge %s %d", p.FEN(), p.SAN(a.Move), a.Grade, a.Cost, v.Grade, v.Cost)
				}
			}
			best, _, _ := judge.Best(ctx, p)
			if p = p.Play(best.Move); p.Checkmate() {
				break
			}
			_, answers, err = judge.Survey(ctx, p)
			if err != nil || len(answers) == 0 || answers[0].Grade != "" {
				t.Errorf("%s: the defender's moves have no grade: %+v, %v", p.FEN(), answers, err)
			}
			p = p.Play(reply(t, p, "longest", 1))
		}
	}
}

// TestUnderFifty: a win that takes longer than the clock allows is a draw
// under the rule (FIDE Laws 9.3).
func TestUnderFifty(t *testing.T) {
	t.Parallel()
	for clock, want := range map[string]solver.Outcome{"0": solver.Win, "93": solver.Win, "94": solver.Draw,
		"99": solver.Draw} {
		l := look(t, parse(t, "k7/8/1K6/3N4/8/8/8/5B2 w - - "+clock+" 80"))
		if l.Outcome != solver.Win || l.Plies != 7 || l.UnderFifty() != want {
			t.Errorf("clock %s: %+v, under the rule %d", clock, l, l.UnderFifty())
		}
	}
}
