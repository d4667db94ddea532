package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/web/view"
)

func (s *Server) drills(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	if said := r.URL.Query().Get("assigned"); said != "" {
		if n, err := strconv.Atoi(said); err == nil && n > 0 {
			page.Notice = &view.Notice{Say: "Assigned to " + view.Count(n, "student") + ".", More: "It is on their today page."}
		}
	}
	rows, err := s.store.Shelf(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m := view.DrillsPage{Page: page}
	for _, row := range rows {
		m.Rows = append(m.Rows, view.DrillRow{
			ID: strconv.FormatInt(int64(row.ID), 10), Ending: endingOf(row.Ending), Name: row.Name, Line: row.Line(), Who: row.Who, Has: row.Has, Through: row.Through,
		})
	}
	return s.show(w, r, m.View())
}

type drillForm struct {
	Ending   string        `schema:"ending"`
	From     string        `schema:"from"`
	To       string        `schema:"to"`
	Defender string        `schema:"defender"`
	Mode     string        `schema:"mode"`
	Count    string        `schema:"count"`
	Name     string        `schema:"name"`
	Seed     string        `schema:"seed"`
	Kind     string        `schema:"kind"`
	FENs     string        `schema:"fens"`
	For      string        `schema:"for"`
	Help     []ending.Help `schema:"help"`
	Do       string        `schema:"do"`
}

func (s *Server) drillNew(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	f := drillForm{Ending: "KBNK", From: "centralise", To: "mate", Defender: "longest", Mode: "guided", Count: "4", Seed: s.seed(), Kind: ending.AtRandom, Help: club.RuleOf(practice.Guided).Help}
	q := r.URL.Query()
	if plan, ok := ending.PlanOf(q.Get("ending")); ok { // from a finding: the stage that is lost, to the end of the plan
		f.Ending, f.From, f.To, f.For = plan.Code, string(plan.Steps[0].Stage), string(plan.Steps[plan.Last()].Stage), q.Get("for")
		if plan.Index(ending.Stage(q.Get("from"))) >= 0 {
			f.From = q.Get("from")
		}
	}
	return s.drillPage(w, r, a, http.StatusOK, f, nil)
}

// seed is the number that picks starts; another picks others.
func (s *Server) seed() string { return strconv.FormatInt(s.now().UnixNano()%1_000_000_007, 10) }

func (s *Server) drillPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f drillForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	if f.Do == "pick" {
		f.Seed = s.seed()
		return s.drillPage(w, r, a, http.StatusOK, f, nil)
	}
	d, err := s.build(r.Context(), f)
	if err == nil {
		d.ID, err = s.store.KeepDrill(r.Context(), a, d)
	}
	marked, err := problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.drillPage(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	next := "/drills"
	if f.Do != "shelf" {
		next = fmt.Sprintf("/drills/%d", d.ID)
		if f.For != "" {
			next += "?" + url.Values{"for": {f.For}}.Encode()
		}
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// build makes a drill of a form: checks it and picks its starts.
func (s *Server) build(ctx context.Context, f drillForm) (club.Drill, error) {
	d := club.Drill{
		Name: f.Name, Ending: f.Ending, Mode: practice.Mode(f.Mode), From: ending.Stage(f.From), To: ending.Stage(f.To),
		Defender: f.Defender, Rule: club.RuleOf(practice.Mode(f.Mode)),
	}
	if d.Rule.Help = f.Help; d.Mode == practice.Test {
		d.Rule.Help = nil // a test gives none
	}
	if err := d.Check(); err != nil {
		return d, err
	}
	plan, _ := ending.PlanOf(d.Ending) // Check has found it
	if f.Kind == pasted {
		return s.paste(ctx, d, plan, f.FENs)
	}
	n, err := strconv.Atoi(f.Count)
	if err != nil || n < 1 || n > club.MaxStarts {
		return d, club.Problems{"count": fmt.Sprintf("Choose from 1 to %d starts.", club.MaxStarts)}.Err()
	}
	seed, err := strconv.ParseInt(f.Seed, 10, 64)
	if err != nil {
		return d, club.Problems{"count": "Pick the starts again."}.Err()
	}
	starts, err := s.judge.StartsOf(ctx, plan, d.From, f.Kind, n, seed)
	if game.KindOf(err) == game.Bad {
		return d, club.Problems{"count": game.Saying(err)}.Err()
	}
	for _, p := range starts {
		d.Starts = append(d.Starts, p.FEN())
	}
	return d, err
}

// pasted is the choice of FENs of the coach's own.
const pasted = "pasted"

// paste takes the coach's own starts; each line that does not fit is said, and
// the text is kept.
func (s *Server) paste(ctx context.Context, d club.Drill, plan *ending.Plan, text string) (club.Drill, error) {
	starts, problems, err := s.judge.Pasted(ctx, plan, text)
	switch {
	case err != nil:
		return d, err
	case len(problems) > 0:
		return d, club.Problems{"fens": strings.Join(problems[:min(len(problems), 12)], "\n") + fmt.Sprintf("\nThe other %s fit.", view.Count(len(starts), "line"))}.Err()
	case len(starts) == 0:
		return d, club.Problems{"fens": "Paste at least one position, one a line."}.Err()
	case len(starts) > club.MaxStarts:
		return d, club.Problems{"fens": fmt.Sprintf("These are %d positions; a drill has up to %d. Make two drills of them.", len(starts), club.MaxStarts)}.Err()
	}
	for i, p := range starts {
		par, err := s.judge.ParOf(ctx, p, plan.Index(d.To))
		if err != nil {
			return d, err
		}
		if par == 0 {
			return d, club.Problems{"fens": fmt.Sprintf("Position %d is beyond the last stage already. Choose a later stage, or leave it out.", i+1)}.Err()
		}
		d.Starts = append(d.Starts, p.FEN())
	}
	return d, nil
}

// drillPage draws the builder with two of the starts it would pick.
func (s *Server) drillPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f drillForm, marked view.Errors) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := view.DrillNewPage{Page: page, Title: "A new drill", Count: f.Count, Name: f.Name, Seed: f.Seed, For: f.For, FENs: f.FENs, Errors: marked}
	chooseDrill(&m, f)
	d, err := s.build(r.Context(), f)
	switch found, err := problems(err); {
	case err != nil:
		return err
	case found != nil && marked == nil && f.Do != "":
		m.Errors = found
	case found == nil:
		m.Title, m.Line = d.Title(), d.Line()
		if m.Starts, err = s.startCards(r.Context(), d, 2); err != nil {
			return err
		}
	}
	for _, field := range []string{"name", "to", "from", "count", "fens", "help", "mode", "defender", "ending"} { // also above the page, where it is seen first
		if say := m.Errors[field]; say != "" {
			m.Notice = &view.Notice{Say: strings.SplitN(say, "\n", 2)[0], Error: true}
		}
	}
	s.draw(w, r, status, m.View())
	return nil
}

// chooseDrill fills the choices of the builder.
func chooseDrill(m *view.DrillNewPage, f drillForm) {
	for _, plan := range ending.Plans() {
		e := view.EndingChoice{Ending: view.Ending{ID: plan.Code, Name: plan.Name}, Chosen: plan.Code == f.Ending}
		for _, step := range plan.Steps {
			e.Stages = append(e.Stages, string(step.Stage))
		}
		m.Endings = append(m.Endings, e)
	}
	for _, id := range view.StageIDs() {
		m.From = append(m.From, view.Choice{Value: id, Label: view.StageName(id), Chosen: id == f.From})
		m.To = append(m.To, view.Choice{Value: id, Label: view.StageName(id), Chosen: id == f.To})
	}
	for _, d := range ending.Defenders() {
		m.Defenders = append(m.Defenders, view.Choice{Value: d.Code, Label: d.Name, Chosen: d.Code == f.Defender})
	}
	for step, label := range []string{"1 His wish", "2 His pen or the gaps", "3 Which man", "4 The move"} {
		h := ending.Help(step + 1)
		m.Helps = append(m.Helps, view.Choice{Value: strconv.Itoa(step + 1), Label: label, Chosen: slices.Contains(f.Help, h)})
	}
	for _, k := range ending.StartKinds() {
		if k.Only == "" || k.Only == f.Ending {
			m.Kinds = append(m.Kinds, view.Choice{Value: k.Code, Label: k.Name, Chosen: k.Code == f.Kind})
		}
	}
	m.Kinds = append(m.Kinds, view.Choice{Value: pasted, Label: "Pasted", Chosen: f.Kind == pasted})
	m.Modes = []view.Choice{
		{Value: "guided", Label: "Guided: after each move", Chosen: f.Mode == "guided"},
		{Value: "practice", Label: "Practice: when something goes wrong", Chosen: f.Mode == "practice"},
		{Value: "test", Label: "Test: at the end", Chosen: f.Mode == "test"},
	}
}

// startCards draws the first starts of a drill.
func (s *Server) startCards(ctx context.Context, d club.Drill, most int) ([]view.StartCard, error) {
	var out []view.StartCard
	for i, fen := range d.Starts[:min(most, len(d.Starts))] {
		p, err := board.ParseFEN(fen)
		if err != nil {
			return nil, fmt.Errorf("start %d of drill %d: %w", i, d.ID, err)
		}
		l, err := s.judge.Look(ctx, p)
		if err != nil {
			return nil, err
		}
		out = append(out, view.StartCard{FEN: fen, No: fmt.Sprintf("%d of %d", i+1, len(d.Starts)), Say: fmt.Sprintf("mate in %d", l.MateIn())})
	}
	return out, nil
}

func (s *Server) drill(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f assignForm
	for _, text := range strings.Split(r.URL.Query().Get("for"), ",") {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil {
			f.Students = append(f.Students, game.PersonID(n))
		}
	}
	return s.assignPage(w, r, a, http.StatusOK, f, nil)
}

type assignForm struct {
	Students []game.PersonID `schema:"student"`
	Due      string          `schema:"due"`
}

// assignPage draws a drill with the students to give it to.
func (s *Server) assignPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f assignForm, marked view.Errors) error {
	drillID, err := id[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	page, c, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	d, err := s.store.Drill(r.Context(), a.Club, drillID)
	if err != nil {
		return err
	}
	people, err := s.store.DrillProgress(r.Context(), a.Club, drillID)
	if err != nil {
		return err
	}
	m := view.AssignPage{Page: page, ID: strconv.FormatInt(int64(d.ID), 10), Name: d.Name, Line: d.Line(), Due: f.Due, Errors: marked}
	if m.Starts, err = s.startCards(r.Context(), d, 4); err != nil {
		return err
	}
	chosen := map[game.PersonID]bool{}
	for _, p := range f.Students {
		chosen[p] = true
	}
	now := local(c, s.now())
	for _, p := range people {
		m.Students = append(m.Students, assignRow(p, len(d.Starts), chosen[p.ID], now))
	}
	s.draw(w, r, status, m.View())
	return nil
}

func assignRow(p store.Progress, starts int, chosen bool, now time.Time) view.AssignRow {
	row := view.AssignRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Chosen: chosen}
	if p.Has {
		row.Has = fmt.Sprintf("%d of %s done", p.Done, startsWord(starts))
		if d := due(p.Due, now); d != "" {
			row.Has += ", " + d
		}
	}
	return row
}

func (s *Server) assignPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f assignForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	drillID, err := id[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	day, err := dueDay(f.Due)
	if err == nil {
		_, err = s.store.Assign(r.Context(), a, drillID, f.Students, day)
	}
	marked, err := problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.assignPage(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/drills?assigned=%d", len(f.Students)), http.StatusSeeOther)
	return nil
}

// dueDay reads an optional day.
func dueDay(text string) (*time.Time, error) {
	if text == "" {
		return nil, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return nil, club.Problems{"due": "Choose a day, or leave this empty."}.Err()
	}
	return &day, nil
}
