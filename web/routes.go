package web

import (
	"net/http"

	"drover/game"
	"drover/static"

	"github.com/go-chi/chi/v5"
)

// route is one line of the table: who may call it is part of it.
type route struct {
	method, path string
	who          []game.Role // empty: anybody
	handle       func(w http.ResponseWriter, r *http.Request, a game.Actor) error
}

var (
	anybody  []game.Role
	coach    = []game.Role{game.Coach}
	student  = []game.Role{game.Student}
	guardian = []game.Role{game.Guardian}
	players  = []game.Role{game.Coach, game.Student}
	family   = []game.Role{game.Student, game.Guardian}
)

// routes is the whole table, by audience.
func (s *Server) routes() []route {
	return []route{
		{"GET", "/", anybody, s.home},
		{"GET", "/in", anybody, s.signIn},
		{"POST", "/in/card", anybody, s.signInCard},
		{"GET", "/in/coach", anybody, s.coachSignIn},
		{"POST", "/in/coach", anybody, s.coachSignInPost},
		{"GET", "/open", anybody, s.open},
		{"POST", "/open", anybody, s.openPost},
		{"GET", "/setup", anybody, s.setup},
		{"POST", "/setup", anybody, s.setupPost},
		{"POST", "/out", anybody, s.signOut},
		{"GET", "/here", anybody, s.hereNow},
		{"GET", "/healthz", anybody, s.health},
		{"GET", "/readyz", anybody, s.ready},

		{"GET", "/today", student, s.today},
		{"POST", "/today/start", student, s.start},
		{"POST", "/today/check", student, s.startCheck},
		{"GET", "/check", student, s.check},
		{"POST", "/check", student, s.checkPost},
		{"GET", "/play/{id}", student, s.play},
		{"POST", "/play/{id}/end", student, s.playEnd},
		{"GET", "/live/games/{id}", players, s.socket},
		{"GET", "/tell", family, s.tell},

		{"GET", "/students", coach, s.students},
		{"POST", "/students", coach, s.studentsPost},
		{"GET", "/students/{id}", coach, s.student},
		{"POST", "/students/{id}/check", coach, s.checkBegin},
		{"GET", "/students/{id}/card", coach, s.card},
		{"POST", "/students/{id}/card", coach, s.cardPost},
		{"POST", "/students/{id}/guardian", coach, s.guardianPost},
		{"GET", "/students/{id}/guardian/{g}/link", coach, s.guardianLink},
		{"POST", "/students/{id}/guardian/{g}/link", coach, s.linkPost},
		{"POST", "/students/{id}/guardian/{g}/revoke", coach, s.guardianRevoke},
		{"GET", "/drills", coach, s.drills},
		{"GET", "/drills/new", coach, s.drillNew},
		{"POST", "/drills", coach, s.drillPost},
		{"GET", "/drills/{id}", coach, s.drill},
		{"POST", "/drills/{id}/assign", coach, s.assignPost},
		{"GET", "/watch/{id}", coach, s.watch},
		{"GET", "/stages", coach, s.stages},
		{"GET", "/games/{id}", players, s.review},
		{"GET", "/games/{id}.pgn", players, s.pgn},

		{"GET", "/report", guardian, s.report},
	}
}

// Handler is the site.
func (s *Server) Handler() http.Handler {
	mux := chi.NewRouter()
	mux.Use(s.client, s.identify, s.recoverer, s.headers, s.lead, limitBody, s.sameOrigin)
	mux.Method("GET", "/static/*", static.Handler())
	for _, rt := range s.routes() {
		mux.Method(rt.method, rt.path, s.guarded(s.noted(rt)))
	}
	mux.NotFound(func(w http.ResponseWriter, r *http.Request) { s.problem(w, r, missing()) })
	mux.MethodNotAllowed(func(w http.ResponseWriter, r *http.Request) { s.problem(w, r, missing()) })
	return mux
}
