package ending

import (
	"fmt"

	"drover/game"
	"drover/game/board"
)

// How says how far the example is from its end, for every age.
func (e Example) How() string {
	switch {
	case e.hold && e.holding == 1:
		return fmt.Sprintf("A draw, by one move of %d.", e.moves)
	case e.hold:
		return fmt.Sprintf("A draw: %d of %d moves hold it.", e.holding, e.moves)
	}
	return fmt.Sprintf("Mate in %d with best play.", e.MateIn)
}

// For names the best move of the example and says what it does: with the man's name for
// eight, in SAN and with the numbers for fourteen.
func (e Example) For(age int) []string {
	if age >= Fourteen {
		return e.fourteen()
	}
	return []string{spoken(e.Position, e.Best) + e.shows() + "."}
}

// spoken says a move as one says it over a board: "Rook to e5".
func spoken(p board.Position, m board.Move) string {
	way := "to"
	if m.Capture {
		way = "takes"
	}
	s := fmt.Sprintf("%s %s %s", game.Upper(p.At(m.From).Kind.String()), way, m.To)
	if m.Promotion != board.King {
		s += " makes a " + m.Promotion.String()
	}
	return s
}

// goes says for eight where each region's end leaves him to go.
var goes = [...]string{1: ": he must leave the centre now", 2: ": he must leave the middle now", 3: ": he must go to the edge now"}

// shows says what the best move does, for eight, as the rest of a sentence.
func (e Example) shows() string {
	f := e.facts
	switch {
	case e.hold && e.holding == 1:
		return ": only this move holds"
	case e.hold:
		return ": this holds best"
	case f.Mate:
		return ": checkmate"
	case e.front:
		return ": now the pawn wins, whoever moves"
	case e.escort != "":
		return e.escort
	case e.Best.Promotion != board.King:
		return ""
	case f.Closed > 0:
		return goes[f.Closed]
	case f.Waited:
		return ": only the turn had to pass"
	case f.Least:
		return fmt.Sprintf(": his pen shrinks from %d squares to %d", f.PenWas, f.PenIs)
	case len(e.Gaps) > 0 && e.left == 0:
		return " closes " + closes(e.Gaps)
	case len(e.Gaps) > e.left:
		return fmt.Sprintf(": %d gaps before it, %d after", len(e.Gaps), e.left)
	}
	return ": he can step to " + game.Count(f.Steps, "square")
}

// closes names the gaps that are closed.
func closes(gaps []Gap) string {
	if len(gaps) > 2 {
		return fmt.Sprintf("all %d gaps", len(gaps))
	}
	var names []string
	for _, g := range gaps {
		names = append(names, g.To.String())
	}
	return "the way to " + game.List(names)
}

// fourteen says the same in SAN, with what the other moves are worth.
func (e Example) fourteen() []string {
	san, f := e.Position.SAN(e.Best), e.facts
	switch {
	case e.hold && e.holding == 1:
		return append([]string{fmt.Sprintf("%s alone holds.", san)}, said(e.loses)...)
	case e.hold:
		return []string{fmt.Sprintf("%s leaves the attacker the least.", san)}
	case f.Closed > 0:
		return append([]string{fmt.Sprintf("%s shuts him out of %s.", san, shutOut[f.Closed])}, e.others())
	case f.Waited:
		return append([]string{fmt.Sprintf("%s is a waiting move: only the turn had to pass.", san)}, e.others())
	}
	return []string{san + e.shows() + ".", e.others()}
}

// others says what the best move but one loses.
func (e Example) others() string {
	switch {
	case e.next == noOther:
		return "No other move wins."
	case e.next == 0:
		return "Another move is as good."
	}
	return fmt.Sprintf("The next best move takes %s longer.", game.Count(e.next, "move"))
}

func said(sentence string) []string {
	if sentence == "" {
		return nil
	}
	return []string{sentence}
}
