package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/web/view"
)

// drillForm is the builder's form, as typed.
type drillForm struct {
	Ending    string        `schema:"ending"` // a code, for a hold drill after holdMark
	From      string        `schema:"from"`
	To        string        `schema:"to"`
	Defender  string        `schema:"defender"`
	Mode      string        `schema:"mode"`
	Count     string        `schema:"count"`
	Least     string        `schema:"least"`
	Most      string        `schema:"most"`
	Name      string        `schema:"name"`
	Seed      string        `schema:"seed"`
	Kind      string        `schema:"kind"`
	FENs      string        `schema:"fens"`
	For       string        `schema:"for"`
	Help      []ending.Help `schema:"help"`
	Allowance string        `schema:"allowance"`
	Backs     string        `schema:"backs"`
	Budget    string        `schema:"budget"`
	Clock     string        `schema:"clock"` // minutes
	Pass      string        `schema:"pass"`
	Do        string        `schema:"do"`
	onceForm
}

const (
	holdMark = "hold-"  // before the code of a hold drill's ending
	pasted   = "pasted" // the choice of FENs of the coach's own
)

// hold tells a hold drill, with the code of its ending.
func (f drillForm) hold() (code string, ok bool) { return strings.CutPrefix(f.Ending, holdMark) }

// drillNew opens the builder, from a finding or a proposal filled in.
func (s *Server) drillNew(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if draft := r.URL.Query().Get("draft"); draft != "" {
		return s.drillDraft(w, r, a, draft)
	}
	f := s.newDrill()
	f.fill(r.URL.Query())
	return s.drillPage(w, r, a, http.StatusOK, f, s.build(r.Context(), f), nil)
}

// newDrill is the form that nobody has touched yet.
func (s *Server) newDrill() drillForm {
	return drillForm{
		Ending: "KBNK", From: "centralise", To: "mate", Defender: "longest", Mode: "guided", Count: "4", Seed: s.seed(),
		Kind: ending.AtRandom,
		Help: club.RuleOf(practice.Guided).Help, Allowance: "3", Backs: "1", Budget: "0", Clock: "0", Pass: club.PassAll,
	}
}

// fill takes over what an address says of a drill; what it says wrongly is left.
func (f *drillForm) fill(q url.Values) {
	if code, ok := strings.CutPrefix(q.Get("ending"), holdMark); ok {
		if _, ok := ending.HoldOf(code); ok {
			f.Ending, f.For = holdMark+code, q.Get("for")
		}
		return
	}
	plan, ok := ending.PlanOf(q.Get("ending"))
	if !ok {
		return
	}
	f.Ending, f.From, f.To, f.For = plan.Code, string(plan.Steps[0].Stage), string(plan.Steps[plan.Last()].Stage), q.Get("for")
	if plan.Index(ending.Stage(q.Get("from"))) >= 0 {
		f.From = q.Get("from")
	}
	if plan.Index(ending.Stage(q.Get("to"))) >= plan.Index(ending.Stage(f.From)) {
		f.To = q.Get("to")
	}
	if _, ok := ending.DefenderOf(q.Get("defender")); ok {
		f.Defender = q.Get("defender")
	}
	for _, k := range ending.StartKinds() {
		if k.Code == q.Get("kind") && (k.Only == "" || k.Only == plan.Code) {
			f.Kind = k.Code
		}
	}
	switch m := practice.Mode(q.Get("mode")); m {
	case practice.Test:
		f.Mode, f.Help, f.Backs, f.Count = string(m), nil, "0", "5"
	case practice.Practice:
		f.Mode, f.Help = string(m), club.RuleOf(m).Help
	default:
	}
}

// seed is the number that picks starts; another picks others.
func (s *Server) seed() string { return strconv.FormatInt(s.now().UnixNano()%1_000_000_007, 10) }

func (s *Server) drillPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f drillForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	if len(f.FENs) > maxText {
		marked := club.Problems{"fens": tooMuchText(len(f.FENs))}
		return s.drillPage(w, r, a, http.StatusUnprocessableEntity, f, built{err: marked.Err()}, view.Errors(marked))
	}
	if f.Do == "pick" {
		return s.drillPick(w, r, a, f)
	}
	b := s.build(r.Context(), f)
	d, err := b.drill, b.err
	if err == nil {
		d.ID, err = s.store.KeepDrill(r.Context(), a, d, s.sent(r))
	}
	marked, err := problems(err)
	if marked != nil || game.KindOf(err) == game.Busy {
		return s.drillPage(w, r, a, http.StatusUnprocessableEntity, f, b, marked)
	}
	if err != nil {
		return err
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

// maxText is how many bytes of pasted positions are read: far more than a drill has
// starts.
const maxText = 32 << 10

func tooMuchText(n int) string {
	return fmt.Sprintf("This text has %d characters; up to %d are read, and a drill has up to %d starts. Take some lines out: nothing is lost.", n, maxText, club.MaxStarts)
}

// numbers reads number fields; an empty one is 0.
type numbers struct{ bad club.Problems }

func (n numbers) read(field, text string) int {
	v, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil && strings.TrimSpace(text) != "" {
		n.bad[field] = "Write a number."
	}
	return min(max(v, -1), 1_000_000) // far from the end of the numbers, and still too many
}

// paste takes the coach's own starts; each line that does not fit is said, and
// the text is kept.
func (s *Server) paste(ctx context.Context, d club.Drill, text string) (starts []board.Position, err error) {
	var problems []string
	starts, problems, err = d.Task().Paste(ctx, s.judge, d.Ending, text)
	switch {
	case err != nil:
		return nil, err
	case len(problems) > 0:
		return nil, club.Problems{"fens": pasteProblems(problems, len(starts))}.Err()
	case len(starts) == 0:
		return nil, club.Problems{"fens": "Paste at least one position, each on a line of its own."}.Err()
	case len(starts) > club.MaxStarts:
		return nil, club.Problems{"fens": fmt.Sprintf("These are %d positions; a drill has up to %d. Make two drills of them.", len(starts), club.MaxStarts)}.Err()
	case d.Hold:
		return starts, nil
	}
	plan, _ := ending.PlanOf(d.Ending)
	for i, p := range starts {
		par, err := s.judge.ParOf(ctx, p, plan.Index(d.To))
		if err != nil {
			return nil, err
		}
		if par == 0 {
			return nil, club.Problems{"fens": fmt.Sprintf("Position %d is beyond the last stage already. Choose a later stage, or leave it out.", i+1)}.Err()
		}
	}
	return starts, nil
}

// mostProblems is how many lines that do not fit are said one by one.
const mostProblems = 12

// pasteProblems says what does not fit, and how many lines do.
func pasteProblems(problems []string, fit int) string {
	said := slices.Clone(problems[:min(len(problems), mostProblems)])
	switch more := len(problems) - len(said); more {
	case 0:
	case 1:
		said = append(said, "One more line does not fit.")
	default:
		said = append(said, fmt.Sprintf("%d more lines do not fit.", more))
	}
	switch fit {
	case 0:
		said = append(said, "No line fits yet.")
	case 1:
		said = append(said, "The other line fits.")
	default:
		said = append(said, fmt.Sprintf("The other %d lines fit.", fit))
	}
	return strings.Join(said, "\n")
}

// drillPage draws the builder with two of the starts that it has picked. Where too
// many pick at once it is drawn without them, and says so.
func (s *Server) drillPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int,
	f drillForm, b built, marked view.Errors) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := view.DrillNewPage{
		Page: page, Title: "A new drill", Count: f.Count, Least: f.Least, Most: f.Most, Name: f.Name, Seed: f.Seed,
		For: f.For, FENs: f.FENs,
		Budget: f.Budget, Clock: f.Clock, Errors: marked,
	}
	chooseDrill(&m, f)
	d := b.drill
	found, err := problems(b.err)
	if game.KindOf(err) == game.Busy {
		status, m.Errors = http.StatusTooManyRequests, view.Errors{"drill": game.Saying(err)}
		w.Header().Set("Retry-After", retryAfter)
		err = nil
	}
	if err != nil {
		return err
	}
	if found != nil && marked == nil && f.Do != "" {
		m.Errors = found
	}
	if len(d.Starts) > 0 { // also of a drill that does not fit: they say why
		m.Title, m.Line = d.Title(), d.Line()
		if m.Starts, err = s.startCards(r.Context(), d, 2); err != nil {
			return err
		}
		if m.Facts, err = s.drillFacts(r.Context(), d, b.looked); err != nil {
			return err
		}
	}
	for _, field := range []string{"name", "pass", "clock", "budget", "backs", "allowance", "to", "from", "par", "count",
		"fens", "help", "mode", "defender", "ending"} { // also above the page, where it is seen first
		if say := m.Errors[field]; say != "" {
			m.Notice = &view.Notice{Say: strings.SplitN(say, "\n", 2)[0], Error: true}
		}
	}
	s.draw(w, r, status, m.View())
	return nil
}

// drillFacts are what can be said of a drill's starts before anybody plays them.
func (s *Server) drillFacts(ctx context.Context, d club.Drill, looked int) ([]view.Fact, error) {
	var facts []view.Fact
	if looked > 0 {
		facts = append(facts, view.Fact{Name: "Fits",
			Say: fmt.Sprintf("%s of the %d looked at, with none repeated or mirrored", startsWord(len(d.Starts)), looked)})
	}
	asked, err := s.asked(ctx, d)
	if err != nil {
		return nil, err
	}
	least, most := 0, 0
	for _, start := range asked {
		if least == 0 || start.Moves < least {
			least = start.Moves
		}
		most = max(most, start.Moves)
	}
	if d.Hold {
		facts = append(facts, view.Fact{Name: "To hold", Say: practice.Moves(most)})
	} else {
		facts = append(facts, view.Fact{Name: "Par", Say: fromTo(least, most)})
	}
	return append(facts, view.Fact{Name: "One start takes", Say: "about " + game.Count(club.MinutesOf(most), "minute")}), nil
}

// asked is what each start of a drill asks for.
func (s *Server) asked(ctx context.Context, d club.Drill) ([]club.Asked, error) {
	var all []club.Asked
	for _, fen := range d.Starts {
		p, err := board.ParseFEN(fen)
		if err != nil {
			return nil, fmt.Errorf("start %q: %w", fen, err)
		}
		start := club.Asked{Moves: practice.Setup{Budget: d.Rule.Budget}.Wanted(), Clock: p.HalfMoves()}
		if plan, ok := ending.PlanOf(d.Ending); ok && !d.Hold {
			if start.Moves, err = s.judge.ParOf(ctx, p, plan.Index(d.To)); err != nil {
				return nil, err
			}
		}
		all = append(all, start)
	}
	return all, nil
}

func fromTo(least, most int) string {
	if least == most {
		return practice.Moves(most)
	}
	return fmt.Sprintf("%d to %s", least, practice.Moves(most))
}

// chooseDrill fills the choices of the builder.
func chooseDrill(m *view.DrillNewPage, f drillForm) {
	for _, plan := range ending.Taught() {
		e := view.EndingChoice{Ending: view.Ending{ID: plan.Code, Name: plan.Name}, Value: plan.Code,
			Chosen: plan.Code == f.Ending}
		for _, step := range plan.Steps {
			e.Stages = append(e.Stages, string(step.Stage))
		}
		m.Endings = append(m.Endings, e)
	}
	for _, h := range ending.Holds() {
		m.Holds = append(m.Holds, view.EndingChoice{Ending: view.Ending{ID: h.Code, Name: h.Name}, Value: holdMark + h.Code,
			Chosen: holdMark+h.Code == f.Ending})
	}
	for _, stage := range ending.Stages() {
		id := string(stage)
		m.From = append(m.From, view.Choice{Value: id, Label: view.StageName(id), Chosen: id == f.From})
		m.To = append(m.To, view.Choice{Value: id, Label: view.StageName(id), Chosen: id == f.To})
	}
	for _, d := range ending.Defenders() {
		m.Defenders = append(m.Defenders, view.Choice{Value: d.Code, Label: d.Name, Chosen: d.Code == f.Defender,
			Say: d.Trains})
	}
	for step, label := range []string{"1 His wish", "2 His pen or the gaps", "3 Which man", "4 The move"} {
		h := ending.Help(step + 1)
		m.Helps = append(m.Helps, view.Choice{Value: strconv.Itoa(step + 1), Label: label,
			Chosen: slices.Contains(f.Help, h)})
	}
	for _, k := range ending.StartKinds() {
		m.Kinds = append(m.Kinds, view.Choice{Value: k.Code, Label: k.Name, Chosen: k.Code == f.Kind, Only: k.Only, Say: k.Say})
	}
	m.Kinds = append(m.Kinds, view.Choice{Value: pasted, Label: "Pasted", Chosen: f.Kind == pasted,
		Say: "Positions of your own, each checked."})
	m.Modes = choices(f.Mode, "guided", "Guided: after each move", "practice", "Practice: when something goes wrong",
		"test", "Test: at the end")
	m.Passes = choices(f.Pass, club.PassAll, "each start won or held", club.PassClean, "each start clean",
		club.PassMost, "three in four clean", club.PassHalf, "half of them won or held")
	m.Allowances = choices(f.Allowance, "0", "none", "1", "1 move", "2", "2 moves", "3", "3 moves", "5", "5 moves", "8",
		"8 moves", "12", "12 moves")
	m.Takes = choices(f.Backs, "0", "none", "1", "1 in a try", "2", "2 in a try", "3", "3 in a try")
}

// choices pairs values and labels, with one chosen.
func choices(chosen string, pairs ...string) []view.Choice {
	var out []view.Choice
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, view.Choice{Value: pairs[i], Label: pairs[i+1], Chosen: pairs[i] == chosen})
	}
	return out
}
