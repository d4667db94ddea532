package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/web/view"
)

// reviewed reads a game for review: a coach's any of the club, a student's own
// that has ended.
func (s *Server) reviewed(r *http.Request, a game.Actor) (store.GameInfo, practice.State, error) {
	g, err := id[game.GameID](r, "id")
	if err != nil {
		return store.GameInfo{}, practice.State{}, err
	}
	info, err := s.store.Game(r.Context(), a.Club, g)
	if err != nil {
		return info, practice.State{}, err
	}
	if a.Role == game.Student && (info.Student.ID != a.Person || info.Ended == nil || info.Kind == store.OfNewcomer) {
		return info, practice.State{}, missing()
	}
	state, err := s.hub.State(r.Context(), a.Club, g)
	return info, state, err
}

// review draws a game: the board step by step, the moves to look at, the track.
func (s *Server) review(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, state, err := s.reviewed(r, a)
	if err != nil {
		return err
	}
	page, c, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := view.ReviewPage{
		Page: page, Game: strconv.FormatInt(int64(info.ID), 10), Sub: gameTitle(info) + ", " + view.Day(local(c, info.Began)),
		Title: reviewTitle(info, state), Corners: corners(state), Black: state.Side == board.Black, Hold: state.Hold,
	}
	if m.End = state.Title(); state.End == "" {
		m.End = "The game goes on."
		m.Watch = a.Role == game.Coach
	} else if article := state.End.Article(); article != "" {
		m.End += ", " + article
	}
	if note := helpWords(state); note != "" {
		m.End += ". " + note
	}
	d := drawing{server: s, page: &m, state: state, age: 14}
	if a.Role == game.Student {
		d.age = state.Wording
	}
	if err := d.all(r.Context()); err != nil {
		return err
	}
	m.At = at(r, m.Positions)
	return s.show(w, r, m.View())
}

// helpNames names the steps of help, in a hold drill and else.
var helpNames = map[bool][5]string{
	false: {"", "his wish", "cover", "which man", "the move"},
	true:  {"", "his wish", "his next step", "the moves that hold", "the move"},
}

// helpWords says what help there was in a game; its moves taken back are not on
// the board any more.
func helpWords(s practice.State) string {
	var parts []string
	for _, h := range s.Used.List() {
		parts = append(parts, helpNames[s.Hold][h])
	}
	if s.Backed > 0 {
		parts = append(parts, view.Count(s.Backed, "move")+" taken back")
	}
	if s.Assisted {
		parts = append(parts, "somebody beside")
	}
	if len(parts) == 0 {
		return ""
	}
	return "Help: " + strings.Join(parts, ", ")
}

// at is the position that the address asks for; the last one otherwise.
func at(r *http.Request, positions []view.Position) int {
	if ply, err := strconv.Atoi(r.URL.Query().Get("at")); err == nil {
		for i, p := range positions {
			if p.Ply == ply {
				return i
			}
		}
	}
	return len(positions) - 1
}

// corners are those in which mate can be forced, where that matters.
func corners(s practice.State) []string {
	if s.Hold {
		return nil
	}
	return ending.Corners(s.First, s.Side)
}

func reviewTitle(g store.GameInfo, s practice.State) string {
	name, moves := g.Student.Name, len(s.Line)
	switch {
	case s.Hold && s.Success():
		return fmt.Sprintf("%s held the draw for %s", name, practice.Moves(moves))
	case s.Hold && g.Result == practice.NotHeld && s.End != practice.Resigned && s.End != practice.Abandoned:
		return fmt.Sprintf("%s let the draw go at move %d", name, moves)
	}
	switch g.End {
	case practice.Mated:
		return fmt.Sprintf("%s gave mate in %s", name, practice.Moves(moves))
	case practice.Reached:
		return fmt.Sprintf("%s reached the goal in %s", name, practice.Moves(moves))
	case "":
		return fmt.Sprintf("%s is at move %d", name, moves+1)
	}
	if g.Failed != "" {
		return fmt.Sprintf("%s lost the win at %s", name, place(g.Failed))
	}
	return fmt.Sprintf("%s stopped after %s", name, practice.Moves(moves))
}

// drawing builds a review page from a game's line.
type drawing struct {
	server *Server
	page   *view.ReviewPage
	state  practice.State
	age    int // for which the reasons are worded
	shut   int // the own move after which no stage was lost any more
	held   int // moves of a hold drill that kept the draw
}

func (d *drawing) all(ctx context.Context) error {
	d.page.Positions = []view.Position{{Ply: 0, FEN: d.state.First.FEN(), Label: "Start", Check: checked(d.state.First)}}
	ply := 0
	for i, t := range d.state.Line {
		if d.state.Hold {
			var err error
			if ply, err = d.holdTurn(ctx, i, ply, t); err != nil {
				return err
			}
			continue
		}
		situation, err := practice.Verdict(ctx, d.server.judge, t)
		if err != nil {
			return err
		}
		facts, err := d.server.judge.Facts(ctx, situation)
		if err != nil {
			return err
		}
		ply = d.turn(i, ply, t, situation.Verdict, facts)
	}
	d.sums()
	return nil
}

func checked(p board.Position) string {
	if !p.InCheck() {
		return ""
	}
	return p.King(p.Turn()).String()
}

// turn adds a move and its reply: positions, the track's row, and a card where
// there is something to look at.
func (d *drawing) turn(i, ply int, t practice.Turn, v ending.Verdict, f ending.Facts) int {
	mid := t.Before.Play(t.Move)
	label := fmt.Sprintf("%d %s", i+1, t.Before.SAN(t.Move))
	before, after := (t.Act.Plies+1)/2, v.After.MateIn()
	if !v.After.Won() {
		after = 0
	}
	pos := view.Position{Ply: ply + 1, FEN: mid.FEN(), UCI: t.Move.UCI(), Label: label, Check: checked(mid), Say: distances(before, after, v)}
	for _, sq := range f.Out {
		pos.Ways = append(pos.Ways, sq.String())
	}
	row := view.TrackMove{No: i + 1, SAN: t.Before.SAN(t.Move), Ply: ply + 1, Grade: string(t.Act.Grade), Before: before, After: after, Won: v.Grade != ending.WinGone, Mate: f.Mate}
	ply = d.played(i, t, mid, pos, row, fmt.Sprintf("par %d", t.Act.Par))
	if t.Act.Grade != ending.OnCourse {
		say := f.For(d.age)
		d.page.Looks = append(d.page.Looks, view.Look{Grade: string(t.Act.Grade), Label: label, Ply: row.Ply, Lead: say[0], Say: say[1:]})
	}
	if v.Back {
		d.shut = i + 1
	}
	return ply
}

// played adds the positions after a move and its reply, and the track's row; it
// gives the number of half-moves since the start.
func (d *drawing) played(i int, t practice.Turn, mid board.Position, pos view.Position, row view.TrackMove, say string) int {
	d.page.Positions = append(d.page.Positions, pos)
	ply := pos.Ply
	if t.Reply != nil {
		next := mid.Play(*t.Reply)
		row.Reply = mid.SAN(*t.Reply)
		ply++
		d.page.Positions = append(d.page.Positions, view.Position{Ply: ply, FEN: next.FEN(), UCI: t.Reply.UCI(), Label: fmt.Sprintf("%d … %s", i+1, row.Reply), Check: checked(next)})
	}
	d.track(t, row, say)
	return ply
}

// holdTurn is turn for a hold drill: the row says how many moves held.
func (d *drawing) holdTurn(ctx context.Context, i, ply int, t practice.Turn) (int, error) {
	situation, err := practice.HoldVerdict(ctx, d.server.judge, t)
	if err != nil {
		return ply, err
	}
	v := situation.Verdict
	mid := t.Before.Play(t.Move)
	label := fmt.Sprintf("%d %s", i+1, t.Before.SAN(t.Move))
	note := fmt.Sprintf("%d of %d held", v.Holding, v.Moves)
	pos := view.Position{Ply: ply + 1, FEN: mid.FEN(), UCI: t.Move.UCI(), Label: label, Check: checked(mid), Say: note}
	row := view.TrackMove{No: i + 1, SAN: t.Before.SAN(t.Move), Ply: ply + 1, Grade: string(v.Grade), Note: note}
	ply = d.played(i, t, mid, pos, row, "")
	if v.Grade == ending.Held {
		d.held++
		return ply, nil
	}
	facts, err := d.server.judge.HoldFacts(ctx, situation)
	if err != nil {
		return ply, err
	}
	say := facts.For(d.age)
	d.page.Looks = append(d.page.Looks, view.Look{Grade: string(v.Grade), Label: label, Ply: row.Ply, Lead: say[0], Say: say[1:]})
	return ply, nil
}

func distances(before, after int, v ending.Verdict) string {
	switch {
	case v.Grade == ending.WinGone:
		return fmt.Sprintf("mate in %d before, no win after", before)
	case after == 0:
		return "mate"
	}
	return fmt.Sprintf("mate in %d before, %d after", before, after)
}

// track puts a row under its visit to a stage.
func (d *drawing) track(t practice.Turn, row view.TrackMove, say string) {
	stage := string(t.Act.Stage)
	if n := len(d.page.Groups); n == 0 || d.page.Groups[n-1].Stage != stage {
		d.page.Groups = append(d.page.Groups, view.TrackGroup{Stage: stage, Say: say})
	}
	g := &d.page.Groups[len(d.page.Groups)-1]
	g.Moves = append(g.Moves, row)
}

// sums says for each visit how many moves it took, and for the whole what went
// well.
func (d *drawing) sums() {
	for i := range d.page.Groups {
		g := &d.page.Groups[i]
		if g.Say = practice.Moves(len(g.Moves)) + ", " + g.Say; d.state.Hold {
			g.Say = practice.Moves(len(g.Moves))
		}
	}
	n := len(d.state.Line)
	switch {
	case d.state.Hold:
		d.page.Well = fmt.Sprintf("%d of %s held the draw.", d.held, practice.Moves(n))
	case !d.state.Success():
		good := 0
		for _, t := range d.state.Line {
			if t.Act.Grade == ending.OnCourse {
				good++
			}
		}
		d.page.Well = fmt.Sprintf("%d of %s were on course.", good, practice.Moves(n))
	case d.shut == 0:
		d.page.Well = "no stage was lost on the way."
	case d.shut < n:
		d.page.Well = fmt.Sprintf("from move %d no stage was lost any more.", d.shut+1)
	}
}

// pgn exports a game.
func (s *Server) pgn(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, state, err := s.reviewed(r, a)
	if err != nil {
		return err
	}
	c, err := s.store.Club(r.Context(), a.Club)
	if err != nil {
		return err
	}
	g := board.Game{Event: planName(info.Ending), Site: c.Name, Date: local(c, info.Began), White: info.Student.Name, Black: "Drover, " + defenderOf(state), Start: state.First, Result: pgnResult(state)}
	if state.Side == board.Black {
		g.White, g.Black = g.Black, g.White
		g.Result = map[string]string{"1-0": "0-1", "0-1": "1-0"}[g.Result]
		if g.Result == "" {
			g.Result = pgnResult(state) // a draw, or no result
		}
	}
	for _, t := range state.Line {
		m, err := s.annotate(r.Context(), state, t)
		if err != nil {
			return err
		}
		g.Moves = append(g.Moves, m)
		if t.Reply != nil {
			g.Moves = append(g.Moves, board.Annotated{Move: *t.Reply})
		}
	}
	w.Header().Set("Content-Type", "application/vnd.chess-pgn; charset=utf-8")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="drover-%d.pgn"`, info.ID))
	_, err = w.Write([]byte(g.PGN()))
	return err
}

// nags are the glyphs of the PGN standard (S. J. Edwards 1994) that come nearest
// to a grade: a dubious move, a weak one, a very weak one.
var nags = map[ending.Grade]int{ending.Detour: 6, ending.Slip: 2, ending.WinGone: 4, ending.DrawGone: 4}

// annotate writes a judged move with its glyph and, where it was not on course,
// its reasons.
func (s *Server) annotate(ctx context.Context, state practice.State, t practice.Turn) (board.Annotated, error) {
	m := board.Annotated{Move: t.Move, NAG: nags[t.Act.Grade]}
	if m.NAG == 0 {
		return m, nil
	}
	why, err := state.Why(ctx, s.judge, t, 14)
	m.Comment = strings.Join(append([]string{gradeWord(t.Act.Grade) + "."}, why...), " ")
	return m, err
}

func gradeWord(g ending.Grade) string { return strings.ToUpper(string(g[:1])) + string(g[1:]) }

// defenderOf names the other side of a game.
func defenderOf(s practice.State) string {
	if s.Hold {
		return "attacking"
	}
	return s.Defender
}

// pgnResult is the result as the student's side sees it, written for White.
func pgnResult(s practice.State) string {
	switch s.End {
	case practice.Mated:
		if s.Hold && !s.Success() {
			return "0-1"
		}
		return "1-0"
	case practice.Stalemate, practice.Dead, practice.Fifty, practice.Fivefold, practice.Threefold, practice.Drawn:
		return "1/2-1/2"
	case practice.Time:
		if !s.Hold { // a lone king cannot mate: FIDE Laws 6.9
			return "1/2-1/2"
		}
		return "0-1"
	case practice.Resigned:
		return "0-1"
	}
	return "*"
}
