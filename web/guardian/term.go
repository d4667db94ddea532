package guardian

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Said is what a report says of a term. It is kept as it was signed, so its fields stay.
type Said struct {
	Lead  string    `json:"lead"`
	Rows  []SaidRow `json:"rows"`
	Bells []string  `json:"bells"`
	Next  string    `json:"next"`
}

// SaidRow is one ending at the beginning and at the end of a term.
type SaidRow struct {
	Name   string `json:"name"`
	Before string `json:"before"`
	Now    string `json:"now"`
}

// hash tells whether something else is said meanwhile.
func (s Said) hash() string {
	raw, _ := json.Marshal(s) // strings alone
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:8])
}

// TermPage is a report on a term: to a coach a draft or what was signed, to a guardian what was signed.
type TermPage struct {
	view.Page
	Child, Name, Club string
	ID                string
	Title, Days       string // "1 September to 18 December"
	From, To          string // of the form
	Said              Said
	Read              string // what the coach has read when signing
	Remark            string
	By, Signed        string // "Coach Ines", "18 December"; Signed is empty for a draft
	Coach             bool
	Saved             string // the remark of a draft as it is kept
	Clash             string
	Errors            view.Errors
}

// TermsPage lists a student's reports for a coach, and begins another one.
type TermsPage struct {
	view.Page
	Child, Name, Title, From, To string
	Rows                         []TermRow
	Errors                       view.Errors
}

// TermRow is one report in a list.
type TermRow struct{ Href, Title, Say string }

// termRows lists reports.
func termRows(all []club.TermReport, at string, now time.Time) []TermRow {
	var out []TermRow
	for _, t := range all {
		row := TermRow{Href: fmt.Sprintf("%s/terms/%d", at, t.ID), Title: t.Title, Say: "A draft; no guardian reads it."}
		if t.Signed != nil {
			row.Say = "Signed by " + t.By + " on " + site.ShortDay(t.Signed.In(now.Location()), now) + "."
		}
		out = append(out, row)
	}
	return out
}

// Terms lists the reports on a student's terms, for a coach.
func (s Pages) Terms(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.terms(w, r, a, http.StatusOK, nil, nil)
}

type termForm struct {
	Title  string `schema:"title"`
	From   string `schema:"from"`
	To     string `schema:"to"`
	Remark string `schema:"remark"`
	Do     string `schema:"do"`   // save, sign, drop
	Read   string `schema:"read"` // what was said when the page was read
	site.OnceForm
}

func (f termForm) read(student game.PersonID, id int64) club.TermReport {
	from, _ := time.Parse(time.DateOnly, f.From) // a day that cannot be read is refused as no day
	to, _ := time.Parse(time.DateOnly, f.To)
	return club.TermReport{ID: id, Student: student, Title: f.Title, From: from, To: to, Remark: f.Remark}
}

func (s Pages) terms(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f *termForm, marked view.Errors) error {
	page, c, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	all, err := s.Store.TermReports(r.Context(), a, file.ID)
	if err != nil {
		return err
	}
	now := c.Local(s.Now())
	m := TermsPage{Page: page, Child: strconv.FormatInt(int64(file.ID), 10), Name: file.Name, From: now.AddDate(0, -3, 0).Format(time.DateOnly),
		To: now.Format(time.DateOnly), Rows: termRows(all, fmt.Sprintf("/students/%d", file.ID), now), Errors: marked}
	if f != nil {
		m.Title, m.From, m.To = f.Title, f.From, f.To
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// TermsPost begins a report.
func (s Pages) TermsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f termForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	id, err := s.Store.DraftTerm(r.Context(), a, f.read(student, 0), s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.terms(w, r, a, http.StatusUnprocessableEntity, &f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/terms/%d", student, id), http.StatusSeeOther)
	return nil
}

// Term is one report for a coach.
func (s Pages) Term(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.term(w, r, a, http.StatusOK, nil, nil, "")
}

func (s Pages) term(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f *termForm, marked view.Errors, clash string) error {
	page, c, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	id, err := site.ID[int64](r, "t")
	if err != nil {
		return err
	}
	t, err := s.Store.TermReport(r.Context(), a, file.ID, id)
	if err != nil {
		return err
	}
	m, err := s.termPage(r.Context(), page, c, file.Person, t)
	if err != nil {
		return err
	}
	m.Coach, m.Errors, m.Clash, m.Saved = true, marked, clash, t.Remark
	if f != nil {
		m.Title, m.From, m.To, m.Remark = f.Title, f.From, f.To, f.Remark
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// termPage draws a report: a draft from the record as it stands, a signed one as it was signed.
func (s Pages) termPage(ctx context.Context, page view.Page, c club.Club, child club.Person, t club.TermReport) (TermPage, error) {
	now := c.Local(s.Now())
	m := TermPage{Page: page, Child: strconv.FormatInt(int64(child.ID), 10), Name: child.Name, Club: c.Name,
		ID: strconv.FormatInt(t.ID, 10), Title: t.Title, From: t.From.Format(time.DateOnly), To: t.To.Format(time.DateOnly),
		Days: site.ShortDay(t.From, now) + " to " + site.ShortDay(t.To, now), Remark: t.Remark, By: t.By}
	if t.Signed != nil {
		m.Signed = site.ShortDay(c.Local(*t.Signed), now)
		if err := json.Unmarshal(t.Said, &m.Said); err != nil {
			return m, fmt.Errorf("term report %d: %w", t.ID, err)
		}
		return m, nil
	}
	said, err := s.said(ctx, c.ID, child, t)
	m.Said, m.Read = said, said.hash()
	return m, err
}

// said is what the record says of a term.
func (s Pages) said(ctx context.Context, c game.ClubID, child club.Person, t club.TermReport) (Said, error) {
	of, err := s.Store.RecordOf(ctx, c, child.ID, store.WithStages, store.WithMastery, store.WithPlayed)
	if err != nil {
		return Said{}, err
	}
	from, to := progress.DayOf(t.From), progress.DayOf(t.To)
	sum := of.Term(from, to)
	said := Said{Lead: termLead(child.Name, sum), Next: firstStep(child.Name, of.Diagnosis().First)}
	end := (to + 1).Begins(of.Now.Location())
	if end.After(of.Now) {
		end = of.Now
	}
	was, is := of.MarksAt(from.Begins(of.Now.Location())), of.MarksAt(end)
	for _, plan := range ending.Taught() {
		before, now := marksOf(plan, was), marksOf(plan, is)
		row := SaidRow{Name: site.MateWith(plan.Code), Before: site.Standing(before, "parts"), Now: site.Standing(now, "parts")}
		if row.Now != site.Standing(marksOf(plan, nil), "parts") {
			said.Rows = append(said.Rows, row)
		}
	}
	said.Bells = bellsOf(sum.Bells, of.Mastery)
	return said, nil
}

// bellsOf says what was mastered on which day: an ending whose stages were all mastered on one day
// on one line.
func bellsOf(bells []progress.Key, standings map[progress.Key]progress.Mastery) []string {
	type on struct {
		ending string
		day    progress.Day
	}
	count := map[on]int{}
	for _, k := range bells {
		count[on{k.Ending, standings[k].Mastered}]++
	}
	var out []string
	for _, k := range bells {
		day := standings[k].Mastered
		what := site.MateWith(k.Ending)
		if plan, ok := ending.PlanOf(k.Ending); !ok || count[on{k.Ending, day}] < len(plan.Steps) {
			what += ", " + k.Stage.Place()
		}
		if line := what + ": mastered on " + day.Date().Format("2 January") + "."; !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	return out
}

func marksOf(plan ending.Plan, of progress.Marks) []view.Mark {
	var out []view.Mark
	for _, step := range plan.Steps {
		out = append(out, view.Mark{Stage: string(step.Stage), State: site.Picture(of[progress.Key{Ending: plan.Code, Stage: step.Stage}])})
	}
	return out
}

// termLead is the sentence of a term.
func termLead(name string, sum progress.TermSum) string {
	if sum.Games == 0 {
		return name + " played no game that counts in this time."
	}
	how := "won alone"
	if sum.Holds {
		how = "won or held alone"
	}
	return fmt.Sprintf("%s played %s on %s, %s in all; %d of them %s.", name, game.Count(sum.Games, "game"), game.Count(sum.Days, "day"),
		game.Count((sum.Seconds+59)/60, "minute"), sum.Alone, how)
}

// TermPost keeps a draft, signs it or throws it away. It signs what the coach has read: where
// something else is said meanwhile, the page comes back.
func (s Pages) TermPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	id, err := site.ID[int64](r, "t")
	if err != nil {
		return err
	}
	var f termForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	t := f.read(student, id)
	if f.Do == "drop" {
		if err := s.Store.DropTerm(r.Context(), a, t); err != nil {
			return err
		}
		http.Redirect(w, r, fmt.Sprintf("/students/%d/terms", student), http.StatusSeeOther)
		return nil
	}
	marked, err := site.Problems(s.Store.KeepTerm(r.Context(), a, t))
	if marked != nil {
		return s.term(w, r, a, http.StatusUnprocessableEntity, &f, marked, "")
	}
	if err != nil {
		return err
	}
	if f.Do == "sign" {
		if clash, err := s.sign(r, a, t, f.Read); err != nil || clash != "" {
			if err == nil {
				err = s.term(w, r, a, http.StatusConflict, nil, nil, clash)
			}
			return err
		}
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/terms/%d", student, id), http.StatusSeeOther)
	return nil
}

// sign signs a report; clash says why not yet.
func (s Pages) sign(r *http.Request, a game.Actor, t club.TermReport, read string) (clash string, err error) {
	file, err := s.Store.StudentFile(r.Context(), a.Club, t.Student)
	if err != nil {
		return "", err
	}
	said, err := s.said(r.Context(), a.Club, file.Person, t)
	if err != nil {
		return "", err
	}
	if said.hash() != read {
		return "What the record says has changed since you read it. Please read it once more, then sign.", nil
	}
	raw, err := json.Marshal(said)
	if err != nil {
		return "", fmt.Errorf("keep a term report: %w", err)
	}
	return "", s.Store.SignTerm(r.Context(), a, t, raw)
}

// OwnTerm is a signed report for a guardian.
func (s Pages) OwnTerm(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	child, _, err := s.ward(r, a)
	if err != nil {
		return err
	}
	id, err := site.ID[int64](r, "t")
	if err != nil {
		return err
	}
	t, err := s.Store.TermReport(r.Context(), a, child.ID, id)
	if err != nil {
		return err
	}
	m, err := s.termPage(r.Context(), page, c, child, t)
	if err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}
