package student

import (
	"net/http"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/web/site"
)

type fromForm struct {
	Seq int `schema:"seq"` // the number of the act that is the move
}

// From begins a game from a position of an ended one, before an own move: the same ending
// against the same defender. It counts for nothing, and can be had as often as wanted.
func (s Pages) From(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f fromForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	info, state, err := s.ownState(r, a)
	if err != nil {
		return err
	}
	if state.Quiet {
		return site.Missing()
	}
	if state.End == "" {
		return game.Fail(game.Conflict, "This game still goes on. When it has ended, any of its positions can be played once more.")
	}
	story, err := state.Story()
	if err != nil {
		return err
	}
	for _, t := range story {
		if t.Act.Seq == f.Seq {
			g, err := s.Store.FromHere(r.Context(), a, info.ID, drillFrom(info, state, t), t.No)
			if err != nil {
				return err
			}
			return s.GoPlay(w, r, g)
		}
	}
	return site.Missing()
}

// drillFrom is what is played from before a move of a game: with the help and the verdicts of
// its kind, after a test those of a first try. A draw is held for as many moves as there.
func drillFrom(info store.GameInfo, state practice.State, t practice.Told) club.Drill {
	mode := info.Mode
	if mode == practice.Test {
		mode = practice.Guided
	}
	d := club.Drill{Ending: info.Ending, Hold: info.Hold, Mode: mode, From: t.Act.Stage, To: info.To, Defender: info.Defender,
		Starts: []string{fresh(t.Before)}, Rule: club.RuleOf(mode)}
	if info.Hold {
		d.Rule.Budget = state.Budget
	}
	return d
}

// fresh is a position with its counts begun anew, so that the fifty moves are there again.
func fresh(p board.Position) string { return strings.Join(strings.Fields(p.FEN())[:4], " ") + " 0 1" }
