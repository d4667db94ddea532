package live

import (
	"context"
	"fmt"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// drawAim is what the stage wants, drawn as the second step of help draws it, from the move on
// at which the page says that the moves come no nearer. It is part of that sentence and no
// help. Nil where nothing is said.
func (h *Hub) drawAim(ctx context.Context, s practice.State) (*hintFrame, error) {
	n := len(s.Line)
	if n == 0 || veiled(s) || s.Quiet || !s.Task.Staged() {
		return nil, nil
	}
	if g := s.Line[n-1].Act.Grade; practice.ShownGrade(g, s.NoNearer()) != practice.StuckGrade || !s.Mode.Shows(g, s.NoNearer()) {
		return nil, nil
	}
	f, err := h.drawStep(ctx, s, ending.HelpCover)
	if err != nil || len(f.Pen) <= openPen {
		return f, err
	}
	return h.drawStep(ctx, s, ending.HelpWish) // of an open pen there is nothing to draw
}

// openPen is the number of squares above which his pen has no hurdles on the board.
const openPen = 24

// drawStep computes what a step of help shows for the position on the board.
func (h *Hub) drawStep(ctx context.Context, s practice.State, step ending.Help) (*hintFrame, error) {
	hint, err := s.Task.Hint(ctx, h.judge, s, step)
	if err != nil {
		return nil, fmt.Errorf("help: %w", err)
	}
	f := &hintFrame{Step: hint.Step, Pen: names(hint.Pen)}
	if hint.Wish != nil {
		f.Wish = hint.Wish.String()
	}
	for _, c := range hint.Cover {
		f.Cover = append(f.Cover, coverFrame{c.Man.String(), c.At.String(), names(c.Squares)})
	}
	for _, g := range hint.Gaps {
		f.Gaps = append(f.Gaps, [2]string{g.From.String(), g.To.String()})
	}
	if hint.Man != nil {
		f.Man = hint.Man.String()
	}
	if hint.Next != nil {
		f.Next = &moveFrame{UCI: hint.Next.UCI()}
	}
	for _, m := range hint.HoldingMoves {
		f.HoldingMoves = append(f.HoldingMoves, moveFrame{m.UCI(), s.Pos.SAN(m)})
	}
	if hint.Move != nil {
		f.Move = &moveFrame{hint.Move.UCI(), s.Pos.SAN(*hint.Move)}
	}
	return f, nil
}

func names(squares []board.Square) []string {
	out := make([]string, len(squares))
	for i, s := range squares {
		out[i] = s.String()
	}
	return out
}
