package web_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
	"drover/store/storetest"
)

// TestPGNSaysTheFactFirst: a comment where a stage begins; at a move that was not on
// course the facts, and its grade last in brackets; a glyph only where the result
// changed (PGN standard, S. J. Edwards 1994, section 10, numeric annotation glyphs).
func TestPGNSaysTheFactFirst(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "export")
	wins := func(o ending.Option) bool { return o.Wins() }
	throws := func(o ending.Option) bool { return !o.Wins() }
	s.does(f.Student, f.Game, practice.Move, s.dearest(f, wins))
	s.does(f.Student, f.Game, practice.Move, s.dearest(f, wins))
	for s.dearest(f, throws) == "" { // until there is a way to throw the win away
		s.does(f.Student, f.Game, practice.Move, s.dearest(f, wins))
	}
	s.does(f.Student, f.Game, practice.Move, s.dearest(f, throws))
	state := s.does(f.Student, f.Game, practice.Resign, "")
	text := strings.Join(strings.Fields(s.as(f.Coach).get(fmt.Sprintf("/games/%d.pgn", f.Game)).body), " ")
	_, moves, _ := strings.Cut(text, fmt.Sprintf("[FEN \"%s\"] ", state.First.FEN()))
	if !regexp.MustCompile(`^\{Centralise, par \d+\.\} 1\. `).MatchString(moves) {
		t.Errorf("the first stage does not begin: %s", moves)
	}
	bad := 0
	for _, turn := range state.Line {
		if turn.Act.Grade == ending.OnCourse {
			continue
		}
		bad++
		why, err := state.Why(ctx, judge, turn, 14)
		if err != nil {
			t.Fatal(err)
		}
		glyph := ""
		if turn.Act.Grade == ending.WinGone {
			glyph = "$4 "
		}
		if want := fmt.Sprintf("%s %s{%s (%s)", turn.Before.SAN(turn.Move), glyph, strings.Join(why, " "), turn.Act.Grade); !strings.Contains(moves, want) {
			t.Errorf("not %q in %s", want, moves)
		}
	}
	if bad < 2 || strings.Count(moves, "$") != 1 {
		t.Errorf("%d moves that were not on course, %d glyphs: %s", bad, strings.Count(moves, "$"), moves)
	}
}

// dearest is the move of a sort that costs the student most; empty where there is
// none.
func (s *site) dearest(f storetest.Fixture, sort func(ending.Option) bool) string {
	s.Helper()
	state, err := s.hub.State(ctx, f.Student.Club, f.Game)
	if err != nil {
		s.Fatal(err)
	}
	options, err := judge.Options(ctx, state.Pos)
	if err != nil {
		s.Fatal(err)
	}
	move, most := "", -1
	for _, o := range options {
		if sort(o) && o.After.Plies > most {
			move, most = o.Move.UCI(), o.After.Plies
		}
	}
	return move
}
