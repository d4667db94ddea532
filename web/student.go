package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// today is a student's first page: re-checks that are due come first, then what
// was assigned.
func (s *Server) today(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	of, err := s.store.RecordOf(r.Context(), a.Club, a.Person, store.WithStages, store.WithStandings,
		store.WithTries, store.WithTasks, store.WithUnderWay, store.WithSeconds, store.WithCheck)
	if err != nil {
		return err
	}
	page.Notice = masteryNotice(of.Standings, of.Today())
	m := view.TodayPage{Page: page, Endings: endingMarks(of)}
	for _, item := range of.Items() {
		card, err := s.itemCard(r.Context(), a, of, item)
		if err != nil {
			return err
		}
		m.Due = append(m.Due, card)
	}
	m.Lead = lead(m.Due, of.Seconds)
	return s.show(w, r, m.View())
}

// itemCard draws one thing to do.
func (s *Server) itemCard(ctx context.Context, a game.Actor, of progress.Record,
	item progress.Item) (view.DueCard, error) {
	switch item.Kind {
	case progress.StartingCheck:
		return newcomerCard(*of.Check, item), nil
	case progress.Recheck:
		return s.checkCard(ctx, a, item, of.Today())
	case progress.SetTask:
	}
	return dueCard(item, of.Now), nil
}

// lead says how much there is to do, or that it is enough for today.
func lead(due []view.DueCard, seconds int) string {
	n := 0
	for _, card := range due {
		if card.Waits() {
			n++
		}
	}
	switch {
	case n == 0 && len(due) > 0 && progress.PlayedEnough(seconds):
		return fmt.Sprintf("Enough for today: %s of play. It is all here again tomorrow.", game.Count(seconds/60, "minute"))
	case n == 0 && len(due) > 0:
		return "Enough for today. It is all here again tomorrow."
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "One thing today, about 10 minutes."
	case 2:
		return "Two things today, about 15 minutes."
	default:
		return fmt.Sprintf("%s things today, about 20 minutes.", game.Upper(game.Number(n)))
	}
}

func dueCard(item progress.Item, now time.Time) view.DueCard {
	t := item.Task
	left := len(t.Drill.Starts) - t.Done
	line := startsWord(left)
	if t.Done > 0 {
		line = fmt.Sprintf("%d of %d starts to go", left, len(t.Drill.Starts))
	}
	line = testWord(t.Drill.Mode) + line
	if d := due(t.Due, now); d != "" {
		line += ", " + d
	}
	card := view.DueCard{
		Post: "/today/start", Hidden: []view.Hidden{{Name: "assignment", Value: strconv.FormatInt(int64(t.ID), 10)}},
		Title: taskName(t.Drill.Ending, t.Drill.Hold), Stage: string(t.Drill.From), State: view.InWork,
		Line: line, FEN: t.Drill.Starts[max(t.Next, 0)], Action: "Start",
	}
	if !t.Drill.Hold {
		card.StageSay = t.Drill.From.For(t.Wording)
	}
	card.StageSay += t.Drill.Onward()
	switch {
	case item.GoesOn:
		card.Action = "Go on"
	case item.Turn == progress.LastPart:
		card.Line = plenty
	case item.Rests:
		card.Post, card.Line = "", "Enough for today. It is here again tomorrow."
	}
	return card
}

// endingMarks draws how far a student is with each ending of the ladder.
func endingMarks(of progress.Record) []view.EndingMarks {
	marks := of.Marks()
	var out []view.EndingMarks
	for _, plan := range ending.Plans() {
		row := view.EndingMarks{Ending: view.Ending{ID: plan.Code, Name: plan.Name}}
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			row.Marks = append(row.Marks, view.Mark{Stage: string(step.Stage), State: view.State(marks.Of(k))})
		}
		row.Say = standing(row.Marks, "stages")
		if missed(plan, of.Standings) {
			row.Say += ", needs a game"
		}
		out = append(out, row)
	}
	return out
}

// missed says whether a stage of the plan needs a game.
func missed(plan ending.Plan, standings map[progress.Key]progress.Standing) bool {
	for _, step := range plan.Steps {
		if standings[progress.Key{Ending: plan.Code, Stage: step.Stage}].Missed {
			return true
		}
	}
	return false
}

type startForm struct {
	Assignment game.AssignmentID `schema:"assignment"`
}

// start opens the next game of an assignment, or the one that is under way.
func (s *Server) start(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f startForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	g, err := s.nextGame(r.Context(), a, f.Assignment, func() (game.GameID, error) { return s.store.StartGame(r.Context(), a, f.Assignment) })
	if err != nil {
		return err
	}
	return s.goPlay(w, r, g)
}

// goPlay leads to a game, or where there is none to the first page.
func (s *Server) goPlay(w http.ResponseWriter, r *http.Request, g game.GameID) error {
	to := fmt.Sprintf("/play/%d", g)
	if g == 0 {
		to = "/today"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// testWord says before anything else that a game is a test.
func testWord(m practice.Mode) string {
	if m == practice.Test {
		return "a test, "
	}
	return ""
}

// ownGame reads a game of the student's own; another's is missing.
func (s *Server) ownGame(r *http.Request, a game.Actor) (store.GameInfo, error) {
	g, err := id[game.GameID](r, "id")
	if err != nil {
		return store.GameInfo{}, err
	}
	info, err := s.store.Game(r.Context(), a.Club, g)
	if err == nil && info.Student.ID != a.Person {
		err = missing()
	}
	return info, err
}

func (s *Server) play(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, err := s.ownGame(r, a)
	if err != nil {
		return err
	}
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	about := s.about(info)
	return s.show(w, r, view.PlayPage{
		Page: page, Game: strconv.FormatInt(int64(info.ID), 10), Person: strconv.FormatInt(int64(a.Person), 10),
		Title: about.Title, Sub: about.Sub, Again: about.Again,
	}.View())
}

// watch is the board page of a coach who watches.
func (s *Server) watch(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	g, err := id[game.GameID](r, "id")
	if err != nil {
		return err
	}
	info, err := s.store.Game(r.Context(), a.Club, g)
	if err != nil {
		return err
	}
	if info.Ended != nil {
		http.Redirect(w, r, fmt.Sprintf("/games/%d", g), http.StatusSeeOther)
		return nil
	}
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	about := s.about(info)
	return s.show(w, r, view.PlayPage{
		Page: page, Game: strconv.FormatInt(int64(g), 10), Person: strconv.FormatInt(int64(a.Person), 10), Title: about.Title,
		Sub:   about.Sub,
		Coach: true, Student: strconv.FormatInt(int64(info.Student.ID), 10), Name: info.Student.Name,
	}.View())
}

// about is what the board page is told of a game.
func (s *Server) about(g store.GameInfo) live.About {
	a := live.About{Title: taskName(g.Ending, g.Hold), Sub: testWord(g.Mode) + fmt.Sprintf("start %d of %d", g.Start+1,
		g.Starts), Next: "/today", Again: g.Kind == store.OfDrill && g.Task != 0, Pace: g.Pace}
	switch g.Kind {
	case store.OfRecheck:
		a.Sub, a.First = "still yours? One start", "One short game, all alone. Your first move."
		return a
	case store.OfPart:
		a.Sub, a.First, a.Next = "the last part", plenty+" Your first move.", "next"
		return a
	case store.OfNewcomer:
		a.Title, a.Sub, a.Next = "Starting check", fmt.Sprintf("task %d of %d", g.Start+1, progress.NewcomerCount()), "next"
		a.Task = progress.AskAt(g.Start)
		return a
	case store.OfDrill:
	}
	if g.Try > 1 {
		a.Sub += fmt.Sprintf(", try %d", g.Try)
	}
	if g.Task != 0 && g.Start+1 < g.Starts {
		a.Next = "next"
	}
	return a
}

type endForm struct {
	Then string `schema:"then"`
}

// playEnd leaves a game, ending it where it still goes on, and leads to a new
// try, the next start or the first page.
func (s *Server) playEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f endForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	info, err := s.ownGame(r, a)
	if err != nil {
		return err
	}
	state, err := s.hub.State(r.Context(), a.Club, info.ID)
	if err != nil {
		return err
	}
	if state.End == "" && (f.Then == "again" || state.Gone) {
		if err := s.giveUp(r.Context(), a, info, state); err != nil {
			return err
		}
	}
	if info.Kind == store.OfNewcomer && f.Then != "today" {
		http.Redirect(w, r, "/check", http.StatusSeeOther)
		return nil
	}
	var next game.GameID
	switch f.Then {
	case "again":
		next, err = s.nextGame(r.Context(), a, info.Task, func() (game.GameID, error) { return s.store.Again(r.Context(), a, info.ID) })
	case "next":
		next, err = s.nextGame(r.Context(), a, info.Task, func() (game.GameID, error) { return s.store.NextGame(r.Context(), a, info) })
	}
	if err != nil && game.KindOf(err) != game.Missing {
		return err
	}
	return s.goPlay(w, r, next)
}

// giveUp ends a game for its student: a start of a drill makes room for a new try,
// anything else is given up. One that has ended meanwhile is as good.
func (s *Server) giveUp(ctx context.Context, a game.Actor, g store.GameInfo, state practice.State) error {
	do := practice.Resign
	if g.Kind == store.OfDrill {
		do = practice.Anew
	}
	_, err := s.hub.Do(ctx, a, g.ID, practice.Command{Do: do, Ply: state.Ply()})
	if no, ok := practice.Refusal(err); ok && no == practice.Over {
		return nil
	}
	return err
}
