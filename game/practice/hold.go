package practice

import (
	"context"
	"fmt"

	"drover/game/board"
	"drover/game/ending"
)

// Hold is the task to defend a draw. It has one stage; its games give no rows of
// stages and no habits, which are of attacking games alone.
type Hold struct{}

// HeldMoves is how many moves a hold drill asks for where it does not say.
const HeldMoves = 10

// Wanted is the number of moves to be held in a hold drill.
func (s Setup) Wanted() int {
	if s.Budget > 0 {
		return s.Budget
	}
	return HeldMoves
}

// Judge says whether a move kept the draw.
func (Hold) Judge(ctx context.Context, j *ending.Judge, s State, m board.Move) (Judged, error) {
	v, err := j.JudgeHold(ctx, s.Pos, m)
	return Judged{Grade: v.Grade, Stage: ending.HoldStage}, err
}

// pressSeed is the seed of the attacker's answer to the nth own move: it changes with
// each, so that he does not try the same again where something else is as good.
func (s State) pressSeed(n int) int64 { return s.Seed + int64(n) }

// Answer is the attacker's. He plays on where the draw is gone: that shows why.
func (Hold) Answer(ctx context.Context, j *ending.Judge, s State) (*board.Move, error) {
	m, err := j.Press(ctx, s.Pos, s.pressSeed(len(s.Line)-1))
	return &m, err
}

// End is the end that the board makes, or the number of moves. Where the draw is gone
// there is none but in a test, since the student may take the move back.
func (Hold) End(_ context.Context, _ *ending.Judge, s State) (End, error) {
	replied := s.Pos.Turn() == s.Side
	switch {
	case s.Gone && s.Mode == Test && replied:
		return LetGo, nil
	case s.Gone:
		return "", nil
	case s.Pos.Checkmate():
		return Mated, nil
	case s.Pos.Stalemate():
		return Stalemate, nil
	case s.Pos.Dead():
		return Dead, nil
	case s.Times() >= 5:
		return Fivefold, nil
	case s.Pos.HalfMoves() >= 100:
		return Fifty, nil
	case len(s.Line) >= s.Wanted() && replied:
		return HeldOut, nil
	}
	return "", nil
}

// Declined is mate where the attacker's answer was one already.
func (Hold) Declined(_ context.Context, _ *ending.Judge, s State) (End, error) {
	if s.Pos.Checkmate() {
		return Mated, nil
	}
	return LetGo, nil
}

// Success is a game that was not lost.
func (Hold) Success(s State) bool {
	switch s.End {
	case HeldOut, Stalemate, Dead, Fifty, Fivefold, Threefold:
		return true
	case Mated:
		return s.Pos.Turn() != s.Side
	}
	return false
}

// Left counts the moves that are still to be held.
func (Hold) Left(s State) int { return s.Wanted() - len(s.Line) }

// Summary has neither par, stages nor habits.
func (Hold) Summary(_ context.Context, _ *ending.Judge, s State) (Outcome, error) {
	o := Outcome{Task: Hold{}, End: s.End, Moves: len(s.Line), Result: Clean}
	switch {
	case !s.Success():
		o.Result = NotHeld
	case s.Aided():
		o.Result = WonHelped
	}
	return o, nil
}

// Brief names the draw that is to be held, and for how long.
func (Hold) Brief(s State) Brief {
	b := Brief{Corners: []string{}, Wanted: s.Wanted()}
	if hold, ok := ending.HoldOf(s.Ending); ok {
		b.Stages = []Aim{{ending.HoldStage, hold.Name, hold.Aim}}
	}
	return b
}

// Staged is false: there is one stage.
func (Hold) Staged() bool { return false }

// Defends is true: a draw is what is asked for.
func (Hold) Defends() bool { return true }

// HoldVerdict judges a move of a hold drill again: reasons are recomputed, never
// stored.
func HoldVerdict(ctx context.Context, j *ending.Judge, t FullMove) (ending.HoldSituation, error) {
	v, err := j.JudgeHold(ctx, t.Before, t.Move)
	return ending.HoldSituation{Before: t.Before, Move: t.Move, Verdict: v, Reply: t.Reply}, err
}

// Why says how the draw was kept, or how the attacker wins now.
func (Hold) Why(ctx context.Context, j *ending.Judge, _ State, t FullMove, age int) ([]string, error) {
	situation, err := HoldVerdict(ctx, j, t)
	if err != nil {
		return nil, fmt.Errorf("verdict: %w", err)
	}
	facts, err := j.HoldFacts(ctx, situation)
	return facts.For(age), err
}

// Say gives the reasons alone.
func (h Hold) Say(ctx context.Context, j *ending.Judge, s State) (Said, error) {
	t := s.Line[len(s.Line)-1]
	why, err := h.Why(ctx, j, s, t, s.Wording)
	return Said{Grade: t.Act.Grade, Why: why}, err
}

// heldBy says how a draw was held, for those ends that the rules make.
var heldBy = map[End]string{
	Stalemate: "stalemate",
	Dead:      "too little left to mate with",
	Fifty:     "the fifty-move rule",
	Fivefold:  "the same position five times",
	Threefold: "the same position three times",
}

// Title calls a draw that was held so, however it came.
func (Hold) Title(s State) string {
	switch {
	case s.End == Mated && !s.Success():
		return "Checkmate"
	case heldBy[s.End] != "":
		return "You held the draw: " + heldBy[s.End]
	}
	return ""
}

// Praise names no best: there is none.
func (Hold) Praise(Outcome) string { return "You held it alone." }

// Gone is the headline where the draw went.
func (Hold) Gone() string { return "The draw is gone" }

// Cause says whether the attacker has mated, or wins.
func (Hold) Cause(_ context.Context, _ *ending.Judge, s State) (string, error) {
	if s.Pos.Checkmate() {
		return "Checkmate, FIDE Laws 5.1.1", nil
	}
	return "He wins from here", nil
}

// Stand knows the one stage.
func (Hold) Stand(context.Context, *ending.Judge, State) (Standing, error) {
	return Standing{Stage: ending.HoldStage}, nil
}

// Hint shows what the attacker wants, and what holds.
func (Hold) Hint(ctx context.Context, j *ending.Judge, s State, step ending.Help) (ending.Hint, error) {
	return j.HoldHint(ctx, s.Pos, step, s.pressSeed(len(s.Line)))
}

// HelpName names a step.
func (Hold) HelpName(step ending.Help) string {
	return [...]string{"", "his wish", "his next step", "the moves that hold", "the move"}[step]
}

// Name is that of a draw to be held.
func (Hold) Name(code string) (string, bool) {
	if hold, ok := ending.HoldOf(code); ok {
		return hold.Name, true
	}
	return "", false
}

// Line says for how long.
func (Hold) Line(s Setup) string { return "Hold the draw for " + Moves(s.Wanted()) }

// Pick picks positions that no side wins and in which not every move holds.
func (Hold) Pick(ctx context.Context, j *ending.Judge, code string, w ending.Wanted) (ending.Picked, error) {
	hold, _ := ending.HoldOf(code)
	return j.HoldStarts(ctx, hold, w)
}

// Paste reads positions that are a draw with the defender to move.
func (Hold) Paste(ctx context.Context, j *ending.Judge, code, text string) ([]board.Position, []string, error) {
	hold, _ := ending.HoldOf(code)
	return j.HoldPasted(ctx, hold, text)
}
