package coach

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// Settings is the page of what a club is called, where it is and when it rests.
func (s Pages) Settings(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	now, err := s.Store.Settings(r.Context(), a.Club)
	if err != nil {
		return err
	}
	return s.settings(w, r, a, http.StatusOK, settingsOf(now), nil)
}

type settingsForm struct {
	Name      string `schema:"name"`
	Zone      string `schema:"zone"`
	Outside   string `schema:"outside"`
	Emergency string `schema:"emergency"`
	Holidays  string `schema:"holidays"`
	Revision  int    `schema:"revision"`
}

// settingsOf fills the form with a club's settings; holidays are lines of text.
func settingsOf(c club.Settings) settingsForm {
	f := settingsForm{Name: c.Name, Zone: c.Zone, Outside: c.Outside, Emergency: c.Emergency, Revision: c.Revision}
	for _, h := range c.Holidays {
		f.Holidays += fmt.Sprintf("%s to %s %s\n", h.From.Format(time.DateOnly), h.To.Format(time.DateOnly), h.Name)
	}
	return f
}

// read makes settings of a form; a line of holidays that cannot be read is said.
func (f settingsForm) read() (club.Settings, error) {
	c := club.Settings{Name: f.Name, Zone: strings.TrimSpace(f.Zone), Outside: f.Outside, Emergency: f.Emergency,
		Revision: f.Revision}
	for i, line := range strings.Split(f.Holidays, "\n") {
		if line = club.Tidy(line); line == "" {
			continue
		}
		h, ok := holidayOf(line)
		if !ok {
			return c, club.Problems{"holidays": fmt.Sprintf(
				"Line %d cannot be read. Write it as 2026-12-21 to 2027-01-03 Winter holidays, or 2027-05-17 for one day.", i+1)}.Err()
		}
		c.Holidays = append(c.Holidays, h)
	}
	return c, nil
}

// holidayOf reads '2026-12-21 to 2027-01-03 Winter holidays', or a single day with a name.
func holidayOf(line string) (h club.Holiday, ok bool) {
	first, rest, _ := strings.Cut(line, " ")
	from, err := time.Parse(time.DateOnly, first)
	if err != nil {
		return h, false
	}
	h = club.Holiday{From: from, To: from, Name: rest}
	if after, found := strings.CutPrefix(rest, "to "); found {
		last, name, _ := strings.Cut(after, " ")
		if h.To, err = time.Parse(time.DateOnly, last); err != nil {
			return h, false
		}
		h.Name = name
	}
	if h.Name == "" {
		h.Name = "Holiday"
	}
	return h, true
}

// settings draws the form: at first, refused, and where somebody else was first, with both
// versions.
func (s Pages) settings(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f settingsForm, refused error) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	last, err := s.Store.LastBackup(r.Context())
	if err != nil {
		return err
	}
	m := SettingsPage{Page: page, Form: f, Backup: backupWords(last.At, c, s.Now())}
	marked, other := site.Problems(refused)
	m.Errors = marked
	if other != nil {
		now, err := s.Store.Settings(r.Context(), a.Club)
		if err != nil {
			return err
		}
		is := settingsOf(now)
		m.Clash, m.Form.Revision = game.Saying(other), is.Revision
		m.Now = []string{is.Name, is.Zone, is.Outside, is.Emergency, strings.TrimSpace(is.Holidays)}
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// backupWords says when the last backup was made; empty where there is none.
func backupWords(at time.Time, c club.Club, now time.Time) string {
	if at.IsZero() {
		return ""
	}
	at = c.Local(at)
	return site.Ago(at, c.Local(now)) + at.Format(" 15:04")
}

// SettingsPost changes a club's settings.
func (s Pages) SettingsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f settingsForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	c, err := f.read()
	var change game.ChangeID
	if err == nil {
		change, err = s.Store.KeepSettings(r.Context(), a, c)
	}
	if status, refused := site.Refused(err); refused {
		return s.settings(w, r, a, status, f, err)
	}
	return s.done(w, r, "/settings", change, err)
}
