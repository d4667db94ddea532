package student

import (
	"context"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/board"
	"drover/game/live"
	"drover/game/practice"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

type startForm struct {
	Assignment game.AssignmentID `schema:"assignment"`
}

// Start opens the next game of an assignment, or the one that is under way.
func (s Pages) Start(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f startForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	g, err := s.nextGame(r.Context(), a, f.Assignment, func() (game.GameID, error) { return s.Store.StartGame(r.Context(), a, f.Assignment) })
	if err != nil {
		return err
	}
	return s.GoPlay(w, r, g)
}

// ownGame reads a game of the student's own; another's is missing.
func (s Pages) ownGame(r *http.Request, a game.Actor) (store.GameInfo, error) {
	g, err := site.ID[game.GameID](r, "id")
	if err != nil {
		return store.GameInfo{}, err
	}
	info, err := s.Store.Game(r.Context(), a.Club, g)
	if err == nil && info.Student.ID != a.Person {
		err = site.Missing()
	}
	return info, err
}

// ownState is ownGame with where the game stands.
func (s Pages) ownState(r *http.Request, a game.Actor) (info store.GameInfo, state practice.State, err error) {
	if info, err = s.ownGame(r, a); err != nil {
		return info, state, err
	}
	state, err = s.Hub.State(r.Context(), a.Club, info.ID)
	return info, state, err
}

// Play is the board page of a student's own game, or of a coach who tries a drill out.
func (s Pages) Play(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, err := s.ownGame(r, a)
	if err != nil {
		return err
	}
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	state, err := s.Hub.State(r.Context(), a.Club, info.ID)
	if err != nil {
		return err
	}
	about := s.About(info)
	m := view.PlayPage{
		Page: page, Game: strconv.FormatInt(int64(info.ID), 10), Person: strconv.FormatInt(int64(a.Person), 10),
		Title: about.Title, Sub: about.Sub, Again: about.Again, Board: sketch(state, page.Own.Turned),
	}
	switch m.Leave = "Enough for today"; {
	case info.Kind == store.OfTrial:
		m.Trial, m.Leave = about.Next, "Back to the drill"
	case info.Of != 0:
		m.Leave = "Back to the game"
	}
	if m.Aim, err = live.Aim(r.Context(), s.Judge, state, about); err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}

// sketch is where a game stands, as the page's module paints it too.
func sketch(s practice.State, turned bool) view.Sketch {
	b := view.Sketch{FEN: s.Pos.FEN(), Corners: s.Task.Brief(s).Corners, Black: (s.Side == board.Black) != turned, Framed: true}
	if n := len(s.Line); n > 0 {
		if b.Last = s.Line[n-1].Move.UCI(); s.Line[n-1].Reply != nil {
			b.Last = s.Line[n-1].Reply.UCI()
		}
	}
	if s.Pos.InCheck() {
		b.Check = s.Pos.King(s.Pos.Turn()).String()
	}
	return b
}

type endForm struct {
	Then string `schema:"then"`
}

// PlayEnd leaves a game, ending it where it still goes on, and leads to a new
// try, the next start or the first page.
func (s Pages) PlayEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f endForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	info, state, err := s.ownState(r, a)
	if err != nil {
		return err
	}
	if state.End == "" && (f.Then == "again" || state.Gone) {
		if err := s.giveUp(r.Context(), a, info, state); err != nil {
			return err
		}
	}
	if !info.Kind.Counts() {
		return s.afterLoose(w, r, a, info, f.Then)
	}
	if info.Kind == store.OfPlacement && f.Then != "today" {
		http.Redirect(w, r, "/check", http.StatusSeeOther)
		return nil
	}
	var next game.GameID
	switch f.Then {
	case "again":
		next, err = s.nextGame(r.Context(), a, info.Task, func() (game.GameID, error) { return s.Store.Again(r.Context(), a, info.ID) })
	case "next":
		next, err = s.nextGame(r.Context(), a, info.Task, func() (game.GameID, error) { return s.Store.NextGame(r.Context(), a, info) })
	}
	if err != nil && game.KindOf(err) != game.Missing {
		return err
	}
	return s.GoPlay(w, r, next)
}

// afterLoose leads from a game that counts for nothing to the same start once more, in free
// practice to another start, or back to where it was begun.
func (s Pages) afterLoose(w http.ResponseWriter, r *http.Request, a game.Actor, info store.GameInfo, then string) error {
	var fen string
	switch to := s.About(info).Next; {
	case then == "again":
	case then == "next" && info.Kind == store.OfFree:
		start, err := s.anotherStart(r.Context(), a, info)
		if err != nil {
			return err
		}
		fen = start
	case to == "next":
		http.Redirect(w, r, "/today", http.StatusSeeOther)
		return nil
	default:
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	next, err := s.Store.OnceMore(r.Context(), a, info.ID, fen)
	if err != nil {
		return err
	}
	return s.GoPlay(w, r, next)
}

// giveUp ends a game for its student: a start of a drill makes room for a new try,
// anything else is given up. One that has ended meanwhile is as good.
func (s Pages) giveUp(ctx context.Context, a game.Actor, g store.GameInfo, state practice.State) error {
	do := practice.Resign
	if g.Kind == store.OfDrill || !g.Kind.Counts() {
		do = practice.Anew
	}
	_, err := s.Hub.Do(ctx, a, g.ID, practice.Command{Do: do, Ply: state.Ply()})
	if no, ok := practice.Refusal(err); ok && no == practice.Over {
		return nil
	}
	return err
}
