// Package guide has the guide: the method of each ending on one page, for those who
// teach it, for students and for guardians. Nothing of a child is on it.
package guide

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// Pages are the handlers of the guide.
type Pages struct {
	*site.Site
	shown *examples
}

// New makes the pages of a site.
func New(s *site.Site) Pages {
	return Pages{Site: s, shown: &examples{of: map[string][][2]ending.Example{}}}
}

// examples are the positions of each ending's page, computed once in a process: they
// follow from the tables and never change.
type examples struct {
	work sync.Mutex   // held while a page's positions are computed
	held sync.RWMutex // of the map
	of   map[string][][2]ending.Example
}

func (e *examples) there(path string) ([][2]ending.Example, bool) {
	e.held.RLock()
	defer e.held.RUnlock()
	all, ok := e.of[path]
	return all, ok
}

// get finds the positions of an ending. One page at a time is computed, and to its end
// even if nobody waits any more, so that no reader can make the work be done twice.
func (e *examples) get(ctx context.Context, j *ending.Judge, g ending.Guide) ([][2]ending.Example, error) {
	path := site.GuidePath(g.Code, g.Hold)
	if all, ok := e.there(path); ok {
		return all, nil
	}
	e.work.Lock()
	defer e.work.Unlock()
	all, ok := e.there(path) // computed while this reader waited
	if ok {
		return all, nil
	}
	for _, step := range g.Steps {
		two, err := j.Examples(context.WithoutCancel(ctx), g, step.Stage)
		if err != nil {
			return nil, fmt.Errorf("positions for %s: %w", path, err)
		}
		all = append(all, two)
	}
	e.held.Lock()
	defer e.held.Unlock()
	e.of[path] = all
	return all, nil
}

// List is the page that names every ending of the guide.
func (s Pages) List(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := ListPage{Page: page, Up: above(a)}
	for _, g := range ending.Guides() {
		row := Row{Ending: site.EndingOf(g.Code), Href: site.GuidePath(g.Code, g.Hold)}
		row.Ending.Name = g.Name
		for _, step := range g.Steps {
			row.Stages = append(row.Stages, string(step.Stage))
		}
		if g.Hold {
			m.Held = append(m.Held, row)
		} else {
			m.Taught = append(m.Taught, row)
		}
	}
	return s.Show(w, r, m.View())
}

// above is the page from which most readers come.
func above(a game.Actor) view.Link {
	switch a.Role {
	case game.Student:
		return view.Link{Href: site.FirstPage(a.Role), Label: "Today"}
	case game.Guardian:
		return view.Link{Href: site.FirstPage(a.Role), Label: "Report"}
	case game.Coach, game.Welfare:
	}
	return view.Link{Href: "/drills", Label: "Drills"}
}

// Ending is the page of one ending.
func (s Pages) Ending(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	code, hold := strings.CutPrefix(chi.URLParam(r, "code"), store.HoldMark)
	g, ok := ending.GuideOf(code, hold)
	if !ok {
		return site.Missing()
	}
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	all, err := s.shown.get(r.Context(), s.Judge, g)
	if err != nil {
		return err
	}
	age, err := s.age(r, a)
	if err != nil {
		return err
	}
	m := EndingPage{Page: page, Up: above(a), Ending: site.EndingOf(g.Code), Hold: g.Hold, Age: age, Lead: lead(g), Key: key(all)}
	m.Ending.Name = g.Name
	if a.Role != game.Student {
		m.Choices = choices(site.GuidePath(g.Code, g.Hold), age)
	}
	for i, step := range g.Steps {
		m.Stages = append(m.Stages, part(step, g.Hold, all[i], age, a.Role == game.Coach))
	}
	return s.Show(w, r, m.View())
}

// age is the wording of the page: a student's own, else the one that is asked for.
func (s Pages) age(r *http.Request, a game.Actor) (int, error) {
	if a.Role == game.Student {
		file, err := s.Store.StudentFile(r.Context(), a.Club, a.Person)
		return file.Wording, err
	}
	if r.URL.Query().Get("for") == "14" {
		return ending.Fourteen, nil
	}
	return ending.Eight, nil
}

func choices(path string, age int) []Choice {
	return []Choice{
		{Href: path, Label: "For about eight", Chosen: age == ending.Eight},
		{Href: path + "?for=14", Label: "For about fourteen", Chosen: age == ending.Fourteen},
	}
}

// lead says what the page has.
func lead(g ending.Guide) string {
	if g.Hold {
		return "You hold the draw. Two positions show how."
	}
	return game.Upper(game.Number(len(g.Steps))) + " steps, and two positions for each."
}

// part draws a stage.
func part(step ending.GuideStep, hold bool, two [2]ending.Example, age int, coach bool) Part {
	drill, _ := progress.ReadyAgainst(step.Drill, step.Stage, step.Against) // a test says that there is one
	p := Part{Stage: step.Stage, Wants: step.Wants.For(age), Often: step.Often.For(age), Drill: drill.Name,
		Begin: Figure{Board: sketch(two[0]), How: two[0].How()},
		Shows: Figure{Board: marked(two[1]), How: two[1].How(), Say: two[1].For(age)}}
	if drill.Trains != step.Wants.Eight {
		p.Train = drill.Trains
	}
	if coach {
		p.Way = &view.Link{Href: shelf(step, hold), Label: p.Drill}
	}
	return p
}

// shelf is the shelf with the drills against what usually goes wrong in a stage.
func shelf(step ending.GuideStep, hold bool) string {
	code, trains := step.Drill, string(step.Stage)
	if hold {
		code = store.HoldMark + code
	}
	if step.Against != ending.AtRandom {
		trains = store.KindMark + step.Against
	}
	return "/drills?ending=" + code + "&trains=" + trains
}

func sketch(e ending.Example) view.Sketch {
	return view.Sketch{FEN: e.Position.FEN(), Corners: ending.Corners(e.Position, e.Position.Turn()), Framed: true}
}

// marked is the sketch of an example with his pen or the gaps, and the move.
func marked(e ending.Example) view.Sketch {
	s := sketch(e)
	s.Next = e.Best.UCI()
	for _, sq := range e.Pen {
		s.Pen = append(s.Pen, sq.String())
	}
	for _, gap := range e.Gaps {
		s.Gaps = append(s.Gaps, [2]string{gap.From.String(), gap.To.String()})
	}
	return s
}

// key says what is drawn on the second boards of a page: the move, and his pen or gaps.
func key(all [][2]ending.Example) string {
	say := "You are White, and it is your turn. Frames show a man and where it goes."
	for _, two := range all {
		switch {
		case len(two[1].Pen) > 0:
			return say + " Hurdles stand around his pen: he can walk there."
		case len(two[1].Gaps) > 0:
			return say + " A broken hurdle is a gap: he could get out there."
		}
	}
	return say
}
