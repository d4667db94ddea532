package coach

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Coaches is the page of the club's coaches.
func (s Pages) Coaches(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.coaches(w, r, a, http.StatusOK, inviteForm{}, nil)
}

type inviteForm struct {
	Until  string         `schema:"until"`
	Groups []game.GroupID `schema:"group"`
	site.OnceForm
}

// coaches draws the page, at first and with a refused form.
func (s Pages) coaches(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f inviteForm, marked view.Errors) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.Store.Coaches(r.Context(), a.Club)
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	m := CoachesPage{Page: page, Until: f.Until, Errors: marked}
	for _, g := range groups {
		m.Groups = append(m.Groups, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10), Label: g.Name, Chosen: slices.Contains(f.Groups, g.ID)})
	}
	for _, row := range rows {
		m.Rows = append(m.Rows, coachLine(c, row, a, c.Local(s.Now())))
		if row.ID == a.Person {
			m.Owner = row.Owner
		}
	}
	for _, row := range rows {
		if row.Until == nil {
			m.Successors = append(m.Successors, view.Choice{Value: strconv.FormatInt(int64(row.ID), 10), Label: row.Name,
				Chosen: row.ID == a.Person})
		}
	}
	if m.Owner {
		barred, err := s.Store.Barred(r.Context(), a)
		if err != nil {
			return err
		}
		for _, b := range barred {
			m.Barred = append(m.Barred, BarredLine{ID: strconv.FormatInt(int64(b.ID), 10), Name: b.Name, Reason: b.Reason,
				Say: fmt.Sprintf("%s, barred on %s by %s", b.Role, view.Day(c.Local(b.At)), b.By)})
		}
	}
	if m.URL, err = s.JoinLink(r, a, store.ShownInvite); err != nil {
		return err
	}
	s.Draw(w, r, status, m.View())
	return nil
}

func coachLine(c club.Club, row store.CoachRow, a game.Actor, now time.Time) PersonLine {
	line := PersonLine{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Email: row.Email, Owner: row.Owner, Factor: row.Factor, You: row.ID == a.Person,
		Seen: "not signed in now"}
	if row.Seen != nil {
		line.Seen = "last here " + site.Ago(c.Local(*row.Seen), now)
	}
	if row.Barred != nil {
		line.Barred, line.Seen = true, "barred on "+site.ShortDay(c.Local(*row.Barred), now)
	}
	if row.Until != nil {
		line.Stands = fmt.Sprintf("stands in for %s until %s", strings.Join(row.Groups, ", "),
			site.ShortDay(c.Local(row.Until.Add(-time.Second)), now))
	}
	return line
}

// says is the line below a coach's name.
func (c PersonLine) says() string {
	say := c.Email + ", " + c.Seen
	if c.Owner {
		say += ", an owner"
	}
	if c.Factor {
		say += ", second factor on"
	}
	if c.Stands != "" {
		say += ", " + c.Stands
	}
	return say
}

// CoachInvite makes a link with which a coach joins, and shows it on the page for a while.
func (s Pages) CoachInvite(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f inviteForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	until, err := s.lastDay(r, a, f.Until)
	if err == nil {
		_, err = s.Store.Invite(r.Context(), a, until, f.Groups, s.Sent(r))
	}
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.coaches(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, "/coaches", http.StatusSeeOther)
	return nil
}

// lastDay reads the last day of a substitute, which ends at midnight in the club.
func (s Pages) lastDay(r *http.Request, a game.Actor, text string) (*time.Time, error) {
	if text == "" {
		return nil, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return nil, club.Problems{"until": "Choose a day, or leave this empty."}.Err()
	}
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return nil, err
	}
	zone := c.Local(day).Location()
	end := time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, zone)
	return &end, nil
}

type endForm struct {
	Successor game.PersonID `schema:"successor"`
}

// CoachEnd ends a coach's access.
func (s Pages) CoachEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f endForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if f.Successor == 0 {
		f.Successor = a.Person
	}
	if err := s.Store.EndCoach(r.Context(), a, id, f.Successor); err != nil {
		return err
	}
	http.Redirect(w, r, "/coaches", http.StatusSeeOther)
	return nil
}

// CoachOwner makes a coach an owner too.
func (s Pages) CoachOwner(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Store.MakeOwner(r.Context(), a, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/coaches", http.StatusSeeOther)
	return nil
}

// CoachLift gives a coach or a guardian the access back whom a welfare officer has barred.
func (s Pages) CoachLift(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Store.Lift(r.Context(), a, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/coaches", http.StatusSeeOther)
	return nil
}
