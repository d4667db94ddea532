package board

import (
	"fmt"
	"strings"
	"time"
)

// Game is a game to be written as PGN.
type Game struct {
	Event, Site  string
	Date         time.Time
	White, Black string
	Start        Position
	Opening      string // a comment before the first move, may be empty
	Moves        []Annotated
	Result       string // 1-0, 0-1, 1/2-1/2 or *
}

// Annotated is a move with a comment, which may be empty.
type Annotated struct {
	Move    Move
	NAG     int // numeric annotation glyph of the PGN standard, 0: none
	Comment string
}

// Remark adds a comment where the game stands: after the last move, or before the
// first.
func (g *Game) Remark(text string) {
	at := &g.Opening
	if n := len(g.Moves); n > 0 {
		at = &g.Moves[n-1].Comment
	}
	*at = strings.TrimSpace(*at + " " + text)
}

// lineLength is the greatest length of a line in export format (PGN standard,
// S. J. Edwards 1994, 4.3).
const lineLength = 79

// PGN writes the game in export format: the seven tags of the roster, SetUp
// and FEN, and the moves in lines of at most 79 characters.
func (g Game) PGN() string {
	var b strings.Builder
	tags := [][2]string{
		{"Event", g.Event}, {"Site", g.Site}, {"Date", g.Date.Format("2006.01.02")}, {"Round", "-"},
		{"White", g.White}, {"Black", g.Black}, {"Result", g.Result}, {"SetUp", "1"}, {"FEN", g.Start.FEN()},
	}
	for _, t := range tags {
		fmt.Fprintf(&b, "[%s \"%s\"]\n", t[0], strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(t[1]))
	}
	b.WriteString("\n" + wrap(g.tokens()) + "\n\n")
	return b.String()
}

// tokens are the words of the move text.
func (g Game) tokens() []string {
	out := remark(g.Opening)
	p, full := g.Start, g.Start.FullMoves()
	fresh := true
	for _, m := range g.Moves {
		switch {
		case p.Turn() == White:
			out = append(out, fmt.Sprintf("%d.", full))
		case fresh:
			out = append(out, fmt.Sprintf("%d...", full))
		}
		out = append(out, p.SAN(m.Move))
		if m.NAG > 0 {
			out = append(out, fmt.Sprintf("$%d", m.NAG))
		}
		said := remark(m.Comment)
		out, fresh = append(out, said...), len(said) > 0
		if p.Turn() == Black {
			full++
		}
		p = p.Play(m.Move)
	}
	return append(out, g.Result)
}

// remark is a comment in words; none for an empty one.
func remark(text string) []string {
	words := strings.Fields(strings.NewReplacer("{", "(", "}", ")").Replace(text))
	if len(words) > 0 {
		words[0] = "{" + words[0]
		words[len(words)-1] += "}"
	}
	return words
}

func wrap(words []string) string {
	var b strings.Builder
	n := 0
	for i, w := range words {
		switch {
		case i == 0:
		case n+1+len(w) > lineLength:
			b.WriteByte('\n')
			n = 0
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(w)
		n += len(w)
	}
	return b.String()
}
