package officer

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// fewNoted is how many rows of the audit the desk shows, found on so many of its pages at most.
const (
	fewNoted   = 4
	mostLooked = 5
)

// desk draws an officer's first page. It names no child.
func (s Pages) desk(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := DeskPage{Page: page, Emergency: site.Emergency(c), Outside: c.Outside}
	open, _, err := s.concerns(r, a, c)
	if err != nil {
		return err
	}
	for _, l := range open {
		if l.Unopened {
			m.Unopened++
		}
	}
	m.Concerns = open
	erasures, err := s.Store.Erasures(r.Context(), a)
	if err != nil {
		return err
	}
	for _, e := range erasures {
		line := ErasureLine{Number: strconv.Itoa(e.Number), Asked: "asked for on " + site.ShortDay(c.Local(e.Asked), c.Local(s.Now()))}
		if e.Due != nil {
			line.Say = site.Erasing(e, c, s.Now())
		}
		m.Erasures = append(m.Erasures, line)
	}
	back, err := s.Store.TakenBack(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m.Back = len(back)
	if m.Staff, m.Others, err = s.staff(r, a, c); err != nil {
		return err
	}
	linked, err := s.Store.Linked(r.Context(), a)
	if err != nil {
		return err
	}
	m.Guardians = len(linked)
	rows, err := s.lastNoted(r.Context(), a)
	if err != nil {
		return err
	}
	for _, n := range rows {
		m.Noted = append(m.Noted, NotedLine{At: s.when(c, n.At), Who: bareActor(n), What: does(n, bare(n))})
	}
	mail, err := s.Store.OfficerMail(r.Context(), a)
	if err != nil {
		return err
	}
	m.Mail = s.mailSaid(c, mail)
	return s.Show(w, r, m.View())
}

// lastNoted are the last rows of the audit, without the pages that the officer who looks has
// read: else these would be all that the desk shows.
func (s Pages) lastNoted(ctx context.Context, a game.Actor) ([]store.Noted, error) {
	var out []store.Noted
	for page, more := 1, true; more && page <= mostLooked; page++ {
		var rows []store.Noted
		var err error
		if rows, more, err = s.Store.Audit(ctx, a, store.NotedAsk{Page: page}); err != nil {
			return nil, err
		}
		for _, n := range rows {
			if n.ActorRole == a.Role && n.Actor == a.Name && (strings.HasSuffix(n.Action, " read") || n.Action == "games listed") {
				continue
			}
			if out = append(out, n); len(out) == fewNoted {
				return out, nil
			}
		}
	}
	return out, nil
}

// mailSaid says whether mail about a concern reaches an officer.
func (s Pages) mailSaid(c club.Club, m store.OfficerMail) string {
	last := ""
	if m.At != nil {
		last = "last one " + s.when(c, *m.At) + ", "
	}
	const lookIn = "; look in here often"
	switch {
	case !m.Sends:
		return "none is sent, so look in here often"
	case m.Stopped:
		return last + "refused, so no more is sent; give your address again under Your account"
	case m.At == nil:
		return "none was sent yet; a new concern sends one at once"
	}
	switch m.Outcome {
	case store.LetterSent:
		return last + "arrived at the mail server"
	case store.LetterRefused:
		return last + "refused" + lookIn
	case store.LetterUnknown:
		return last + "may not have arrived" + lookIn
	case store.LetterLate, store.LetterDropped:
		return last + "could not be sent" + lookIn
	}
	if m.Slow {
		return last + "not sent yet, and tried again" + lookIn
	}
	return last + "on its way"
}

// headline says how many concerns are unopened.
func (m DeskPage) headline() string {
	n := game.Number(m.Unopened)
	n = strings.ToUpper(n[:1]) + n[1:]
	switch m.Unopened {
	case 0, 1:
		return n + " concern is unopened."
	}
	return n + " concerns are unopened."
}

// guardians says how many guardians there are.
func guardians(n int) string { return game.Count(n, "guardian") + " by private link" }

// when writes a time of a list: "today 17:41".
func (s Pages) when(c club.Club, at time.Time) string {
	local := c.Local(at)
	return site.Ago(local, c.Local(s.Now())) + " " + local.Format("15:04")
}

// moment writes a time in full: "Tuesday 24 November at 18:12".
func moment(c club.Club, at time.Time) string {
	local := c.Local(at)
	return view.Day(local) + " at " + local.Format("15:04")
}

// concerns are the lines of those that go on and of those that are closed.
func (s Pages) concerns(r *http.Request, a game.Actor, c club.Club) (open, closed []ConcernLine, err error) {
	rows, err := s.Store.Concerns(r.Context(), a)
	if err != nil {
		return nil, nil, err
	}
	for _, row := range rows {
		line := s.concernLine(c, row)
		if line.Closed {
			closed = append(closed, line)
			continue
		}
		line.Main = line.Unopened && len(open) == 0
		open = append(open, line)
	}
	return open, closed, nil
}

func from(row store.Concern) string {
	if row.ByGuardian {
		return "from a guardian"
	}
	return "from a child"
}

func (s Pages) concernLine(c club.Club, row store.Concern) ConcernLine {
	line := ConcernLine{ID: strconv.FormatInt(int64(row.ID), 10), Unopened: row.Opened == nil, Closed: row.Closed != nil}
	now, at := c.Local(s.Now()), c.Local(row.At)
	switch {
	case line.Closed:
		line.Title = "Closed on " + site.ShortDay(c.Local(*row.Closed), now)
		line.Say = "told on " + site.ShortDay(at, now) + ", " + from(row)
	case line.Unopened:
		line.Title, line.Say = "Unopened", at.Format("Monday 2 January, 15:04")+", "+from(row)+", by Tell someone"
	default:
		line.Title, line.Say = "Open since "+site.ShortDay(c.Local(*row.Opened), now), "no note yet, "+from(row)
		if row.Noted != nil {
			line.Say = "last note " + site.Ago(c.Local(*row.Noted), now) + ", " + from(row)
		}
	}
	return line
}

// Concerns lists all concerns.
func (s Pages) Concerns(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := ConcernsPage{Page: page}
	if m.Open, m.Closed, err = s.concerns(r, a, c); err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}

// staff are the coaches and the officers of a club, and the names of the officers but the
// one who looks.
func (s Pages) staff(r *http.Request, a game.Actor, c club.Club) (lines []StaffLine, others string, err error) {
	rows, err := s.Store.Staff(r.Context(), a.Club)
	if err != nil {
		return nil, "", err
	}
	var names []string
	for _, row := range rows {
		line := StaffLine{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Role: "coach", Groups: "all groups",
			Seen: "not signed in now", You: row.ID == a.Person, Barred: row.Barred != nil, May: row.Role == game.Coach && row.Barred == nil}
		if row.Seen != nil {
			line.Seen = "last here " + site.Ago(c.Local(*row.Seen), c.Local(s.Now()))
		}
		switch {
		case row.Role == game.Welfare:
			line.Role, line.Groups = "welfare officer", "no games without a noted reason"
			if !line.You {
				names = append(names, row.Name)
			}
		case row.Owner:
			line.Role = "coach, owner"
		case row.Until != nil:
			line.Role = "substitute"
			line.Groups = fmt.Sprintf("%s, until %s", strings.Join(row.Groups, ", "),
				site.ShortDay(c.Local(row.Until.Add(-time.Second)), c.Local(s.Now())))
		}
		lines = append(lines, line)
	}
	return lines, strings.Join(names, ", "), nil
}

// backSay says how many consents were taken back.
func backSay(n int) string {
	if n == 1 {
		return "One consent was taken back, and practice rests"
	}
	return game.Upper(game.Number(n)) + " consents were taken back, and practice rests"
}
