package review

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// errRunning leads an adult to the board of a game that goes on: nobody reads one
// without the student's seeing it.
var errRunning = errors.New("the game goes on")

// reviewed reads a game that has ended: for a coach any game of the club, for a
// student only their own.
func (s Pages) reviewed(r *http.Request, a game.Actor) (store.GameInfo, practice.State, error) {
	g, err := site.ID[game.GameID](r, "id")
	if err != nil {
		return store.GameInfo{}, practice.State{}, err
	}
	info, err := s.Store.Game(r.Context(), a.Club, g)
	if err != nil {
		return info, practice.State{}, err
	}
	if info.Kind == store.OfTrial || a.Role == game.Student && (info.Student.ID != a.Person || info.Ended == nil || info.Kind == store.OfPlacement) {
		return info, practice.State{}, site.Missing()
	}
	if info.Ended == nil && a.Role == game.Welfare {
		return info, practice.State{}, site.Missing()
	}
	if info.Ended == nil {
		return info, practice.State{}, errRunning
	}
	state, err := s.Hub.State(r.Context(), a.Club, g)
	return info, state, err
}

// toBoard leads to the board of a game that goes on, where err says that it does.
func (s Pages) toBoard(w http.ResponseWriter, r *http.Request, g game.GameID, err error) error {
	if !errors.Is(err, errRunning) {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/watch/%d", g), http.StatusSeeOther)
	return nil
}

// Review draws a game: the board step by step, the moves to look at, the track.
func (s Pages) Review(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, state, err := s.reviewed(r, a)
	if err != nil {
		return s.toBoard(w, r, info.ID, err)
	}
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := GamePage{
		Page: page, Game: strconv.FormatInt(int64(info.ID), 10), Up: above(info, a), Sub: site.GameTitle(info) + ", " +
			view.Day(c.Local(info.Began)),
		Title: reviewTitle(info, state), Corners: state.Task.Brief(state).Corners,
		Black: (state.Side == board.Black) != page.Own.Turned, Hold: state.Task.Defends(), Bare: a.Role == game.Welfare,
	}
	m.End = state.Title()
	if article := state.End.Article(); article != "" {
		m.End += ", " + article
	}
	if note := helpWords(state); note != "" {
		m.End += ". " + note
	}
	d := drawing{server: s, page: &m, state: state, age: ending.Fourteen}
	if a.Role == game.Student {
		d.age, m.Own = state.Wording, true
	}
	if err := d.all(r.Context()); err != nil {
		return err
	}
	before, after, err := s.Store.Beside(r.Context(), a.Club, info)
	if err != nil {
		return err
	}
	m.Before, m.After = gamePath(before), gamePath(after)
	m.At = at(r, m.Positions)
	return s.Show(w, r, m.View())
}

// gamePath is the address of a game before or after; empty where there is none.
func gamePath(g game.GameID) string {
	if g == 0 {
		return ""
	}
	return fmt.Sprintf("/games/%d", g)
}

// above is the page over a game's: the own day, for a coach the student.
func above(info store.GameInfo, a game.Actor) view.Link {
	switch a.Role {
	case game.Student:
		return view.Link{Href: site.FirstPage(a.Role), Label: "Today"}
	case game.Welfare:
		return view.Link{Href: fmt.Sprintf("/welfare/students/%d/games", info.Student.ID), Label: "Games of " + info.Student.Name}
	}
	return view.Link{Href: fmt.Sprintf("/students/%d", info.Student.ID), Label: info.Student.Name}
}

// helpWords says what help there was in a game; its moves taken back are not on
// the board any more.
func helpWords(s practice.State) string {
	var parts []string
	for _, h := range s.Used.List() {
		parts = append(parts, s.Task.HelpName(h))
	}
	if s.Backed > 0 {
		parts = append(parts, game.Count(s.Backed, "move")+" taken back")
	}
	if s.Assisted {
		parts = append(parts, "somebody helped")
	}
	if coach, ok := s.Partner(); ok {
		parts = append(parts, coach+" moved the king")
	}
	if len(parts) == 0 {
		return ""
	}
	return "Help: " + strings.Join(parts, ", ")
}

// at is the position that the address asks for; the last one otherwise.
func at(r *http.Request, positions []Position) int {
	if ply, err := strconv.Atoi(r.URL.Query().Get("at")); err == nil {
		for i, p := range positions {
			if p.Ply == ply {
				return i
			}
		}
	}
	return len(positions) - 1
}

func reviewTitle(g store.GameInfo, s practice.State) string {
	name, moves := g.Student.Name, len(s.Line)
	switch {
	case s.Task.Defends() && s.Success():
		return fmt.Sprintf("%s held the draw for %s", name, practice.Moves(moves))
	case g.Result == practice.NotHeld && s.End != practice.Resigned && s.End != practice.Abandoned && s.End != practice.Stopped:
		return fmt.Sprintf("%s let the draw go at move %d", name, moves)
	}
	switch g.End {
	case practice.Mated:
		return fmt.Sprintf("%s gave mate in %s", name, practice.Moves(moves))
	case practice.Stopped:
		if moves == 0 {
			return "Practice was resting"
		}
		return fmt.Sprintf("Practice was resting: %s played %s", name, practice.Moves(moves))
	case practice.Reached:
		return fmt.Sprintf("%s reached the goal in %s", name, practice.Moves(moves))
	}
	if g.Failed != "" {
		return fmt.Sprintf("%s %s %s", name, site.FailedWords(g.End), g.Failed.Lost())
	}
	return fmt.Sprintf("%s stopped after %s", name, practice.Moves(moves))
}

// PGN exports a game.
func (s Pages) PGN(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, state, err := s.reviewed(r, a)
	if err != nil {
		return s.toBoard(w, r, info.ID, err)
	}
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return err
	}
	g := board.Game{Event: ending.NameOf(info.Ending), Site: c.Name, Date: c.Local(info.Began), White: info.Student.Name,
		Black: "Drover, " + defenderOf(state), Start: state.First, Result: state.Points()}
	if state.Side == board.Black {
		g.White, g.Black = g.Black, g.White
	}
	if err := s.movesOf(r.Context(), &g, state); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/vnd.chess-pgn; charset=utf-8")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="drover-%d.pgn"`, info.ID))
	_, err = w.Write([]byte(g.PGN()))
	return err
}

// movesOf writes the moves of a game, with a comment where a stage begins.
func (s Pages) movesOf(ctx context.Context, g *board.Game, state practice.State) error {
	var at ending.Stage
	for _, t := range state.Line {
		if stage := t.Act.Stage; stage != at && stage != "" && state.Task.Staged() {
			at = stage
			g.Remark(stageBegins(t.Act))
		}
		m, err := s.annotate(ctx, state, t)
		if err != nil {
			return err
		}
		g.Moves = append(g.Moves, m)
		if t.Reply != nil {
			g.Moves = append(g.Moves, board.Annotated{Move: *t.Reply})
		}
	}
	return nil
}

// stageBegins is the comment where a stage begins: "Drive to the edge, par 8."
func stageBegins(a practice.Act) string {
	if par := practice.ShownPar(a.Stage, a.Par); par > 0 {
		return fmt.Sprintf("%s, par %d.", a.Stage.Name(), par)
	}
	return a.Stage.Name() + "."
}

// nags are the glyphs of the PGN standard (S. J. Edwards 1994): one stands only
// where the result of the game changed.
var nags = map[ending.Grade]int{ending.WinGone: 4, ending.DrawGone: 4}

// annotate writes a judged move; where it was not on course and did not hold, the
// facts, and the grade last in brackets.
func (s Pages) annotate(ctx context.Context, state practice.State, t practice.FullMove) (board.Annotated, error) {
	m := board.Annotated{Move: t.Move, NAG: nags[t.Act.Grade]}
	if t.Act.Grade == ending.OnCourse || t.Act.Grade == ending.Held {
		return m, nil
	}
	why, err := state.Why(ctx, s.Judge, t, 14)
	m.Comment = strings.Join(append(why, "("+string(t.Act.Grade)+")"), " ")
	return m, err
}

// defenderOf names the other side of a game.
func defenderOf(s practice.State) string {
	if s.Task.Defends() {
		return "attacking"
	}
	return s.Defender
}
