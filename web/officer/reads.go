package officer

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"
)

// Reads says who did and read what, searched by person or number and by day.
func (s Pages) Reads(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	q, no := r.URL.Query(), max(pageNo(r), 1)
	m := ReadsPage{Page: page, Who: strings.TrimSpace(q.Get("who")), Day: q.Get("day")}
	ask := store.NotedAsk{Who: m.Who, Page: no}
	if !dayOf(m.Day, c, &ask) {
		m.Errors = view.Errors{"day": "Choose a day, or leave this empty."}
		s.Draw(w, r, http.StatusUnprocessableEntity, m.View())
		return nil
	}
	rows, more, err := s.Store.Audit(r.Context(), a, ask)
	if err != nil {
		return err
	}
	for _, n := range rows {
		line := NotedLine{At: s.when(c, n.At), Who: actor(n), What: does(n, whom(n))}
		if n.Reason != "" {
			line.Why = "Reason: " + n.Reason
		}
		m.Rows = append(m.Rows, line)
	}
	if no > 1 {
		m.Newer = readsAt(m.Who, m.Day, no-1)
	}
	if more {
		m.Older = readsAt(m.Who, m.Day, no+1)
	}
	return s.Show(w, r, m.View())
}

// dayOf asks for a day of the club, where one is given, and says whether it is one.
func dayOf(text string, c club.Club, ask *store.NotedAsk) bool {
	if text == "" {
		return true
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return false
	}
	zone := c.Local(day).Location()
	ask.From = time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, zone)
	ask.To = time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, zone)
	return true
}

// readsAt is the address of a page of a search.
func readsAt(who, day string, page int) string {
	q := url.Values{"page": {strconv.Itoa(page)}}
	if who != "" {
		q.Set("who", who)
	}
	if day != "" {
		q.Set("day", day)
	}
	return "/welfare/reads?" + q.Encode()
}
