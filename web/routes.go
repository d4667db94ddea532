package web

import (
	"net/http"
	"slices"

	"drover/game"
	"drover/static"
	"drover/web/site"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// route is one line of the table: who may call it is part of it.
type route struct {
	method, path string
	who          audience
	handle       func(w http.ResponseWriter, r *http.Request, a game.Actor) error
}

// audience is who may call a route.
type audience struct {
	roles    []game.Role // empty: anybody
	standsIn bool        // a coach who stands in may, too
}

func (a audience) has(role game.Role) bool { return slices.Contains(a.roles, role) }

// regulars have the pages of the whole club, and what is kept of its people: a coach who
// stands in teaches, and leaves both as they are.
var (
	anybody   = audience{standsIn: true}
	coaches   = audience{[]game.Role{game.Coach}, true}
	regulars  = audience{[]game.Role{game.Coach}, false}
	students  = audience{[]game.Role{game.Student}, true}
	guardians = audience{[]game.Role{game.Guardian}, true}
	staff     = audience{[]game.Role{game.Coach, game.Welfare}, true}
	officers  = audience{[]game.Role{game.Welfare}, true}
	readers   = audience{[]game.Role{game.Coach, game.Student, game.Welfare}, true} // an officer with a noted reason
	players   = audience{[]game.Role{game.Coach, game.Student}, true}
	family    = audience{[]game.Role{game.Student, game.Guardian}, true}
	learners  = audience{[]game.Role{game.Coach, game.Student, game.Guardian}, true}
)

// routes is the whole table, by audience.
func (s *Server) routes() []route {
	return slices.Concat(s.openRoutes(), s.guardianRoutes(), s.officerRoutes(),
		s.peopleRoutes(), s.drillRoutes(), s.accountRoutes())
}

// openRoutes are those of everybody and of students.
func (s *Server) openRoutes() []route {
	return []route{
		{"GET", "/", anybody, s.public.Home},
		{"GET", "/in", anybody, s.public.SignIn},
		{"POST", "/in/card", anybody, s.public.SignInCard},
		{"GET", "/in/coach", anybody, s.public.CoachSignIn},
		{"POST", "/in/coach", anybody, s.public.CoachSignInPost},
		{"GET", "/in/officer", anybody, s.public.OfficerSignIn},
		{"GET", "/in/code", anybody, s.public.Code},
		{"POST", "/in/code", anybody, s.public.CodePost},
		{"GET", "/in/forgotten", anybody, s.public.Forgotten},
		{"POST", "/in/forgotten", anybody, s.public.ForgottenPost},
		{"GET", "/reset/password", anybody, s.public.ResetPassword},
		{"POST", "/reset/password", anybody, s.public.ResetPasswordPost},
		{"GET", "/reset/factor", anybody, s.public.ResetFactor},
		{"POST", "/reset/factor", anybody, s.public.ResetFactorPost},
		{"GET", "/open", anybody, s.public.Open},
		{"POST", "/open", anybody, s.public.OpenPost},
		{"GET", "/setup", anybody, s.public.Setup},
		{"POST", "/setup", anybody, s.public.SetupPost},
		{"GET", "/join", anybody, s.public.Join},
		{"POST", "/join", anybody, s.public.JoinPost},
		{"POST", "/out", anybody, s.public.SignOut},
		{"GET", "/feed/{name}", anybody, s.public.Feed},
		{"GET", "/confirm", anybody, s.public.Confirm},
		{"POST", "/confirm", anybody, s.public.ConfirmPost},
		{"GET", unsubscribe, anybody, s.public.Stop},
		{"POST", unsubscribe, anybody, s.public.StopPost},
		{"GET", "/here", anybody, s.hereNow},
		{"GET", "/healthz", anybody, s.health},
		{"GET", "/readyz", anybody, s.ready},

		{"GET", "/today", students, s.student.Today},
		{"POST", "/today/start", students, s.student.Start},
		{"POST", "/today/cards", students, s.student.LeaveCards},
		{"POST", "/today/check", students, s.student.StartCheck},
		{"GET", "/check", students, s.student.Check},
		{"POST", "/check", students, s.student.CheckPost},
		{"GET", "/play/{id}", players, s.student.Play},
		{"POST", "/play/{id}/end", players, s.student.PlayEnd},
		{"POST", "/play/{id}/from", students, s.student.From},
		{"GET", "/play/{id}/then", students, s.student.Then},
		{"GET", "/free", students, s.student.Free},
		{"POST", "/free", students, s.student.FreePost},
		{"GET", "/live/games/{id}", players, s.socket},
		{"GET", "/own", students, s.student.Own},
		{"POST", "/own", students, s.student.OwnPost},
		{"GET", "/tell", family, s.public.Tell},
		{"POST", "/tell", family, s.public.TellPost},
		{"GET", "/tell/told", family, s.public.Told},
		{"GET", "/certificate/{code}", students, s.certificate.Own},
		{"GET", "/notice", family, s.notices.Own},

		{"GET", "/guide", learners, s.guide.List},
		{"GET", "/guide/{code}", learners, s.guide.Ending},

		{"GET", "/games/{id}", readers, s.review.Review},
		{"GET", "/games/{id}.pgn", players, s.review.PGN},
	}
}

// guardianRoutes are those of a guardian's own page.
func (s *Server) guardianRoutes() []route {
	return []route{
		{"GET", "/report", guardians, s.guardian.Report},
		{"GET", "/report/{id}", guardians, s.guardian.Report},
		{"GET", "/report/{id}/consent", guardians, s.guardian.Consent},
		{"POST", "/report/{id}/consent", guardians, s.guardian.ConsentPost},
		{"GET", "/report/{id}/terms/{t}", guardians, s.guardian.OwnTerm},
		{"GET", "/report/{id}/data", guardians, s.guardian.Data},
		{"POST", "/report/{id}/data", guardians, s.guardian.DataPost},
		{"GET", "/report/{id}/data/{x}", guardians, s.guardian.DataFile},
		{"GET", "/report/{id}/card", guardians, s.guardian.Card},
		{"POST", "/report/{id}/card", guardians, s.guardian.CardPost},
		{"GET", "/report/{id}/erase", guardians, s.guardian.Erase},
		{"POST", "/report/{id}/erase", guardians, s.guardian.ErasePost},
		{"POST", "/report/{id}/erase/stop", guardians, s.guardian.EraseStop},
		{"GET", "/report/{id}/certificate/{code}", guardians, s.certificate.OfWard},
		{"GET", "/report/calendar", guardians, s.public.Calendar},
		{"POST", "/report/calendar", guardians, s.public.CalendarPost},
		{"POST", "/report/calendar/end", guardians, s.public.CalendarEnd},

		{"GET", "/report/mail", guardians, s.guardian.Mail},
		{"POST", "/report/mail", guardians, s.guardian.MailPost},
		{"POST", "/report/mail/end", guardians, s.guardian.MailEnd},
	}
}

// officerRoutes are the welfare officers', and whom children turn to.
func (s *Server) officerRoutes() []route {
	return []route{
		{"GET", "/welfare", staff, s.officer.Welfare},
		{"POST", "/welfare", staff, s.officer.WelfarePost},
		{"POST", "/welfare/invite", staff, s.officer.Invite},
		{"POST", "/welfare/{id}/end", staff, s.officer.End},
		{"GET", "/welfare/erasures", staff, s.officer.Erasures},
		{"POST", "/welfare/erasures", staff, s.officer.ErasuresPost},
		{"POST", "/welfare/erasures/{id}/confirm", staff, s.officer.ErasureConfirm},
		{"POST", "/welfare/erasures/{id}/stop", staff, s.officer.ErasureStop},
		{"GET", "/welfare/consents", officers, s.officer.Consents},
		{"POST", "/welfare/consents", officers, s.officer.ConsentsPost},
		{"GET", "/welfare/concerns", officers, s.officer.Concerns},
		{"GET", "/welfare/concerns/{id}", officers, s.officer.Concern},
		{"POST", "/welfare/concerns/{id}/open", officers, s.officer.ConcernOpen},
		{"POST", "/welfare/concerns/{id}/note", officers, s.officer.ConcernNote},
		{"POST", "/welfare/concerns/{id}/close", officers, s.officer.ConcernClose},
		{"POST", "/welfare/concerns/{id}/reopen", officers, s.officer.ConcernReopen},
		{"POST", "/welfare/concerns/{id}/games", officers, s.officer.ConcernGames},
		{"GET", "/welfare/students/{id}/games", officers, s.officer.Games},
		{"GET", "/welfare/access", officers, s.officer.Access},
		{"GET", "/welfare/guardians", officers, s.officer.Guardians},
		{"GET", "/welfare/bar/{id}", officers, s.officer.BarAsk},
		{"POST", "/welfare/bar/{id}", officers, s.officer.Bar},
		{"POST", "/welfare/bar/{id}/lift", officers, s.officer.Lift},
		{"GET", "/welfare/reads", officers, s.officer.Reads},
	}
}

// peopleRoutes are the coaches' own about the people of a club.
func (s *Server) peopleRoutes() []route {
	return []route{
		{"GET", "/students", coaches, s.coach.Students},
		{"POST", "/students", regulars, s.coach.StudentsPost},
		{"GET", "/students/new", regulars, s.coach.StudentNew},
		{"GET", "/students/many", regulars, s.coach.Many},
		{"POST", "/students/many", regulars, s.coach.ManyPost},
		{"GET", "/students.csv", coaches, s.coach.StudentsCSV},
		{"GET", "/students/register", coaches, s.coach.Register},
		{"POST", "/students/chosen", coaches, s.coach.Chosen},
		{"GET", "/students/{id}", coaches, s.coach.Student},
		{"GET", "/students/{id}/edit", regulars, s.coach.StudentEdit},
		{"POST", "/students/{id}/edit", regulars, s.coach.StudentEditPost},
		{"POST", "/students/{id}/archive", regulars, s.coach.StudentArchive},
		{"POST", "/students/{id}/back", regulars, s.coach.StudentBack},
		{"GET", "/students/{id}/consent", coaches, s.coach.Consent},
		{"POST", "/students/{id}/consent", coaches, s.coach.ConsentPost},
		{"POST", "/students/{id}/consent/back", coaches, s.coach.ConsentBack},
		{"GET", "/students/{id}/kin", regulars, s.coach.Kin},
		{"POST", "/students/{id}/kin", regulars, s.coach.KinPost},
		{"POST", "/students/{id}/guardian/{g}/part", regulars, s.coach.GuardianPart},
		{"GET", "/students/{id}/terms", coaches, s.guardian.Terms},
		{"POST", "/students/{id}/terms", coaches, s.guardian.TermsPost},
		{"GET", "/students/{id}/terms/{t}", coaches, s.guardian.Term},
		{"POST", "/students/{id}/terms/{t}", coaches, s.guardian.TermPost},
		{"POST", "/students/{id}/erase", regulars, s.coach.ErasePost},
		{"GET", "/students/{id}/report", coaches, s.guardian.OfStudent},
		{"POST", "/students/{id}/check", coaches, s.coach.CheckBegin},
		{"POST", "/students/{id}/watched", coaches, s.coach.WatchedPost},
		{"GET", "/students/{id}/certificate/{code}", coaches, s.certificate.OfStudent},
		{"GET", "/students/{id}/card", coaches, s.coach.Card},
		{"POST", "/students/{id}/card", coaches, s.coach.CardPost},
		{"POST", "/students/{id}/guardian", coaches, s.coach.GuardianPost},
		{"GET", "/students/{id}/guardian/{g}/link", coaches, s.coach.GuardianLink},
		{"POST", "/students/{id}/guardian/{g}/link", coaches, s.coach.LinkPost},
		{"POST", "/students/{id}/guardian/{g}/revoke", coaches, s.coach.GuardianRevoke},
		{"POST", "/students/{id}/guardian/{g}/name", regulars, s.coach.GuardianName},
		{"POST", "/students/{id}/guardian/{g}/renew", coaches, s.coach.LinkRenew},
		{"GET", "/cards", regulars, s.coach.Cards},
		{"POST", "/cards", regulars, s.coach.CardsPost},
		{"GET", "/cards/sheet", regulars, s.coach.Sheet},
		{"GET", "/cards/progress", regulars, s.coach.CardProgress},
		{"GET", "/groups", regulars, s.coach.Groups},
		{"POST", "/groups", regulars, s.coach.GroupsPost},
		{"POST", "/groups/{id}", regulars, s.coach.GroupName},
		{"POST", "/groups/{id}/archive", regulars, s.coach.GroupArchive},
		{"GET", "/coaches", regulars, s.coach.Coaches},
		{"POST", "/coaches/invite", regulars, s.coach.CoachInvite},
		{"POST", "/coaches/{id}/end", regulars, s.coach.CoachEnd},
		{"POST", "/coaches/{id}/owner", regulars, s.coach.CoachOwner},
		{"POST", "/coaches/{id}/lift", regulars, s.coach.CoachLift},
		{"GET", "/handover", coaches, s.coach.Handover},
		{"GET", "/season", regulars, s.coach.Season},
		{"POST", "/season", regulars, s.coach.SeasonPost},
		{"GET", "/settings", regulars, s.coach.Settings},
		{"POST", "/settings", regulars, s.coach.SettingsPost},
		{"GET", "/exports", regulars, s.coach.Exports},
		{"POST", "/exports", regulars, s.coach.ExportsPost},
		{"GET", "/exports/{id}", regulars, s.coach.ExportFile},
		{"GET", "/keeping", regulars, s.coach.Keeping},
		{"POST", "/keeping", regulars, s.coach.KeepingPost},
		{"GET", "/notices", regulars, s.notices.List},
		{"POST", "/notices", regulars, s.notices.Post},
		{"GET", "/notices/{for}/{version}", regulars, s.notices.Version},
		{"POST", "/undo/{id}", coaches, s.coach.Undo},
	}
}

// drillRoutes are the coaches' own about drills, what is set, and what came of it.
func (s *Server) drillRoutes() []route {
	return []route{
		{"GET", "/drills", coaches, s.coach.Drills},
		{"GET", "/drills/new", coaches, s.coach.DrillNew},
		{"POST", "/drills", coaches, s.coach.DrillPost},
		{"GET", "/drills/{id}", coaches, s.coach.Drill},
		{"POST", "/drills/{id}/assign", coaches, s.coach.AssignPost},
		{"POST", "/drills/ready", regulars, s.coach.DrillsReady},
		{"POST", "/drills/{id}/name", regulars, s.coach.DrillName},
		{"POST", "/drills/{id}/archive", regulars, s.coach.DrillArchive},
		{"POST", "/drills/{id}/back", regulars, s.coach.DrillBack},
		{"GET", "/plans", regulars, s.coach.Plans},
		{"POST", "/plans", regulars, s.coach.PlanPost},
		{"GET", "/plans/{id}", regulars, s.coach.Plan},
		{"GET", "/plans/{id}/week", regulars, s.coach.PlanWeek},
		{"POST", "/plans/{id}/week", regulars, s.coach.PlanWeekPost},
		{"GET", "/plans/{id}/cell", regulars, s.coach.PlanCell},
		{"POST", "/plans/{id}/cell", regulars, s.coach.PlanCellPost},
		{"POST", "/plans/{id}/fill", regulars, s.coach.PlanFill},
		{"POST", "/plans/{id}/move", regulars, s.coach.PlanMove},
		{"GET", "/set", coaches, s.coach.Set},
		{"POST", "/tasks/{id}/withdraw", coaches, s.coach.Withdraw},
		{"POST", "/tasks/{id}/due", coaches, s.coach.Due},
		{"POST", "/drills/{id}/play", coaches, s.coach.DrillPlay},
		{"GET", "/watch/{id}", coaches, s.coach.Watch},
		{"GET", "/since", coaches, s.coach.Since},
		{"POST", "/since/later", coaches, s.coach.SinceLater},
		{"GET", "/next", coaches, s.coach.Next},
		{"POST", "/next", coaches, s.coach.NextPost},
		{"GET", "/stages", coaches, s.coach.Stages},
		{"GET", "/stages.csv", coaches, s.coach.StagesCSV},
	}
}

// accountRoutes are about how coaches and welfare officers sign in.
func (s *Server) accountRoutes() []route {
	return []route{
		{"GET", "/account", staff, s.coach.Account},
		{"GET", "/account/again", staff, s.coach.Again},
		{"POST", "/account/again", staff, s.coach.AgainPost},
		{"GET", "/account/password", staff, s.coach.Password},
		{"POST", "/account/password", staff, s.coach.PasswordPost},
		{"GET", "/account/email", staff, s.coach.Email},
		{"POST", "/account/email", staff, s.coach.EmailPost},
		{"GET", "/account/factor", staff, s.coach.Factor},
		{"POST", "/account/factor", staff, s.coach.FactorPost},
		{"POST", "/account/factor/off", staff, s.coach.FactorOff},
		{"GET", "/account/codes", staff, s.coach.Codes},
		{"POST", "/account/codes", staff, s.coach.CodesPost},
		{"POST", "/account/session", staff, s.coach.SessionEnd},
		{"POST", "/account/sessions", staff, s.coach.SessionsEnd},
		{"POST", "/account/notices/{id}", staff, s.coach.NoticeRead},
		{"POST", "/account/mail", coaches, s.coach.AccountMail},
		{"GET", "/account/calendar", coaches, s.public.Calendar},
		{"POST", "/account/calendar", coaches, s.public.CalendarPost},
		{"POST", "/account/calendar/end", coaches, s.public.CalendarEnd},
		{"POST", "/coaches/{id}/password", regulars, s.coach.CoachPasswordReset},
		{"POST", "/coaches/{id}/factor", regulars, s.coach.CoachFactorReset},
		{"GET", "/coaches/{id}/link", regulars, s.coach.CoachLink},
	}
}

// unsubscribe is the way out of a weekly mail. Its secret stands in the address, and its form
// comes from anywhere: see fromAnywhere.
const unsubscribe = "/unsubscribe/{token}"

// uncompressed are the pages that show a secret beside what somebody typed, since the
// length of a compressed page tells something of both (CVE-2013-3587), and the socket and
// the calendar feed, which are no pages.
var uncompressed = map[string]bool{
	"/open": true, "/setup": true, "/join": true, "/coaches": true, "/welfare": true, "/welfare/access": true, "/students/{id}/card": true, "/report/{id}/card": true, "/students/{id}/guardian/{g}/link": true,
	"/account/factor": true, "/account/codes": true, "/coaches/{id}/link": true,
	"/reset/password": true, "/reset/factor": true,
	"/account/calendar": true, "/report/calendar": true,
	"/cards/sheet": true, "/live/games/{id}": true, "/feed/{name}": true,
	"/confirm": true, unsubscribe: true,
}

// Handler is the site.
func (s *Server) Handler() http.Handler {
	mux := chi.NewRouter()
	mux.Use(s.client, s.Identify, s.recoverer, s.headers, s.lead, limitBody, s.sameOrigin)
	mux.Method("GET", "/static/*", static.Handler())
	compress := middleware.Compress(5, "text/html", "application/vnd.chess-pgn")
	for _, rt := range s.routes() {
		h := s.guarded(s.noted(rt))
		if !uncompressed[rt.path] {
			h = compress(h)
		}
		mux.Method(rt.method, rt.path, h)
	}
	mux.NotFound(func(w http.ResponseWriter, r *http.Request) { s.problem(w, r, site.Missing()) })
	mux.MethodNotAllowed(func(w http.ResponseWriter, r *http.Request) { s.problem(w, r, site.Missing()) })
	return mux
}
