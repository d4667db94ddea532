package solver

import (
	"strings"
	"testing"
)

// board places men given as "Ke1 Re2 ke6": upper case White.
func board(turn Color, men string) Position {
	p := Position{Turn: turn, EnPassant: NoSquare}
	for _, m := range strings.Fields(men) {
		color := White
		if m[0] >= 'a' {
			color = Black
		}
		p.Men[p.Count] = Man{Kind(strings.Index(kindLetters, strings.ToUpper(m[:1]))), color, square(m[1:])}
		p.Count++
	}
	return p
}

// Each illegal placement gets a sentence that names what to change.
func TestCheckSays(t *testing.T) {
	t.Parallel()
	passing := func(p Position, at string) Position { p.EnPassant = square(at); return p }
	for _, c := range []struct {
		p    Position
		want string
	}{
		{board(White, "Ke1"), "the board has 1 men"},
		{Position{Count: 9}, "the board has 9 men"},
		{board(White, "Ke1 Re2"), "Black has 0 kings"},
		{board(White, "Ke1 ke8 kd8"), "Black has 2 kings"},
		{board(White, "Ke1 ke2"), "touch"},
		{board(White, "Ke1 ke8 Re8"), "two men stand on e8"},
		{board(White, "Ke1 ke8 Pe8"), "two men stand on e8"},
		{board(White, "Ke1 ke8 Pd8"), "pawn on d8"},
		{board(Black, "Ke1 ke8 pd1"), "pawn on d1"},
		{board(White, "Ke1 ke8 Re4"), "Black is in check with White to move"},
		{board(Black, "Ke1 ke8 re4"), "White is in check with Black to move"},
		{board(White, "Ke1 ke8 Xe4"), "unknown man"},
		{passing(board(White, "Ke1 ke8 Pd5"), "e6"), "no pawn has just passed e6"},
		{passing(board(White, "Ke1 ke8 Pd5 pe5"), "e3"), "taken in passing on e3"},
		{passing(board(White, "Ke1 kd7 Pd5 pe5"), "e6"), ""},
		{passing(board(White, "Ke1 ke7 Pd5 pe5"), "e6"), "no pawn has just passed e6"},
		{passing(board(Black, "Ka1 ka8 Pd4 pe4"), "d3"), ""},
		{board(Black, "Ke1 ke8 Re4"), ""},
		{board(White, "Ke1 ke8"), ""},
	} {
		switch err := c.p.Validate(); {
		case c.want == "" && err != nil, c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%+v: %v, want %q", c.p, err, c.want)
		}
	}
}

func TestNameAndAttacker(t *testing.T) {
	t.Parallel()
	for men, want := range map[string]string{
		"Ke1 Na1 Bb1 ke8": "KBNK White", "Ke1 nb5 bb6 ke8": "KBNK Black", "Ke1 ke8": "KK White",
		"Ke1 ra8 ra7 kh8": "KRRK Black",
		"Ke1 Rb1 qb2 ke8": "KQKR Black", "Ke1 Pb2 ph3 ke8": "KPKP White", "Ke1 Ph2 na3 ke8": "KNKP Black", "Ke1": " White",
	} {
		p := board(White, men)
		if got := p.Name() + " " + p.Attacker().String(); got != want {
			t.Errorf("%s: %q, want %q", men, got, want)
		}
	}
}

func TestMoveText(t *testing.T) {
	t.Parallel()
	for want, m := range map[string]Move{
		"e2e4":  {From: square("e2"), To: square("e4")},
		"e7e8q": {From: square("e7"), To: square("e8"), Promotion: Queen},
		"a2b1n": {From: square("a2"), To: square("b1"), Promotion: Knight, Capture: true},
	} {
		if got := m.String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if NoSquare.String() != "-" || Kind(9).String() != "unknown man" || Pawn.String() != "pawn" {
		t.Error("the absence of a square or an unknown kind is named wrongly")
	}
}

// A pawn taken in passing is gone; a promoted one is the new man.
func TestPlayPawns(t *testing.T) {
	t.Parallel()
	p := board(Black, "Ka1 ka8 Pd2 pe4")
	p.Turn = White
	p = p.Play(Move{From: square("d2"), To: square("d4")})
	if p.EnPassant != square("d3") {
		t.Fatalf("passing on %v, want d3", p.EnPassant)
	}
	after := p.Play(Move{From: square("e4"), To: square("d3"), Capture: true})
	if want := board(White, "Ka1 ka8 pd3"); after != want {
		t.Errorf("after taking in passing: %s, want %s", after.text(), want.text())
	}
	p = board(White, "Ka1 Pb7 kh8 ra8")
	after = p.Play(Move{From: square("b7"), To: square("a8"), Promotion: Knight, Capture: true})
	if want := board(Black, "Ka1 Na8 kh8"); after != want {
		t.Errorf("after promoting: %s, want %s", after.text(), want.text())
	}
}
