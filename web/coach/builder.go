package coach

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
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
	Clock     string        `schema:"clock"`     // minutes
	Increment string        `schema:"increment"` // seconds
	Pass      string        `schema:"pass"`
	Do        string        `schema:"do"`
	Of        string        `schema:"of"` // the drill that this is a new version of; empty: none
	site.OnceForm
}

const (
	holdMark = store.HoldMark // before the code of a hold drill's ending
	pasted   = club.Pasted    // the choice of FENs of the coach's own
)

// hold tells a hold drill, with the code of its ending.
func (f drillForm) hold() (code string, ok bool) { return strings.CutPrefix(f.Ending, holdMark) }

// DrillNew opens the builder, from a finding or a proposal filled in.
func (s Pages) DrillNew(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if draft := r.URL.Query().Get("draft"); draft != "" {
		return s.drillDraft(w, r, a, draft)
	}
	if id := r.URL.Query().Get("copy") + r.URL.Query().Get("edit"); id != "" {
		return s.drillFrom(w, r, a, id)
	}
	f := s.newDrill()
	f.fill(r.URL.Query())
	b := s.build(r.Context(), f)
	if r.URL.Query().Get("near") != "" && b.err == nil {
		f.Budget = strconv.Itoa(b.longest + progress.SpareMoves)
		b = s.build(r.Context(), f)
	}
	return s.drillPage(w, r, a, http.StatusOK, f, b, nil)
}

// newDrill is the form that nobody has touched yet.
func (s Pages) newDrill() drillForm {
	return drillForm{
		Ending: "KBNK", From: "centralise", To: "mate", Defender: "longest", Mode: "guided", Count: "4", Seed: s.seed(),
		Kind: ending.AtRandom,
		Help: club.RuleOf(practice.Guided).Help, Allowance: "3", Backs: "1", Budget: "0", Clock: "0", Increment: "0", Pass: club.PassAll,
	}
}

// fill takes over what an address says of a drill; what it says wrongly is left.
func (f *drillForm) fill(q url.Values) {
	f.For = q.Get("for")
	if code, ok := strings.CutPrefix(q.Get("ending"), holdMark); ok {
		if _, ok := ending.HoldOf(code); ok {
			f.Ending = holdMark + code
		}
		return
	}
	plan, ok := ending.PlanOf(q.Get("ending"))
	if !ok {
		return
	}
	f.Ending, f.From, f.To = plan.Code, string(plan.Steps[0].Stage), string(plan.Steps[plan.Last()].Stage)
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
func (s Pages) seed() string { return strconv.FormatInt(s.Now().UnixNano()%1_000_000_007, 10) }

// DrillPost takes the builder's form: it keeps the drill, or picks other starts.
func (s Pages) DrillPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f drillForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if len(f.FENs) > maxText {
		marked := club.Problems{"fens": tooMuchText(len(f.FENs))}
		return s.drillPage(w, r, a, http.StatusUnprocessableEntity, f, built{err: marked.Err()}, view.Errors(marked))
	}
	if f.Do == "pick" {
		return s.drillPick(w, r, a, f)
	}
	if f.Do == "play" {
		return s.drillTry(w, r, a, f)
	}
	b := s.build(r.Context(), f)
	d, err := b.drill, b.err
	var change game.ChangeID
	if err == nil {
		d.ID, change, err = s.keepDrill(r, a, d, f)
	}
	marked, err := site.Problems(err)
	switch kind := game.KindOf(err); {
	case marked != nil || kind == game.Busy:
		return s.drillPage(w, r, a, http.StatusUnprocessableEntity, f, b, marked)
	case kind == game.Conflict:
		return s.drillPage(w, r, a, http.StatusConflict, f, b, view.Errors{"drill": game.Saying(err) + " What you typed is still here."})
	case err != nil:
		return err
	}
	next := "/drills"
	if change > 0 {
		next = fmt.Sprintf("/drills?done=%d", change)
	}
	if f.Do != "shelf" {
		next = fmt.Sprintf("/drills/%d", d.ID)
		if f.For != "" {
			next += "?" + url.Values{"for": {f.For}}.Encode()
		}
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// drillPage draws the builder with two of the starts that it has picked. Where too
// many pick at once it is drawn without them, and says so.
func (s Pages) drillPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int,
	f drillForm, b built, marked view.Errors) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := DrillNewPage{
		Page: page, Title: "A new drill", Count: f.Count, Least: f.Least, Most: f.Most, Name: f.Name, Seed: f.Seed,
		For: f.For, FENs: f.FENs, Of: f.Of,
		Budget: f.Budget, Clock: f.Clock, Increment: f.Increment, Errors: marked,
	}
	chooseDrill(&m, f)
	d := b.drill
	found, err := site.Problems(b.err)
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
	for _, field := range []string{"name", "pass", "increment", "clock", "budget", "backs", "allowance", "to", "from", "par", "count",
		"fens", "help", "mode", "defender", "ending"} { // also above the page, where it is seen first
		if say := m.Errors[field]; say != "" {
			m.Notice = &view.Notice{Say: strings.SplitN(say, "\n", 2)[0], Error: true}
		}
	}
	s.Draw(w, r, status, m.View())
	return nil
}
