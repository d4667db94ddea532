package practice

import (
	"context"
	"fmt"

	"drover/game/board"
	"drover/game/ending"
)

// Win is the task to win: to mate, or to complete the stages of a drill.
type Win struct{}

// Judge grades a move in the stage in which the game stands.
func (Win) Judge(ctx context.Context, j *ending.Judge, s State, m board.Move) (Judged, error) {
	at, err := Now(ctx, j, s)
	if err != nil {
		return Judged{}, err
	}
	v, err := j.Judge(ctx, s.Pos, m, at.Inner)
	return Judged{Grade: v.Grade, Cost: v.Cost, Plies: v.Before.Plies, Stage: at.Stage, Par: at.Par}, err
}

// Answer is the defender's. By hand it comes in an act of its own, while a coach
// watches a game that is still won.
func (Win) Answer(ctx context.Context, j *ending.Judge, s State) (*board.Move, error) {
	if s.Pos.Stalemate() || s.Defender == ending.ByHand && len(s.Lines) > 0 && !s.Gone {
		return nil, nil
	}
	m, err := j.Reply(ctx, s.Pos, s.Defender, s.Seed)
	return &m, err
}

// End is the end that the board makes, or the drill's last stage or number of moves.
// A position in which the win is gone is one only in a test, since the student may
// take the move back.
func (w Win) End(ctx context.Context, j *ending.Judge, s State) (End, error) {
	if end := s.onBoard(); end != "" {
		return end, nil
	}
	switch {
	case s.Mode == Test && s.Pos.Stalemate() && s.Pos.Turn() != s.Side:
		return Stalemate, nil
	case s.Pos.Turn() != s.Side: // the reply is still to come
		return "", nil
	case s.Gone && s.Mode == Test && s.Pos.Dead():
		return Dead, nil
	case s.Gone && s.Mode == Test:
		return w.Declined(ctx, j, s)
	case s.Gone:
		return "", nil
	}
	return reached(ctx, j, s)
}

// onBoard is the end that the board alone makes, whether the drill is done or not.
func (s State) onBoard() End {
	switch {
	case s.Pos.Checkmate():
		return Mated
	case s.Times() >= 5:
		return Fivefold
	case s.Times() >= 3 && s.Mode == Test && s.Pos.Turn() == s.Side:
		return Threefold
	case s.Pos.HalfMoves() >= 100 && !s.Gone:
		return Fifty
	}
	return ""
}

// reached ends a game at its drill's last stage, or at its number of moves.
func reached(ctx context.Context, j *ending.Judge, s State) (End, error) {
	l, err := j.Look(ctx, s.Pos)
	switch {
	case err != nil:
		return "", fmt.Errorf("look: %w", err)
	case done(l, s.Setup):
		return Reached, nil
	case s.Budget > 0 && len(s.Line) >= s.Budget:
		return OverMoves, nil
	}
	return "", nil
}

// done says whether a stage that does not end with mate is complete.
func done(l ending.Look, s Setup) bool {
	if l.Plan == nil || !l.Won() || s.Target == ending.Mate {
		return false
	}
	if own, ok := ending.PlanOf(s.Ending); ok && own.Pawn {
		return l.Plan != own || l.Stage > own.Index(s.Target)
	}
	i := l.Plan.Index(s.Target)
	return i >= 0 && l.Plan.Steps[i].Region > 0 && l.ShutOut[l.Plan.Steps[i].Region-1]
}

// Declined says what took the win: the fifty-move rule, or the student's move.
func (Win) Declined(ctx context.Context, j *ending.Judge, s State) (End, error) {
	fifty, err := byFifty(ctx, j, s)
	if fifty {
		return Fifty, err
	}
	return Drawn, err
}

// byFifty says whether only the fifty-move rule took the win of the last move.
func byFifty(ctx context.Context, j *ending.Judge, s State) (bool, error) {
	n := len(s.Line)
	if n == 0 || s.Line[n-1].Act.Grade != ending.WinGone {
		return false, nil
	}
	situation, err := s.Verdict(ctx, j, s.Line[n-1])
	return situation.Verdict.Fifty, err
}

// Success is mate, or the drill's last stage.
func (Win) Success(s State) bool { return s.End == Mated || s.End == Reached }

// Left counts the moves that the fifty-move rule and the drill's budget leave.
func (Win) Left(s State) int {
	n := (100 - s.Pos.HalfMoves()) / 2
	if s.Budget > 0 {
		n = min(n, s.Budget-len(s.Line))
	}
	return n
}

// Summary holds a game against par, stage by stage, and counts its habits.
func (Win) Summary(ctx context.Context, j *ending.Judge, s State) (Outcome, error) {
	par, err := ParOfStart(ctx, j, s)
	if err != nil {
		return Outcome{}, fmt.Errorf("par of the start: %w", err)
	}
	if coach, ok := s.Partner(); ok {
		return shared(s, par, coach), nil
	}
	c, err := countStages(ctx, j, s)
	if err != nil {
		return Outcome{}, fmt.Errorf("habits: %w", err)
	}
	o := Outcome{End: s.End, Moves: len(s.Line), Par: par, Stages: stages(s), Wording: s.Wording}
	for i := range o.Stages {
		o.Stages[i].Weights, o.Stages[i].Habits = c.weights[o.Stages[i].Stage], c.habits[o.Stages[i].Stage]
	}
	switch {
	case !s.Success():
		o.Result = NotWon
		fifty, err := byFifty(ctx, j, s)
		if err != nil {
			return o, err
		}
		o.Failed = failed(s, o.Stages, fifty || s.End == Fifty)
	case s.Aided():
		o.Result = WonHelped
	case o.Moves > par+s.Allowance && !pawns(s):
		o.Result = OverPar
	default:
		o.Result = Clean
	}
	return o, nil
}

// Brief lists the stages of the plan.
func (Win) Brief(s State) Brief {
	b := Brief{Corners: ending.Corners(s.First, s.Side)}
	if plan, ok := ending.PlanOf(s.Ending); ok {
		b.Pen = plan.Pen
		for _, step := range plan.Steps {
			b.Stages = append(b.Stages, Aim{step.Stage, step.Stage.For(s.Wording), step.Aim})
		}
	}
	return b
}

// Staged is true: a plan has stages.
func (Win) Staged() bool { return true }

// Defends is false: a draw is not enough.
func (Win) Defends() bool { return false }

// reasons judges a move again and computes why.
func (Win) reasons(ctx context.Context, j *ending.Judge, s State, t FullMove) (ending.Situation, ending.Facts, error) {
	situation, err := s.Verdict(ctx, j, t)
	if err != nil {
		return situation, ending.Facts{}, fmt.Errorf("verdict: %w", err)
	}
	facts, err := j.Facts(ctx, situation)
	if err != nil {
		err = fmt.Errorf("reasons: %w", err)
	}
	return situation, facts, err
}

// Why gives the reasons for a grade.
func (w Win) Why(ctx context.Context, j *ending.Judge, s State, t FullMove, age int) ([]string, error) {
	_, facts, err := w.reasons(ctx, j, s, t)
	return facts.For(age), err
}

// Say adds to the reasons that a move came no nearer, and that the position has been
// there twice before.
func (w Win) Say(ctx context.Context, j *ending.Judge, s State) (Said, error) {
	t := s.Line[len(s.Line)-1]
	situation, facts, err := w.reasons(ctx, j, s, t)
	if err != nil {
		return Said{}, err
	}
	stuck := s.NoNearer()
	said := Said{Grade: t.Act.Grade, Back: s.Lost(situation.Verdict), Why: facts.For(s.Wording)}
	if !facts.Mate {
		said.Grade = ShownGrade(t.Act.Grade, stuck)
	}
	if Stuck(stuck) && !facts.Mate {
		said.Why = append([]string{ending.NoNearer(stuck)}, said.Why...)
	}
	if s.Times() == 3 && s.End == "" {
		said.Why = append(said.Why, "The same position for the third time: a draw may be claimed.")
	}
	return said, nil
}

// Title is empty: the headlines of every kind do.
func (Win) Title(State) string { return "" }

// Praise names the best, where there is one to name.
func (Win) Praise(o Outcome) string {
	if o.Par == 0 {
		return "You did it alone."
	}
	return fmt.Sprintf("You did it alone. Best: %s.", Moves(o.Par))
}

// Gone is the headline where the win went.
func (Win) Gone() string { return "The win is gone" }

// Cause says what the win came to.
func (Win) Cause(ctx context.Context, j *ending.Judge, s State) (string, error) {
	switch {
	case s.Pos.Stalemate():
		return "Stalemate, FIDE Laws 5.2.1", nil
	case s.Pos.Dead():
		return "Dead position, FIDE Laws 5.2.2", nil
	}
	fifty, err := byFifty(ctx, j, s)
	if fifty {
		return "Fifty-move rule, FIDE Laws 9.3", err
	}
	return "He can hold the draw from here", err
}

// Stand is Now.
func (Win) Stand(ctx context.Context, j *ending.Judge, s State) (Standing, error) {
	return Now(ctx, j, s)
}

// Hint helps in the stage in which the game stands.
func (Win) Hint(ctx context.Context, j *ending.Judge, s State, step ending.Help) (ending.Hint, error) {
	at, err := Now(ctx, j, s)
	if err != nil {
		return ending.Hint{}, err
	}
	return j.Hint(ctx, s.Pos, step, at.Inner, s.Defender, s.Seed)
}

// HelpName names a step.
func (Win) HelpName(step ending.Help) string {
	return [...]string{"", "his wish", "cover", "which man", "the move"}[step]
}

// Name is that of a plan.
func (Win) Name(code string) (string, bool) {
	if plan, ok := ending.PlanOf(code); ok {
		return plan.Name, true
	}
	return "", false
}

// Line says against whom.
func (Win) Line(s Setup) string {
	who, _ := ending.DefenderOf(s.Defender) // a drill was checked for it
	return "Against a king that " + who.Does
}

// Pick picks positions of a stage.
func (Win) Pick(ctx context.Context, j *ending.Judge, code string, w ending.Wanted) (ending.Picked, error) {
	plan, _ := ending.PlanOf(code)
	return j.Pick(ctx, plan, w)
}

// Paste reads positions that are won.
func (Win) Paste(ctx context.Context, j *ending.Judge, code, text string) ([]board.Position, []string, error) {
	plan, _ := ending.PlanOf(code)
	return j.Pasted(ctx, plan, text)
}
