package public

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"

	ics "github.com/arran4/golang-ical"
	"github.com/go-chi/chi/v5"
)

// Feed answers a calendar, which has neither a cookie nor a way to keep its secret but in
// the address (a written exception to OWASP ASVS 5.0, 14.2.1). Whatever is no feed that
// works gets one and the same answer, and tokens of 256 bits need no throttle.
func (s Pages) Feed(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	name, is := strings.CutSuffix(chi.URLParam(r, "name"), ".ics")
	days, err := []store.DueDay(nil), site.Missing()
	if is {
		days, err = s.Store.ReadFeed(r.Context(), club.Secret(name))
	}
	if game.KindOf(err) == game.Missing {
		http.Error(w, "There is no calendar at this address. It may have ended: sign in to Drover to make a new one.",
			http.StatusNotFound)
		return nil
	}
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `inline; filename="drover.ics"`) // and not the token
	if _, err := io.WriteString(w, s.calendar(club.Secret(name), days)); err != nil {
		return fmt.Errorf("write a calendar: %w", err)
	}
	return nil
}

// readAgain is how long a calendar may wait before it reads a feed again (RFC 7986, 5.7).
const readAgain = "PT4H"

// calendar writes a feed (RFC 5545): for each day how many drills are due, and where to sign
// in. No name goes into it, and the only text that is not ours is the site's own address,
// which New has read.
func (s Pages) calendar(token club.Secret, days []store.DueDay) string {
	cal := ics.NewCalendar()
	cal.SetProductId("-//Drover//Calendar feed//EN")
	cal.SetCalscale("GREGORIAN")
	cal.SetName("Drover")
	cal.SetRefreshInterval(readAgain) // the library adds that it is a duration
	cal.SetXPublishedTTL(readAgain)
	signIn := s.Link("/in")
	for _, d := range days {
		e := cal.AddEvent(entryID(token, d.Day) + "@" + s.Base.Hostname())
		e.SetDtStampTime(s.Now())
		e.SetAllDayStartAt(d.Day)
		e.SetSummary("Drover: " + game.Count(d.Drills, "drill") + " due")
		e.SetDescription(signIn)
		e.SetURL(signIn)
		e.SetTimeTransparency(ics.TransparencyTransparent) // nobody is busy because of it
	}
	if len(days) == 0 { // a calendar without any component is none (RFC 5545, 3.6)
		utc := cal.AddTimezone("UTC").AddStandard()
		utc.SetProperty(ics.ComponentPropertyDtStart, "19700101T000000")
		utc.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetfrom), "+0000")
		utc.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetto), "+0000")
	}
	return cal.Serialize(ics.WithNewLineWindows)
}

// entryID names the entry of a day, the same each time. Without the token it tells nothing.
func entryID(token club.Secret, day time.Time) string {
	sum := sha256.Sum256(append(token.Hash(), day.Format(time.DateOnly)...))
	return hex.EncodeToString(sum[:16])
}

// calendarPath is where a person's page of the own feed is.
func calendarPath(role game.Role) string {
	if role == game.Guardian {
		return "/report/calendar"
	}
	return "/account/calendar"
}

// Calendar is the page of a coach's or a guardian's own calendar feed. It says what others
// can read before there is an address.
func (s Pages) Calendar(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	f, err := s.Store.Feed(r.Context(), a)
	if err != nil {
		return err
	}
	now := c.Local(s.Now())
	lastDay := func(end time.Time) string { return site.ShortDay(c.Local(end.Add(-time.Second)), now) }
	m := CalendarPage{Page: page, At: calendarPath(a.Role), May: f.May, Until: lastDay(f.Ends)}
	if f.Own == nil {
		return s.Show(w, r, m.View())
	}
	m.Own = &FeedLine{Made: site.ShortDay(c.Local(f.Own.Made), now), Until: lastDay(f.Own.Until)}
	if f.Own.Read != nil {
		m.Own.Read = site.Ago(c.Local(*f.Own.Read), now)
	}
	var token club.Secret
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownFeed, int64(a.Person), &token)
	if err != nil && game.KindOf(err) != game.Missing {
		return err
	}
	if token != "" {
		m.Own.URL = s.Link("/feed/" + string(token) + ".ics")
	}
	return s.Show(w, r, m.View())
}

// CalendarPost makes the address of the own feed, and shows it on the page for a while.
func (s Pages) CalendarPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f site.OnceForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if _, err := s.Store.MakeFeed(r.Context(), a, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, calendarPath(a.Role), http.StatusSeeOther)
	return nil
}

// CalendarEnd ends the own feed.
func (s Pages) CalendarEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if err := s.Store.EndFeed(r.Context(), a); err != nil {
		return err
	}
	http.Redirect(w, r, calendarPath(a.Role), http.StatusSeeOther)
	return nil
}

// CalendarPage is /account/calendar and /report/calendar.
type CalendarPage struct {
	view.Page
	At    string    // the page's own address
	May   bool      // a feed can be made
	Until string    // "31 January 2027", of one that is made now
	Own   *FeedLine // nil: there is none
}

// FeedLine is the feed that there is.
type FeedLine struct {
	URL         string // for ten minutes
	Made, Until string
	Read        string // "today"; empty: no calendar has read it
}

// back is the page that leads here.
func (m CalendarPage) back() view.Link {
	if m.Who.Role == view.Guardian {
		return view.Link{Href: "/report", Label: "Back to the report"}
	}
	return view.Link{Href: "/account", Label: "Back to your account"}
}
