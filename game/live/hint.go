package live

import (
	"context"
	"fmt"

	"drover/game/board"
	"drover/game/practice"
)

// drawHint computes what a step of help shows in the position of its act.
func (h *Hub) drawHint(ctx context.Context, s practice.State, a practice.Act) (*hintFrame, error) {
	hint, err := s.Task.Hint(ctx, h.judge, s, a.Help)
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
