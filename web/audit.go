package web

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"strconv"

	"drover/game"
	"drover/store"

	"github.com/go-chi/chi/v5"
)

// reading is what a route shows an adult of a child: what the audit says of it, and
// whose data it is.
type reading struct {
	what string // empty: nothing of a child, or nothing to an adult
	of   store.Subject
}

// readings says of every route what it shows. A route without a row shows nothing
// at all: it answers with a failure, and a test fails. A form's route shows the page
// again where the form is refused.
var readings = map[string]reading{
	"GET /":                {},
	"GET /in":              {},
	"POST /in/card":        {},
	"GET /in/coach":        {},
	"POST /in/coach":       {},
	"GET /in/officer":      {},
	"GET /in/code":         {},
	"POST /in/code":        {},
	"GET /in/forgotten":    {},
	"POST /in/forgotten":   {},
	"GET /reset/password":  {},
	"POST /reset/password": {},
	"GET /reset/factor":    {},
	"POST /reset/factor":   {},
	"GET /open":            {},
	"POST /open":           {},
	"GET /setup":           {},
	"POST /setup":          {},
	"GET /join":            {},
	"POST /join":           {},
	"POST /out":            {},
	"GET /here":            {},
	"GET /feed/{name}":     {}, // the store notes it, once a day
	"GET /confirm":         {}, // nothing of a child, as the next three
	"POST /confirm":        {},
	"GET " + unsubscribe:   {},
	"POST " + unsubscribe:  {},
	"GET /healthz":         {},
	"GET /readyz":          {},

	"GET /today":           {}, // a child's own, as the next eight
	"POST /today/start":    {},
	"POST /today/cards":    {},
	"POST /today/check":    {},
	"GET /check":           {},
	"POST /check":          {},
	"GET /play/{id}":       {},
	"POST /play/{id}/end":  {},
	"POST /play/{id}/from": {},
	"GET /play/{id}/then":  {},
	"GET /free":            {},
	"POST /free":           {},
	"GET /own":             {},
	"POST /own":            {},
	"GET /live/games/{id}": {"game watched", store.OfGame},
	"GET /tell":            {}, // at most the names of the own children: that somebody looks here is noted nowhere
	"POST /tell":           {},
	"GET /tell/told":       {},

	"GET /certificate/{code}":               {},
	"GET /report/{id}/certificate/{code}":   {"certificate read", store.OfWard},
	"GET /notice":                           {}, // nothing of a child, as the next three
	"GET /exports":                          {"exports read", store.OfClub},
	"POST /exports":                         {},
	"GET /exports/{id}":                     {},
	"GET /keeping":                          {},
	"POST /keeping":                         {},
	"GET /notices":                          {},
	"POST /notices":                         {},
	"GET /notices/{for}/{version}":          {},
	"GET /students/{id}/certificate/{code}": {"certificate read", store.OfStudent},
	"POST /students/{id}/watched":           {},

	"GET /guide":        {}, // nothing of a child, as the next one
	"GET /guide/{code}": {},

	"GET /welfare":                        {},
	"POST /welfare":                       {},
	"POST /welfare/invite":                {},
	"POST /welfare/{id}/end":              {},
	"GET /welfare/erasures":               {"erasures read", store.OfClub},
	"POST /welfare/erasures":              {"erasures read", store.OfClub},
	"POST /welfare/erasures/{id}/confirm": {},
	"POST /welfare/erasures/{id}/stop":    {},
	"GET /welfare/consents":               {"consents read", store.OfClub},
	"POST /welfare/consents":              {"consents read", store.OfClub},

	"GET /welfare/concerns":              {}, // no list here names a child
	"GET /welfare/concerns/{id}":         {"concern read", store.OfConcern},
	"POST /welfare/concerns/{id}/open":   {},
	"POST /welfare/concerns/{id}/note":   {"concern read", store.OfConcern},
	"POST /welfare/concerns/{id}/close":  {},
	"POST /welfare/concerns/{id}/reopen": {},
	"POST /welfare/concerns/{id}/games":  {"concern read", store.OfConcern},
	"GET /welfare/students/{id}/games":   {"games listed", store.OfStudent},
	"GET /welfare/access":                {},
	"GET /welfare/guardians":             {"guardians read", store.OfClub},
	"GET /welfare/bar/{id}":              {},
	"POST /welfare/bar/{id}":             {},
	"POST /welfare/bar/{id}/lift":        {},
	"GET /welfare/reads":                 {"audit read", store.OfClub},

	"GET /students":                           {"students read", store.OfClub},
	"POST /students":                          {"students read", store.OfClub},
	"GET /students/new":                       {},
	"GET /students/many":                      {"students read", store.OfClub},
	"POST /students/many":                     {"students read", store.OfClub},
	"GET /cards":                              {"students read", store.OfClub},
	"POST /cards":                             {},
	"GET /cards/sheet":                        {"cards read", store.OfClub},
	"GET /cards/progress":                     {},
	"GET /students.csv":                       {"students taken along", store.OfClub},
	"GET /students/register":                  {"register read", store.OfClub},
	"POST /students/chosen":                   {},
	"GET /students/{id}/edit":                 {"student's form read", store.OfStudent},
	"POST /students/{id}/edit":                {"student's form read", store.OfStudent},
	"POST /students/{id}/archive":             {},
	"POST /students/{id}/back":                {},
	"GET /students/{id}/consent":              {"student's consent read", store.OfStudent},
	"POST /students/{id}/consent":             {"student's consent read", store.OfStudent},
	"POST /students/{id}/consent/back":        {"student's consent read", store.OfStudent},
	"GET /students/{id}/kin":                  {"guardians of a sibling read", store.OfStudent},
	"POST /students/{id}/kin":                 {},
	"POST /students/{id}/guardian/{g}/part":   {},
	"GET /students/{id}/terms":                {"term reports read", store.OfStudent},
	"POST /students/{id}/terms":               {"term reports read", store.OfStudent},
	"GET /students/{id}/terms/{t}":            {"term report read", store.OfStudent},
	"POST /students/{id}/terms/{t}":           {"term report read", store.OfStudent},
	"POST /students/{id}/erase":               {},
	"GET /students/{id}/report":               {"report read", store.OfStudent},
	"POST /students/{id}/guardian/{g}/name":   {},
	"POST /students/{id}/guardian/{g}/renew":  {},
	"GET /groups":                             {},
	"POST /groups":                            {},
	"POST /groups/{id}":                       {},
	"POST /groups/{id}/archive":               {},
	"GET /coaches":                            {},
	"POST /coaches/invite":                    {},
	"POST /coaches/{id}/end":                  {},
	"POST /coaches/{id}/owner":                {},
	"POST /coaches/{id}/lift":                 {},
	"GET /handover":                           {"hand-over read", store.OfClub},
	"GET /season":                             {"students read", store.OfClub},
	"POST /season":                            {"students read", store.OfClub},
	"GET /settings":                           {},
	"POST /settings":                          {},
	"POST /undo/{id}":                         {},
	"GET /students/{id}":                      {"student's page read", store.OfStudent},
	"POST /students/{id}/check":               {},
	"GET /students/{id}/card":                 {"student's card read", store.OfStudent},
	"POST /students/{id}/card":                {},
	"POST /students/{id}/guardian":            {"student's page read", store.OfStudent},
	"GET /students/{id}/guardian/{g}/link":    {"guardian's link read", store.OfStudent},
	"POST /students/{id}/guardian/{g}/link":   {},
	"POST /students/{id}/guardian/{g}/revoke": {},
	"GET /drills":                             {"drills read", store.OfClub},
	"GET /drills/new":                         {},
	"POST /drills":                            {},
	"GET /drills/{id}":                        {"drill read", store.OfClub},
	"POST /drills/{id}/assign":                {"drill read", store.OfClub},
	"POST /drills/ready":                      {},
	"POST /drills/{id}/name":                  {"drill read", store.OfClub},
	"POST /drills/{id}/archive":               {},
	"POST /drills/{id}/back":                  {},
	"GET /plans":                              {},
	"POST /plans":                             {},
	"GET /plans/{id}":                         {},
	"GET /plans/{id}/week":                    {},
	"POST /plans/{id}/week":                   {},
	"GET /plans/{id}/cell":                    {},
	"POST /plans/{id}/cell":                   {},
	"POST /plans/{id}/fill":                   {},
	"POST /plans/{id}/move":                   {},
	"GET /set":                                {"grid read", store.OfClub},
	"POST /tasks/{id}/withdraw":               {},
	"POST /tasks/{id}/due":                    {},
	"POST /drills/{id}/play":                  {}, // the coach's own
	"GET /watch/{id}":                         {"game's watch page read", store.OfGame},
	"GET /since":                              {"first page read", store.OfClub},
	"POST /since/later":                       {},
	"GET /next":                               {"proposals read", store.OfClub},
	"POST /next":                              {},
	"GET /stages":                             {"stages read", store.OfClub},
	"GET /stages.csv":                         {"stages taken along", store.OfClub},
	"GET /games/{id}":                         {"game read", store.OfGame},
	"GET /games/{id}.pgn":                     {"game taken along", store.OfGame},

	"GET /account":                {}, // a coach's own, as the next twenty-two
	"GET /account/again":          {},
	"POST /account/again":         {},
	"GET /account/password":       {},
	"POST /account/password":      {},
	"GET /account/email":          {},
	"POST /account/email":         {},
	"GET /account/factor":         {},
	"POST /account/factor":        {},
	"POST /account/factor/off":    {},
	"GET /account/codes":          {},
	"POST /account/codes":         {},
	"POST /account/session":       {},
	"POST /account/sessions":      {},
	"POST /account/notices/{id}":  {},
	"POST /account/mail":          {},
	"GET /account/calendar":       {},
	"POST /account/calendar":      {},
	"POST /account/calendar/end":  {},
	"POST /coaches/{id}/password": {},
	"POST /coaches/{id}/factor":   {},
	"GET /coaches/{id}/link":      {},

	"GET /report":                  {"report read", store.OfWard},
	"GET /report/{id}":             {"report read", store.OfWard},
	"GET /report/{id}/consent":     {"consent read", store.OfWard},
	"POST /report/{id}/consent":    {},
	"GET /report/{id}/terms/{t}":   {"term report read", store.OfWard},
	"GET /report/{id}/data":        {"data page read", store.OfWard},
	"POST /report/{id}/data":       {},
	"GET /report/{id}/data/{x}":    {}, // the store notes it, as of the owner's
	"GET /report/{id}/erase":       {"erasure's page read", store.OfWard},
	"POST /report/{id}/erase":      {},
	"POST /report/{id}/erase/stop": {},
	"GET /report/{id}/card":        {"card's page read", store.OfWard},
	"POST /report/{id}/card":       {},
	"GET /report/calendar":         {}, // a guardian's own address, as the next two
	"POST /report/calendar":        {},
	"POST /report/calendar/end":    {},
	"GET /report/mail":             {}, // and the own address for mail
	"POST /report/mail":            {},
	"POST /report/mail/end":        {},
}

// noted makes a route write to the audit what it shows an adult of a child, before
// any of it is sent.
func (s *Server) noted(rt route) route {
	show, classified := readings[rt.method+" "+rt.path]
	handle := rt.handle
	rt.handle = func(w http.ResponseWriter, r *http.Request, a game.Actor) error {
		switch {
		case !classified:
			return fmt.Errorf("%s %s has no row in readings", rt.method, rt.path)
		case show.what == "" || a.Role == game.Student:
			return handle(w, r, a)
		}
		n := &noting{ResponseWriter: w, note: func() error {
			id, _ := strconv.ParseInt(chi.URLParam(r, "id"), 10, 64) // no page is shown under a number that cannot be read
			return s.Store.Read(r.Context(), a, show.what, show.of, id)
		}}
		err := handle(n, r, a)
		if n.err == nil {
			return err
		}
		w.Header().Del("Content-Disposition") // of what is not sent now
		return n.err
	}
	return rt
}

// noting is an answer that is noted before anything of it is sent. Without the note
// nothing is.
type noting struct {
	http.ResponseWriter
	note  func() error
	begun bool
	err   error // why there was no note
}

// may begins the answer, once, and says whether there is one.
func (n *noting) may() bool {
	if !n.begun {
		n.begun, n.err = true, n.note()
	}
	return n.err == nil
}

// WriteHeader begins the answer; one that only leads elsewhere, or refuses, shows
// nothing, and is not noted.
func (n *noting) WriteHeader(status int) {
	if nothing := status >= 300 && status < 400 || status == http.StatusForbidden; nothing && !n.begun {
		n.begun = true
	}
	if n.may() {
		n.ResponseWriter.WriteHeader(status)
	}
}

// Write sends a part of the answer.
func (n *noting) Write(b []byte) (int, error) {
	if !n.may() {
		return len(b), nil // to nobody: the failure is answered in its place
	}
	return n.ResponseWriter.Write(b) //nolint:wrapcheck // the writer's own error
}

// Hijack hands the line over to a socket.
func (n *noting) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	if !n.may() {
		return nil, nil, n.err
	}
	return http.NewResponseController(n.ResponseWriter).Hijack() //nolint:wrapcheck // the same
}

// Unwrap gives the writer to those who set its deadlines.
func (n *noting) Unwrap() http.ResponseWriter { return n.ResponseWriter }
