package coach

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// largestTable is the most bytes of a file with a table of students.
const largestTable = 1 << 20

type manyForm struct {
	Text   string `schema:"text"`
	Signed string `schema:"signed"`
	Do     string `schema:"do"`
	Draft  int64  `schema:"draft"`
	Same   []int  `schema:"same"`
	File   string `schema:"file"` // a browser sends an empty one where no file was chosen
	site.OnceForm
}

// Many is the page that adds many students: at first, and with a table that was read.
func (s Pages) Many(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	no, _ := strconv.ParseInt(r.URL.Query().Get("draft"), 10, 64) // no draft has the number 0
	if no == 0 {
		return s.many(w, r, a, http.StatusOK, 0, club.Many{}, nil)
	}
	m, err := s.draftOf(r, no)
	if game.KindOf(err) == game.Missing {
		return s.many(w, r, a, http.StatusOK, 0, club.Many{},
			view.Errors{"text": "The table is no longer kept here. Paste it once more."})
	}
	if err != nil {
		return err
	}
	return s.many(w, r, a, http.StatusOK, no, m, nil)
}

// draftOf reads a table that this session is adding.
func (s Pages) draftOf(r *http.Request, no int64) (m club.Many, err error) {
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownDraft, no, &m)
	return m, err
}

// ManyPost reads a table, or adds the one that was read.
func (s Pages) ManyPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f manyForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if f.Do == "add" {
		return s.manyAdd(w, r, a, f)
	}
	m, say, err := s.manyTable(r, f)
	if err != nil {
		return err
	}
	if say != "" {
		return s.many(w, r, a, http.StatusUnprocessableEntity, 0, m, view.Errors{"text": say})
	}
	no, err := s.Store.KeepDraft(r.Context(), s.Token(r), m)
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/many?draft=%d", no), http.StatusSeeOther)
	return nil
}

// manyTable is the table of a form: the file, or else what was pasted. Birth dates are
// taken out before anything is kept.
func (s Pages) manyTable(r *http.Request, f manyForm) (m club.Many, say string, err error) {
	m = club.Many{Text: f.Text, Signed: f.Signed != ""}
	file, size, err := s.File(r, "file", largestTable)
	switch {
	case err != nil:
		return m, "", err
	case size > largestTable || len(f.Text) > largestTable:
		m.Text = ""
		return m, "This table is larger than 1 MB. A table of nicknames is far smaller: take the other columns out.", nil
	case size > 0:
		if m.Text, m.Note, say = club.TableText(file); say != "" {
			return m, say, nil
		}
	}
	m.Text, m.Refused = club.WithoutBirth(m.Text)
	return m, club.ReadTable(m.Text, nil, s.Now()).Say, nil
}

// manyAdd adds the good lines of the table that was read.
func (s Pages) manyAdd(w http.ResponseWriter, r *http.Request, a game.Actor, f manyForm) error {
	m, err := s.draftOf(r, f.Draft)
	if game.KindOf(err) == game.Missing {
		return s.many(w, r, a, http.StatusUnprocessableEntity, 0, club.Many{},
			view.Errors{"text": "The table is no longer kept here. Paste it once more."})
	}
	if err != nil {
		return err
	}
	m.Signed = f.Signed != ""
	no, err := s.Store.AddMany(r.Context(), a, m, f.Same, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.many(w, r, a, http.StatusUnprocessableEntity, f.Draft, m, marked, f.Same...)
	}
	http.Redirect(w, r, fmt.Sprintf("/students/many?draft=%d", no), http.StatusSeeOther)
	return nil
}

// many draws the page.
func (s Pages) many(w http.ResponseWriter, r *http.Request, a game.Actor, status int, no int64, in club.Many,
	marked view.Errors, same ...int) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := ManyPage{Page: page, Text: in.Text, Signed: in.Signed, Note: in.Note, Refused: game.List(in.Refused), Errors: marked,
		Added: in.Added}
	if in.Added > 0 {
		m.Notice = &view.Notice{Say: game.Upper(game.Count(in.Added, "student")) + " added.", More: waitingSay(in.Waiting)}
	}
	if no > 0 && in.Text != "" {
		names, err := s.Store.StudentNames(r.Context(), a.Club)
		if err != nil {
			return err
		}
		m.read(club.ReadTable(in.Text, names, c.Local(s.Now())), no, same)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

func waitingSay(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "One waits for consent, and gets a card once it is noted."
	}
	return game.Upper(game.Number(n)) + " wait for consent, and get a card once it is noted."
}

// read shows a table as it would be read.
func (m *ManyPage) read(t club.Table, no int64, same []int) {
	m.Draft, m.Unread = strconv.FormatInt(no, 10), game.List(t.Unread)
	good, waiting, wrong := t.Tally(same)
	m.Agreed = good > waiting
	for _, l := range t.Lines {
		m.Lines = append(m.Lines, manyLine(l, same))
		m.Agreed = m.Agreed || l.Double && !l.Waits()
	}
	for _, l := range m.Lines {
		m.Ticks = m.Ticks || l.Double
	}
	m.Sum = manySum(good, waiting, wrong)
	if good > 0 {
		m.Add = "Add " + game.Count(good, "student")
	} else if m.Ticks {
		m.Add = "Add those that are ticked"
	}
}

// manySum says what would be added, and what not.
func manySum(good, waiting, wrong int) string {
	say := game.Upper(game.Count(good, "student")) + " can be added."
	if more := waitingSay(waiting); more != "" {
		say += " " + more
	}
	switch wrong {
	case 0:
		return say
	case 1:
		return say + " One line has a problem and stays here."
	}
	return say + " " + game.Upper(game.Number(wrong)) + " lines have a problem and stay here."
}

func manyLine(l club.Line, same []int) ManyLine {
	row := ManyLine{No: strconv.Itoa(l.No), Name: l.Student.Name, Wording: wordedFor(l.Student.Wording), Groups: strings.Join(l.Groups, ", "),
		Say: l.Say, Double: l.Double, Same: l.Double && l.Good(same), Consent: "waits for consent"}
	if !l.Waits() {
		row.Consent = l.Student.ConsentBy
		if !l.Student.ConsentOn.IsZero() {
			row.Consent += ", " + l.Student.ConsentOn.Format("2 January 2006")
		}
	}
	if row.Name == "" {
		row.Name = "(no name)"
	}
	return row
}

// idsOf reads the numbers of students from an address.
func idsOf(list string) (ids []game.PersonID, err error) {
	for _, part := range strings.FieldsFunc(list, func(r rune) bool { return r == ',' }) {
		n, err := strconv.ParseInt(part, 10, 64)
		if err != nil || n <= 0 {
			return nil, errors.Join(site.Missing(), err)
		}
		ids = append(ids, game.PersonID(n))
	}
	return ids, nil
}
