package coach

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Students is the roster.
func (s Pages) Students(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	ask := askOf(r.URL.Query())
	ask.Reader = a.Person
	roster, err := s.Store.Roster(r.Context(), a.Club, ask)
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	playing, err := s.Store.Playing(r.Context(), a)
	if err != nil {
		return err
	}
	m := StudentsPage{Page: page, Ask: ask, All: roster.All, Total: roster.Total, Old: roster.Old, NoCard: roster.NoCard,
		Waiting: roster.Waiting}
	m.Groups = groupPills(ask, groups, roster)
	for _, g := range groups {
		m.Into = append(m.Into, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10), Label: g.Name})
	}
	now := c.Local(s.Now())
	resting, err := s.Store.Resting(r.Context(), a.Club)
	if err != nil {
		return err
	}
	for _, row := range roster.Rows {
		line := rosterRow(c, row, now)
		rests, is := resting[row.ID]
		line.Rests, line.Asked = rests, is && !rests
		m.Rows = append(m.Rows, line)
	}
	for _, p := range playing {
		m.Playing = append(m.Playing, playingRow(p))
	}
	m.Leaf = leaf("Students", ask.Page, store.StudentsPerPage, len(m.Rows), m.Total, func(page int) string {
		return addressOf("/students", ask, page)
	})
	return s.Show(w, r, m.View())
}

// askOf reads from an address which students are asked for; nonsense means all.
func askOf(q url.Values) store.RosterAsk {
	ask := store.RosterAsk{Find: club.Tidy(q.Get("find")), Sort: q.Get("sort"), Archived: q.Get("archived") != "",
		NoCard: q.Get("card") == "none"}
	ask.Page = pageOf(q.Get("page"))
	if q.Get("group") == "none" {
		ask.NoGroup = true
	} else {
		n, _ := strconv.ParseInt(q.Get("group"), 10, 64)
		ask.Group = game.GroupID(max(n, 0))
	}
	return ask
}

// addressOf is the address of a roster with what is asked for, and another page.
func addressOf(path string, ask store.RosterAsk, page int) string {
	q := url.Values{}
	set := func(name, value string, is bool) {
		if is {
			q.Set(name, value)
		}
	}
	set("find", ask.Find, ask.Find != "")
	set("sort", ask.Sort, ask.Sort != "" && ask.Sort != store.ByName)
	set("archived", "1", ask.Archived)
	set("card", "none", ask.NoCard)
	set("group", "none", ask.NoGroup)
	set("group", strconv.FormatInt(int64(ask.Group), 10), ask.Group > 0)
	set("page", strconv.Itoa(page), page > 1)
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// groupPills are the groups with their numbers, as links that hold the roster to one.
func groupPills(ask store.RosterAsk, groups []store.GroupRow, roster store.Roster) []GroupPill {
	to := func(id game.GroupID, none bool) string {
		other := ask
		other.Group, other.NoGroup = id, none
		return addressOf("/students", other, 1)
	}
	pills := []GroupPill{{Name: "All", N: roster.All, Href: to(0, false), On: ask.Group == 0 && !ask.NoGroup}}
	for _, g := range groups {
		pills = append(pills, GroupPill{Name: g.Name, N: g.Students, Href: to(g.ID, false), On: ask.Group == g.ID})
	}
	if roster.NoGroup > 0 && len(groups) > 0 {
		pills = append(pills, GroupPill{Name: "no group", N: roster.NoGroup, Href: to(0, true), On: ask.NoGroup})
	}
	return pills
}

func rosterRow(c club.Club, row store.RosterRow, now time.Time) StudentRow {
	out := StudentRow{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Number: strconv.Itoa(row.Number),
		Groups: strings.Join(row.Groups, ", "), Last: "not yet", Games: row.Games, Guardians: row.Guardians,
		HasCard: row.Card != nil, Waits: row.Waits, Wording: wordedFor(row.Wording)}
	if row.Last != nil {
		out.Last = site.Ago(c.Local(*row.Last), now)
		out.What = playedPart(row.Ending, row.Stage, row.Hold)
	}
	return out
}

// playedPart says what a game was about, in a few words.
func playedPart(code, stage string, hold bool) string {
	say := game.Lower(site.TaskName(code, hold))
	if at := ending.Stage(stage).Word(); at != "" && !hold {
		say += ", " + at
	}
	return say
}

func playingRow(p store.PlayingRow) PlayingRow {
	row := PlayingRow{Name: p.Name, Href: fmt.Sprintf("/watch/%d", p.Game),
		Say: playedPart(p.Ending, p.Stage, p.Hold) + fmt.Sprintf(", move %d", p.Moves+1)}
	switch ending.Grade(p.Grade) {
	case ending.Slip:
		row.Now = "a slip just now"
	case ending.WinGone:
		row.Now = "the win is gone"
	case ending.Detour, ending.OnCourse:
	}
	return row
}

// StudentNew is the form that adds one student.
func (s Pages) StudentNew(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.studentNew(w, r, a, http.StatusOK, StudentForm{Wording: ending.Eight})
}

// studentNew draws the form, at first and refused.
func (s Pages) studentNew(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f StudentForm) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	s.Draw(w, r, status, StudentNewPage{Page: page, Form: f}.View())
	return nil
}

type studentForm struct {
	Name      string `schema:"name"`
	ConsentBy string `schema:"consent_by"`
	ConsentOn string `schema:"consent_on"`
	Consent   string `schema:"consent"`
	Wording   string `schema:"wording"`
	Same      string `schema:"same"`
	site.OnceForm
}

// StudentsPost adds a student, and leads to the new card.
func (s Pages) StudentsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f studentForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	day, _ := time.Parse(time.DateOnly, f.ConsentOn) // a day that cannot be read is the zero day, which Check refuses
	n := club.NewStudent{Name: f.Name, ConsentBy: f.ConsentBy, ConsentOn: day, Consent: f.Consent != "", Wording: 8,
		Same: f.Same != ""}
	if f.Wording == "14" {
		n.Wording = 14
	}
	card, err := s.Store.AddStudent(r.Context(), a, n, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.studentNew(w, r, a, http.StatusUnprocessableEntity, StudentForm{
			Name: f.Name, ConsentBy: f.ConsentBy, ConsentOn: f.ConsentOn, Consent: n.Consent, Wording: n.Wording, Same: n.Same,
			Errors: marked,
		})
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/card", card.Student.ID), http.StatusSeeOther)
	return nil
}
