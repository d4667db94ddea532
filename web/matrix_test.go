package web_test

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store/storetest"

	"github.com/go-chi/chi/v5"
)

// row says what a route answers: to nobody, and to the coach, the student and
// the guardian of the club whose ids stand in the address; to another child and
// another guardian of that club (another coach of it may do what the coach may);
// then to the coach and the student of another club. 303 to nobody leads to
// sign-in, and so does 403; to everybody else 403 says who is signed in, since the page is for
// another role.
type row struct {
	nobody, coach, student, guardian, child2, guardian2, otherCoach, otherStudent int
	form                                                                          url.Values
}

// open is a route for anybody; the status does not depend on the person.
func open(status int, form url.Values) row {
	return row{status, status, status, status, status, status, status, status, form}
}

// matrix has a row for every route; a route without one fails the test (OWASP
// ASVS 5.0, 8.2.1 to 8.2.3, 8.4.1).
func matrix(f storetest.Fixture) map[string]row {
	v := func(pairs ...string) url.Values {
		u := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			u.Add(pairs[i], pairs[i+1])
		}
		return u
	}
	all := map[string]row{
		"GET /static/*":   open(404, nil), // the pattern itself is no file
		"GET /":           open(303, nil),
		"GET /in":         open(200, nil),
		"POST /in/card":   open(403, v("number", "1", "w1", "a", "w2", "b", "w3", "c", "w4", "d")),
		"GET /in/coach":   open(303, nil),
		"POST /in/coach":  open(403, v("email", "no@body.example", "password", "wrong")),
		"GET /in/officer": open(303, nil),
		"GET /open":       open(200, nil),
		"POST /open":      open(410, v("token", "1.none")),
		"GET /setup":      open(200, nil),
		"POST /setup": open(410, v("token", "0.x", "club", "C", "name", "N", "email", "n@c.example", "password",
			"fifteen letters or more", "welfare", "W", "contact", "There")),
		"GET /in/code":         open(303, nil),
		"POST /in/code":        open(303, v("code", "123456")),
		"GET /in/forgotten":    open(200, nil),
		"POST /in/forgotten":   open(303, v("email", "no@body.example")),
		"GET /reset/password":  open(200, nil),
		"POST /reset/password": open(410, v("token", "1.none", "password", "fifteen letters or more")),
		"GET /reset/factor":    open(200, nil),
		"POST /reset/factor":   open(410, v("token", "1.none", "password", "fifteen letters or more")),
		"GET /here":            open(200, nil),
		"GET /confirm":         open(200, nil),
		"POST /confirm":        open(410, v("token", "1.none")),
		"GET /feed/{name}":     open(404, nil), // the pattern itself is no feed; see TestFeed
		"GET /healthz":         open(200, nil),
		"GET /readyz":          open(200, nil),
		"POST /out":            open(303, v()),
		"GET /join":            open(200, nil),
		"POST /join":           open(410, v("token", "1.x", "name", "N", "email", "n@c.example", "password", "fifteen letters or more")),

		"GET /handover":            {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /coaches":             {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /coaches/invite":     {403, 422, 403, 403, 403, 403, 422, 403, v("until", "x")},
		"POST /coaches/{id}/end":   {403, 404, 403, 403, 403, 403, 404, 403, v()}, // a student is no coach
		"POST /coaches/{id}/lift":  {403, 404, 403, 403, 403, 403, 404, 403, v()}, // nobody is barred
		"POST /coaches/{id}/owner": {403, 404, 403, 403, 403, 403, 404, 403, v()},

		"GET /today":              {303, 403, 200, 403, 200, 403, 403, 200, nil},
		"GET /own":                {303, 403, 200, 403, 200, 403, 403, 200, nil},
		"POST /own":               {403, 403, 303, 403, 303, 403, 403, 303, v("pace", "slow", "big", "on", "scheme", "device")},
		"POST /today/start":       {403, 403, 303, 403, 404, 403, 403, 404, v("assignment", fmt.Sprint(f.Task))},
		"POST /today/cards":       {403, 403, 303, 403, 303, 403, 403, 303, v()},
		"POST /today/check":       {403, 403, 303, 403, 303, 403, 403, 303, v("ending", "KRK", "stage", "mate")}, // nothing is due: back to today
		"GET /check":              {303, 403, 404, 403, 404, 403, 403, 404, nil},                                 // this student has none; see TestNewcomer
		"POST /check":             {403, 403, 404, 403, 404, 403, 403, 404, v("no", "1")},
		"GET /play/{id}":          {303, 404, 200, 403, 404, 403, 404, 404, nil},
		"GET /live/games/{id}":    {403, 426, 426, 404, 404, 404, 404, 404, nil}, // 426: not asked for as a socket
		"GET /watch/{id}":         {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /play/{id}/end":     {403, 404, 303, 403, 404, 403, 404, 404, v("then", "today")},
		"POST /play/{id}/from":    {403, 403, 409, 403, 404, 403, 403, 404, v("seq", "1")}, // 409: it goes on; see TestAgainFromHere
		"GET /play/{id}/then":     {303, 403, 204, 403, 404, 403, 403, 404, nil},
		"GET /free":               {303, 403, 200, 403, 200, 403, 403, 200, nil},
		"POST /free":              {403, 403, 303, 403, 303, 403, 403, 303, v("what", f.Drill.Ending+"."+string(f.Drill.From))},
		"GET /tell":               {303, 403, 200, 200, 200, 200, 403, 200, nil},
		"POST /tell":              {403, 403, 303, 303, 303, 404, 403, 303, v("about", fmt.Sprint(f.Student.Person))}, // a child tells of itself
		"GET /tell/told":          {303, 403, 200, 200, 200, 303, 403, 200, nil},                                      // who told nothing just now is led back
		"GET /certificate/{code}": {303, 403, 200, 403, 200, 403, 403, 200, nil},

		"GET /report/calendar":      {303, 403, 403, 200, 403, 200, 403, 403, nil},
		"POST /report/calendar":     {403, 403, 403, 303, 403, 303, 403, 403, v()},
		"POST /report/calendar/end": {403, 403, 403, 303, 403, 303, 403, 403, v()},

		"GET /unsubscribe/{token}":  open(200, nil), // the same for every token: it looks at none
		"POST /unsubscribe/{token}": open(410, v("List-Unsubscribe", "One-Click")),
		"GET /report/mail":          {303, 403, 403, 200, 403, 200, 403, 403, nil},
		"POST /report/mail":         {403, 403, 403, 422, 403, 422, 403, 403, v("email", "x")},
		"POST /report/mail/end":     {403, 403, 403, 303, 403, 303, 403, 403, v()},

		"GET /guide":        {303, 200, 200, 200, 200, 200, 200, 200, nil},
		"GET /guide/{code}": {303, 200, 200, 200, 200, 200, 200, 200, nil},

		"GET /welfare":           {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /welfare":          {403, 403, 403, 403, 403, 403, 303, 403, v("welfare", "W", "contact", "There", "revision", "0")},
		"POST /welfare/invite":   {403, 403, 403, 403, 403, 403, 303, 403, v()}, // here an officer alone, there an owner, too
		"POST /welfare/{id}/end": {403, 403, 403, 403, 403, 403, 404, 403, v()},
	}
	for _, path := range []string{"/concerns", "/concerns/{id}", "/students/{id}/games", "/access", "/guardians", "/bar/{id}", "/reads"} {
		all["GET /welfare"+path] = row{303, 403, 403, 403, 403, 403, 403, 403, nil}
	}
	for path, form := range map[string]url.Values{"/concerns/{id}/open": v(), "/concerns/{id}/note": v("words", "W"), "/concerns/{id}/close": v(),
		"/concerns/{id}/reopen": v(), "/concerns/{id}/games": v("reason", "R"), "/bar/{id}": v("reason", "R"), "/bar/{id}/lift": v()} {
		all["POST /welfare"+path] = row{403, 403, 403, 403, 403, 403, 403, 403, form}
	}
	maps.Copy(all, coachMatrix(f))
	maps.Copy(all, dataMatrix(f))
	return all
}

// coachMatrix has the rows of the coaches' own pages.
func coachMatrix(f storetest.Fixture) map[string]row {
	v := fields
	return map[string]row{
		"GET /students":                           {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /students":                          {403, 422, 403, 403, 403, 403, 422, 403, v("name", "")},
		"GET /students/new":                       {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /students.csv":                       {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /students/register":                  {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /students/chosen":                   {403, 422, 403, 403, 403, 403, 422, 403, v("do", "archive")},
		"GET /students/{id}/edit":                 {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/edit":                {403, 422, 403, 403, 403, 403, 404, 403, v("name", "", "wording", "8", "revision", "0")},
		"POST /students/{id}/archive":             {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"POST /students/{id}/back":                {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /students/{id}/consent":              {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/consent/back":        {403, 422, 403, 403, 403, 403, 404, 403, v("consent_by", "")},
		"GET /students/{id}/report":               {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/consent":             {403, 422, 403, 403, 403, 403, 404, 403, v("mistake", "")},
		"POST /students/{id}/guardian/{g}/name":   {403, 303, 403, 403, 403, 403, 404, 403, v("name", "Una")},
		"POST /students/{id}/guardian/{g}/renew":  {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /groups":                             {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /groups":                            {403, 422, 403, 403, 403, 403, 422, 403, v("name", "")},
		"POST /groups/{id}":                       {403, 404, 403, 403, 403, 403, 404, 403, v("name", "Here")}, // no group has a student's number
		"POST /groups/{id}/archive":               {403, 404, 403, 403, 403, 403, 404, 403, v()},
		"GET /season":                             {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /season":                            {403, 200, 403, 403, 403, 403, 200, 403, v()},
		"GET /settings":                           {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /settings":                          {403, 422, 403, 403, 403, 403, 422, 403, v("name", "", "revision", "0")},
		"POST /undo/{id}":                         {403, 409, 403, 403, 403, 403, 409, 403, v()},
		"GET /students/{id}":                      {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/watched":             {403, 404, 403, 403, 403, 403, 404, 403, v("game", fmt.Sprint(f.Game))}, // no test of five: see TestWatchedAndCertificate
		"GET /students/{id}/certificate/{code}":   {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/check":               {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /students/{id}/card":                 {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/card":                {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /students/{id}/guardian/{g}/link":    {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/guardian/{g}/link":   {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"POST /students/{id}/guardian":            {403, 303, 403, 403, 403, 403, 404, 403, v("name", "Second")},
		"POST /students/{id}/guardian/{g}/revoke": {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /drills":                             {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /drills/new":                         {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /drills":                            {403, 422, 403, 403, 403, 403, 422, 403, v("ending", "KXK")},
		"GET /drills/{id}":                        {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /drills/{id}/assign":                {403, 303, 403, 403, 403, 403, 404, 403, v("student", fmt.Sprint(f.Student.Person), "again", "more")},
		"POST /drills/ready":                      {403, 303, 403, 403, 403, 403, 303, 403, v()},
		"POST /drills/{id}/name":                  {403, 422, 403, 403, 403, 403, 404, 403, v("name", "")},
		"POST /drills/{id}/archive":               {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"POST /drills/{id}/back":                  {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /plans":                              {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /plans":                             {403, 422, 403, 403, 403, 403, 422, 403, v("title", "", "weeks", "x")},
		"GET /plans/{id}":                         {303, 404, 403, 403, 403, 403, 404, 403, nil}, // there is no plan: see TestTermPlan
		"GET /plans/{id}/week":                    {303, 404, 403, 403, 403, 403, 404, 403, nil},
		"POST /plans/{id}/week":                   {403, 404, 403, 403, 403, 403, 404, 403, v("week", "0")},
		"GET /plans/{id}/cell":                    {303, 404, 403, 403, 403, 403, 404, 403, nil},
		"POST /plans/{id}/cell":                   {403, 404, 403, 403, 403, 403, 404, 403, v("week", "0", "what", "1")},
		"POST /plans/{id}/fill":                   {403, 404, 403, 403, 403, 403, 404, 403, v("level", "1")},
		"POST /plans/{id}/move":                   {403, 404, 403, 403, 403, 403, 404, 403, v("week", "0")},
		"GET /set":                                {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /tasks/{id}/withdraw":               {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"POST /tasks/{id}/due":                    {403, 303, 403, 403, 403, 403, 404, 403, v("due", "")},
		"POST /drills/{id}/play":                  {403, 303, 403, 403, 403, 403, 404, 403, v()},
		"GET /since":                              {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /since/later":                       {403, 303, 403, 403, 403, 403, 404, 403, v("line", fmt.Sprintf("card %d 1 ", f.Student.Person))},
		"GET /next":                               {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /next":                              {403, 303, 403, 403, 403, 403, 404, 403, v("do", "later "+fmt.Sprint(f.Student.Person), "line", fmt.Sprintf("0 %d 0 0 KRRK mate mate guided random chase", f.Student.Person))},
		"GET /stages":                             {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /stages.csv":                         {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /games/{id}":                         {303, 303, 404, 403, 404, 403, 404, 404, nil}, // the student's own game has not ended
		"GET /games/{id}.pgn":                     {303, 303, 404, 403, 404, 403, 404, 404, nil},

		"GET /account":                {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /account/again":          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /account/again":         {403, 403, 403, 403, 403, 403, 403, 403, v("password", "wrong")},
		"GET /account/password":       {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /account/password":      {403, 422, 403, 403, 403, 403, 422, 403, v("password", "x", "again", "x")},
		"GET /account/email":          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /account/email":         {403, 422, 403, 403, 403, 403, 422, 403, v("email", "x")},
		"GET /account/factor":         {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /account/factor":        {403, 303, 403, 403, 403, 403, 303, 403, v("code", "1")}, // none is being set up
		"POST /account/factor/off":    {403, 303, 403, 403, 403, 403, 303, 403, v()},
		"GET /account/codes":          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /account/codes":         {403, 303, 403, 403, 403, 403, 303, 403, v()},
		"POST /account/session":       {403, 404, 403, 403, 403, 403, 404, 403, v("id", "00")},
		"POST /account/sessions":      {403, 303, 403, 403, 403, 403, 303, 403, v()},
		"POST /account/notices/{id}":  {403, 404, 403, 403, 403, 403, 404, 403, v()},
		"POST /account/mail":          {403, 409, 403, 403, 403, 403, 409, 403, v("monday", "true")}, // no mail is sent from here
		"GET /account/calendar":       {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /account/calendar":      {403, 303, 403, 403, 403, 403, 303, 403, v()},
		"POST /account/calendar/end":  {403, 303, 403, 403, 403, 403, 303, 403, v()},
		"POST /coaches/{id}/password": {403, 404, 403, 403, 403, 403, 404, 403, v()}, // the id is no coach's
		"POST /coaches/{id}/factor":   {403, 404, 403, 403, 403, 403, 404, 403, v()},
		"GET /coaches/{id}/link":      {303, 303, 403, 403, 403, 403, 303, 403, nil}, // nothing is shown: to the list
		"GET /students/many":          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /students/many":         {403, 422, 403, 403, 403, 403, 422, 403, v("text", "", "do", "look")},
		"GET /cards":                  {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /cards":                 {403, 422, 403, 403, 403, 403, 422, 403, v()},
		"GET /cards/sheet":            {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /cards/progress":         {303, 404, 403, 403, 403, 403, 404, 403, nil}, // nobody has asked for a sheet
	}
}

func TestRouteMatrix(t *testing.T) {
	t.Parallel()
	s := start(t)
	f, other := storetest.Club(t, s.store, "here"), storetest.Club(t, s.store, "there")
	rows, officer := matrix(f), s.officer(f, "Sol")
	routes, ok := s.web.Handler().(chi.Routes)
	if !ok {
		t.Fatal("the handler is no chi router")
	}
	seen := 0
	err := chi.Walk(routes, func(method, path string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		seen++
		r, ok := rows[method+" "+path]
		if !ok {
			t.Errorf("%s %s has no row", method, path)
			return nil
		}
		for i, c := range []struct {
			who  string
			a    game.Actor
			want int
		}{
			{"nobody", game.Actor{}, r.nobody}, {"guardian", f.Guardian, r.guardian},
			{"coach elsewhere", other.Coach, r.otherCoach},
			{"student elsewhere", other.Student, r.otherStudent}, {"another guardian", f.Guardian2, r.guardian2},
			{"another child", f.Student2, r.child2},
			{"student", f.Student, r.student}, {"coach", f.Coach, r.coach}, {"another coach", f.Coach2, r.coach},
			{"officer", officer, r.officer(method, path)},
		} {
			if i > 0 && (strings.HasPrefix(path, "/in/") || path == "/open" || path == "/setup") {
				continue // more attempts would meet the throttle
			}
			if c.who == "another coach" && (method+" "+path == "POST /exports" ||
				strings.HasPrefix(path, "/coaches/{id}/") && (strings.HasSuffix(path, "/end") || strings.HasSuffix(path, "/owner"))) {
				c.want = http.StatusForbidden // the club's owners alone
			}
			if strings.HasSuffix(path, "/back") && c.want == http.StatusSeeOther {
				s.archived(f, path, true)
			}
			got := s.as(c.a).do(method, address(path, f), r.form)
			if path == "/account/factor/off" && c.who == "officer" {
				s.withoutPhone(officer)
			}
			if strings.HasSuffix(path, "{id}/archive") && got.status == http.StatusSeeOther {
				s.archived(f, path, false)
			}
			if strings.HasSuffix(path, "/withdraw") && got.status == http.StatusSeeOther {
				storetest.Exec(t, storetest.Address(s.store), "update assignments set withdrawn_at = null")
			}
			if got.status != c.want {
				t.Errorf("%s %s as %s: %d, want %d", method, path, c.who, got.status, c.want)
			}
			if (got.status == 404 || got.status == 403) && (c.a != f.Student && strings.Contains(got.body, f.Student.Name) || strings.Contains(got.body, f.Drill.Name)) {
				t.Errorf("%s %s as %s: the refusal tells what exists", method, path, c.who)
			}
		}
		return nil
	})
	if err != nil || seen != len(rows) {
		t.Errorf("%d routes, %d rows, %v", seen, len(rows), err)
	}
}

// officer says what a route answers to a welfare officer of the club: only the own account
// and the page of whom children turn to are theirs.
func (r row) officer(method, path string) int {
	switch {
	case strings.HasPrefix(path, "/report"), strings.HasPrefix(path, "/account/calendar"), path == "/account/mail":
		return r.student // no child's drills are an officer's
	case strings.HasPrefix(path, "/account"):
		return r.coach
	case path == "/welfare/students/{id}/games":
		return http.StatusForbidden // no games without a noted reason
	case strings.HasPrefix(path, "/welfare/concerns/"), strings.HasPrefix(path, "/welfare/bar/"):
		return http.StatusNotFound // there is no such concern, and no child is barred
	case method == http.MethodGet && strings.HasPrefix(path, "/welfare"):
		return http.StatusOK
	case method+" "+path == "GET /welfare/erasures":
		return http.StatusOK
	case path == "/welfare/erasures":
		return http.StatusUnprocessableEntity // nobody has that number
	case path == "/welfare/consents", strings.HasPrefix(path, "/welfare/erasures/"):
		return http.StatusNotFound // no such child
	case path == "/welfare/{id}/end":
		return http.StatusNotFound // a student is no officer
	case strings.HasPrefix(path, "/welfare"):
		return http.StatusSeeOther
	case strings.HasPrefix(path, "/tell"), path == "/notice", strings.HasPrefix(path, "/guide"):
		return http.StatusForbidden
	}
	return r.guardian
}

// officer makes a welfare officer of the club, the first one.
func (s *site) officer(f storetest.Fixture, name string) game.Actor {
	s.Helper()
	token, err := s.store.InviteOfficer(ctx, f.Coach)
	if err != nil {
		s.Fatal(err)
	}
	a, err := s.store.Join(ctx, token, club.NewCoach{Name: name, Email: strings.ToLower(name) + "@club.example",
		Password: "a long sentence for " + name})
	if err != nil {
		s.Fatal(err)
	}
	s.withoutPhone(a)
	return a
}

// withoutPhone gives somebody a second factor for which there is no phone.
func (s *site) withoutPhone(a game.Actor) {
	s.Helper()
	storetest.Exec(s, storetest.Address(s.store), `insert into factors values ($1, $2, 'sealed', 7, now())`, a.Club, a.Person)
}

// archived archives the fixture's student or drill, as the path has it, or takes it back.
func (s *site) archived(f storetest.Fixture, path string, is bool) {
	s.Helper()
	var err error
	switch drill := strings.HasPrefix(path, "/drills"); {
	case drill && is:
		_, err = s.store.ArchiveDrill(ctx, f.Coach, f.Drill.ID)
	case drill:
		_, _, err = s.store.BackOnShelf(ctx, f.Coach, f.Drill.ID)
	case is:
		_, err = s.store.ArchiveStudent(ctx, f.Coach, f.Student.Person)
	default:
		_, err = s.store.TakeBack(ctx, f.Coach, f.Student.Person)
	}
	if err != nil {
		s.Fatal(err)
	}
}

// address fills the ids of the club here into a path.
func address(path string, f storetest.Fixture) string {
	id := fmt.Sprint(f.Student.Person)
	switch {
	case strings.HasPrefix(path, "/welfare/students"):
	case strings.HasPrefix(path, "/undo"), strings.HasPrefix(path, "/welfare/concerns"):
		id = "999999" // no club has so many changes or concerns
	case strings.HasPrefix(path, "/drills"):
		id = fmt.Sprint(f.Drill.ID)
	case strings.HasPrefix(path, "/tasks"):
		id = fmt.Sprint(f.Task)
	case strings.Contains(path, "games") || strings.HasPrefix(path, "/play") || strings.HasPrefix(path, "/watch"):
		id = fmt.Sprint(f.Game)
	}
	return strings.NewReplacer("{code}", "KRK", "{for}", "guardian", "{version}", "0", "{x}", "9999", "{t}", "1", "{id}", id, "{g}", fmt.Sprint(f.Guardian.Person)).Replace(path)
}

// TestForeignForms: every route that changes something refuses a form from
// elsewhere, and one without an Origin (OWASP ASVS 5.0, 3.5.1).
func TestForeignForms(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "forms")
	for name, r := range matrix(f) {
		path, post := strings.CutPrefix(name, "POST ")
		if !post || strings.HasPrefix(path, "/unsubscribe/") { // which comes from anywhere: see TestUnsubscribe
			continue
		}
		for _, origin := range []string{"", "null", "https://elsewhere.example", s.base + ".evil.example"} {
			got := s.as(f.Coach).do(http.MethodPost, address(path, f), r.form, func(r *http.Request) {
				r.Header.Del("Origin")
				if origin != "" {
					r.Header.Set("Origin", origin)
				}
			})
			if got.status != http.StatusForbidden || !strings.Contains(got.body, "was sent from somewhere other") {
				t.Errorf("%s with origin %q: %d", name, origin, got.status)
			}
		}
	}
}
