package web_test

import (
	"cmp"
	"encoding/hex"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/go-chi/chi/v5"
	"golang.org/x/net/html"
)

// fields makes a form of pairs.
func fields(pairs ...string) url.Values {
	u := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		u.Add(pairs[i], pairs[i+1])
	}
	return u
}

// aDrill is a good form of the builder.
func aDrill(pairs ...string) url.Values {
	f := fields("ending", "KRK", "from", "edge", "to", "mate", "defender", "longest", "mode", "practice", "count", "3",
		"kind", "random", "seed", "5",
		"name", "My own", "budget", "0", "clock", "0", "allowance", "3", "backs", "1", "pass", "all", "do", "assign")
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

// newStudent is a good form that adds a student.
func newStudent(name string) url.Values {
	return fields("name", name, "consent_by", "Ann", "consent_on", "2026-01-02", "consent", "yes", "wording", "8")
}

// sent is a form and who sends it.
type sent struct {
	who  game.Actor
	form url.Values
}

// good is a form that goes well for each route that takes one, and who sends it.
func good(f storetest.Fixture) map[string]sent {
	w, nobody := f.Card2.Words, game.Actor{}
	return map[string]sent{
		"/in/card":        {nobody, fields("number", fmt.Sprint(f.Card2.Student.Number), "w1", w[0], "w2", w[1], "w3", w[2], "w4", w[3])},
		"/in/coach":       {nobody, fields("email", f.Email, "password", f.Password)},
		"/in/code":        {nobody, fields("code", "123456")}, // begun too long ago: to the beginning
		"/in/forgotten":   {nobody, fields("email", f.Email)},
		"/reset/password": {nobody, fields("token", "PASSWORD", "password", "a long phrase anew")},
		"/reset/factor":   {nobody, fields("token", "FACTOR", "password", f.Password)},
		"/open":           {nobody, fields("token", string(f.Link2))},
		"/setup": {nobody, fields("token", "0.used", "club", "C", "name", "N", "email", f.Email, "password", f.Password, "welfare", "W",
			"contact", "There")}, // the coach of then
		"/out":                               {f.Student2, fields()},
		"/today/start":                       {f.Student, fields("assignment", fmt.Sprint(f.Task))},
		"/own":                               {f.Student, fields("pace", "slow", "big", "on", "scheme", "dark")},
		"/today/check":                       {f.Student, fields("ending", "KRK", "stage", "mate")},
		"/check":                             {f.Student, fields("no", "1", "answer", "neither")},
		"/today/cards":                       {f.Student, fields()},
		"/free":                              {f.Student, fields("what", f.Drill.Ending+"."+string(f.Drill.From))},
		"/play/{id}/end":                     {f.Student, fields("then", "again")},
		"/students":                          {f.Coach, newStudent("Wren")},
		"/students/many":                     {f.Coach, fields("text", "Wren", "do", "look")},
		"/cards":                             {f.Coach, fields("replace", fmt.Sprint(f.Student.Person))},
		"/students/{id}/check":               {f.Coach, fields()},
		"/students/{id}/card":                {f.Coach, fields()},
		"/students/{id}/guardian":            {f.Coach, fields("name", "Per")},
		"/students/{id}/guardian/{g}/link":   {f.Coach, fields()},
		"/students/{id}/guardian/{g}/revoke": {f.Coach, fields()},
		"/drills":                            {f.Coach, aDrill()},
		"/students/chosen":                   {f.Coach, fields("do", "drill", "student", fmt.Sprint(f.Student.Person))},
		"/students/{id}/edit":                {f.Coach, fields("name", "Wren the second", "wording", "14", "revision", "0")},
		"/students/{id}/consent":             {f.Coach, fields("consent_by", "Ann", "consent_on", "2026-01-02", "mistake", "The day")},
		"/students/{id}/guardian/{g}/name":   {f.Coach, fields("name", "Ann Other")},
		"/coaches/invite":                    {f.Coach, fields()},
		"/groups":                            {f.Coach, fields("name", "Tuesday")},
		"/season":                            {f.Coach, fields("do", "end")},
		"/settings": {f.Coach, fields("name", "Posts", "zone", "UTC", "revision", "0",
			"holidays", "2026-12-21 to 2027-01-03 Winter")},
		"/drills/{id}/assign":                  {f.Coach, fields("student", fmt.Sprint(f.Student.Person), "again", "more")},
		"/drills/{id}/play":                    {f.Coach, fields()},
		"/account/again":                       {f.Coach, fields("password", f.Password, "to", "/account/email")},
		"/account/password":                    {f.Coach2, fields("password", "vexlamp otter moon", "again", "vexlamp otter moon")},
		"/account/email":                       {f.Coach2, fields("email", "other@club.example")},
		"/account/factor":                      {f.Coach, fields("code", "123456")}, // none is being set up: to the page for it
		"/account/factor/off":                  {f.Coach, fields()},
		"/account/codes":                       {f.Coach, fields()},
		"/account/session":                     {f.Coach, fields()},
		"/account/sessions":                    {f.Coach2, fields()},
		"/account/notices/{id}":                {f.Coach, fields()},
		"/account/mail":                        {f.Coach, fields("monday", "true")},
		"/account/calendar":                    {f.Coach, fields()},
		"/account/calendar/end":                {f.Coach, fields()},
		"/report/calendar":                     {f.Guardian, fields()},
		"/report/calendar/end":                 {f.Guardian2, fields()},
		"/report/mail":                         {f.Guardian, fields("email", "una@home.example", "weekly", "true")},
		"/report/mail/end":                     {f.Guardian2, fields()},
		"/welfare":                             {f.Coach, fields("welfare", "W", "contact", "There", "revision", "0")},
		"/welfare/invite":                      {f.Coach, fields()},
		"/tell":                                {f.Guardian, fields("about", fmt.Sprint(f.Student.Person))},
		"/students/{id}/terms":                 {f.Coach, fields("title", "Autumn", "from", "2026-09-01", "to", "2026-12-18")},
		"/report/{id}/data":                    {f.Guardian, fields()},
		"/exports":                             {f.Coach, fields("student", "0")},
		"/report/{id}/erase":                   {f.Guardian, fields()},
		"/report/{id}/erase/stop":              {f.Guardian, fields()},
		"/students/{id}/erase":                 {f.Coach, fields()},
		"/report/{id}/card":                    {f.Guardian, fields()},
		"/report/{id}/consent":                 {f.Guardian, fields("do", "back")},
		"/students/{id}/consent/back":          {f.Coach, fields("consent_by", "Ann", "consent_on", "2026-01-02")},
		"/keeping":                             {f.Coach, fields("games", "12", "left", "6", "audit", "12")},
		"/notices":                             {f.Coach, fields("for", "guardian", "body", "# What\nAll.", "again", "tell")},
		"/plans":                               {f.Coach, fields("title", "Autumn", "from", "2026-09-01", "weeks", "12")},
		"/tasks/{id}/withdraw":                 {f.Coach, fields("student", fmt.Sprint(f.Student.Person))},
		"/tasks/{id}/due":                      {f.Coach, fields("due", "")},
		"/since/later":                         {f.Coach, fields("line", fmt.Sprintf("card %d 1 ", f.Student.Person))},
		"/next":                                {f.Coach, fields("do", "all", "line", fmt.Sprintf("0 %d 0 0 KRRK mate mate guided random chase", f.Student.Person))},
		"/drills/ready":                        {f.Coach, fields()},
		"/coaches/{id}/password":               {f.Coach, fields()},
		"/coaches/{id}/factor":                 {f.Coach, fields()},
		"/drills (picks others)":               {f.Coach, aDrill("do", "pick")},
		"/drills (plays it)":                   {f.Coach, aDrill("do", "play")},
		"/drills (to the shelf)":               {f.Coach, aDrill("do", "shelf")},
		"/play/{id}/end (to the first page)":   {f.Student, fields("then", "today")},
		"/students/{id}/guardian (once again)": {f.Coach, fields("name", "Per", "once", "a")},
	}
}

// TestPostsRedirect: every route that takes a form answers a good one with a
// redirect, so that a reload of what follows sends nothing again.
func TestPostsRedirect(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "posts")
	s.store.SendMail()
	if err := s.store.BeginPlacement(ctx, f.Coach, f.Student.Person, nil); err != nil {
		t.Fatal(err)
	}
	forms := good(f)
	s.resets(f, forms)
	forms["/account/session"].form.Set("id", hex.EncodeToString(club.Secret(s.as(f.Coach).cookie("drover").Value).Hash()))
	order := slices.Sorted(maps.Keys(forms))
	slices.SortStableFunc(order, func(a, b string) int { // a link to reset first: another one ends it
		return cmp.Compare(strings.Index(a+"/reset", "/reset"), strings.Index(b+"/reset", "/reset"))
	})
	for _, name := range order {
		c := forms[name]
		path, _, _ := strings.Cut(name, " ")
		to := address(path, f)
		switch {
		case strings.HasPrefix(path, "/coaches"):
			to = strings.Replace(path, "{id}", fmt.Sprint(f.Coach2.Person), 1)
		case strings.HasPrefix(path, "/account/notices"):
			to = strings.Replace(path, "{id}", fmt.Sprint(s.notice(f.Coach)), 1)
		}
		if got := s.as(c.who).post(to, c.form); got.status != http.StatusSeeOther ||
			got.header.Get("Location") == "" {
			t.Errorf("POST %s: %d %.300s", name, got.status, got.body)
		}
	}
	elsewhere := map[string]bool{ // each has its own test: what they need is made there
		"/students/{id}/archive": true, "/students/{id}/back": true, "/play/{id}/from": true, "/groups/{id}": true, "/groups/{id}/archive": true,
		"/undo/{id}": true, "/join": true, "/students/{id}/guardian/{g}/renew": true, "/coaches/{id}/end": true, "/coaches/{id}/owner": true,
		"/welfare/{id}/end": true, "/drills/{id}/name": true, "/drills/{id}/archive": true, "/drills/{id}/back": true,
		"/plans/{id}/week": true, "/plans/{id}/cell": true, "/plans/{id}/fill": true, "/plans/{id}/move": true, "/students/{id}/watched": true,
		"/welfare/consents": true, "/welfare/erasures": true, "/welfare/erasures/{id}/confirm": true, "/welfare/erasures/{id}/stop": true,
		"/students/{id}/terms/{t}": true, "/students/{id}/kin": true, "/students/{id}/guardian/{g}/part": true, "/coaches/{id}/lift": true,
		"/confirm": true, "/unsubscribe/{token}": true,
	}
	routes, ok := s.web.Handler().(chi.Routes)
	if !ok {
		t.Fatal("the handler is no chi router")
	}
	err := chi.Walk(routes, func(method, path string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if _, ok := forms[path]; method == http.MethodPost && !ok && !elsewhere[path] && !strings.HasPrefix(path, "/welfare/concerns/") && !strings.HasPrefix(path, "/welfare/bar/") {
			t.Errorf("POST %s has no good form", path)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// resets puts the tokens of real links into the forms that use one.
func (s *site) resets(f storetest.Fixture, forms map[string]sent) {
	s.Helper()
	third, err := s.store.AddCoach(ctx, f.Coach, club.NewCoach{Name: "Third", Email: "third-" + f.Email, Password: f.Password})
	if err != nil {
		s.Fatal(err)
	}
	for what, who := range map[store.ResetWhat]game.Actor{store.ResetPassword: f.Coach2, store.ResetFactor: third} {
		r, err := s.store.ResetCoach(ctx, f.Coach, who.Person, what)
		if err != nil {
			s.Fatal(err)
		}
		forms["/reset/"+string(what)].form.Set("token", string(r.Token))
	}
}

// harmless are the forms that make nothing, or that give the same again by what
// they are: a game under way, a session.
var harmless = regexp.MustCompile(`^(/out|/in/forgotten|/confirm|/unsubscribe/[^/]+|/report/mail/end|/in/code|/coaches/\d+/lift|/welfare/concerns/\d+/(open|close|reopen)|/welfare/bar/\d+(/lift)?|/reset/\w+|/account/.*|/report/calendar/end|/join|/coaches/\d+/(end|owner)|/in/card|/in/coach|/open|/own|/today/start|/today/cards|/today/check|/check|/free|/play/\d+/(end|from)|/settings|/keeping|/welfare|/welfare/\d+/end|/undo/\d+|/drills/ready|/since/later|/tasks/\d+/(withdraw|due)|/plans/\d+/(cell|fill|move)|/drills/\d+/(name|archive|back|play)|/groups/\d+(/archive)?|` +
	`/report/\d+/erase|/welfare/erasures(/\d+/\w+)?|/students/\d+/(terms/\d+|kin|erase|edit|archive|back|watched)|/students/\d+/guardian/\d+/(revoke|name|renew|part))$`)

// pageForms are the forms of a page that post, by where to.
func pageForms(t *testing.T, body string) map[string]map[string]string {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	attr := func(n *html.Node, key string) string {
		for _, a := range n.Attr {
			if a.Key == key {
				return a.Val
			}
		}
		return ""
	}
	forms := map[string]map[string]string{}
	for n := range doc.Descendants() {
		if n.Data != "form" || attr(n, "method") != "post" {
			continue
		}
		hidden := map[string]string{}
		for in := range n.Descendants() {
			if in.Data == "input" && attr(in, "type") == "hidden" {
				hidden[attr(in, "name")] = attr(in, "value")
			}
		}
		forms[attr(n, "action")] = hidden
	}
	return forms
}

// TestFormsCarryAnID: on every page each form that makes something has an id of
// its own, which is another one the next time; the set-up form has its link.
func TestFormsCarryAnID(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "ids")
	s.store.SendMail()
	made, seen := map[string]bool{}, map[string]bool{}
	for name := range matrix(f) {
		path, get := strings.CutPrefix(name, "GET ")
		if !get || strings.HasPrefix(path, "/static") || strings.HasPrefix(path, "/live") {
			continue
		}
		for _, who := range []game.Actor{{}, f.Coach, f.Student, f.Guardian} {
			for range 2 {
				for action, hidden := range pageForms(t, s.as(who).get(address(path, f)).body) {
					if action == "/setup" {
						if _, ok := hidden["token"]; !ok {
							t.Error("the set-up form has no place for its link")
						}
						continue
					}
					if harmless.MatchString(action) {
						continue
					}
					made[action] = true
					if id := hidden["once"]; len(id) < 26 || seen[id] { // five bits a letter
						t.Errorf("%s: the form to %s has the id %q", path, action, id)
					}
					seen[hidden["once"]] = true
				}
			}
		}
	}
	if len(made) != 26 {
		t.Errorf("forms that make something lead to %v", made)
	}
}

// TestDoubleClick: a form that is sent twice at once makes one thing, and both
// answers lead to it; another text under the same id makes another.
func TestDoubleClick(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "double")
	p := s.as(f.Coach)
	student := newStudent("Wren")
	student.Set("once", pageForms(t, p.get("/students/new").body)["/students"]["once"])
	drill := aDrill()
	drill.Set("once", pageForms(t, p.get("/drills/new").body)["/drills"]["once"])
	for _, c := range []struct {
		path  string
		form  url.Values
		count func() int
	}{
		{"/students", student, func() int { r, _ := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{}); return len(r.Rows) }},
		{"/drills", drill, func() int { rows, _ := s.store.Shelf(ctx, f.Coach, store.ShelfAsk{}); return len(rows) }},
	} {
		before := c.count()
		var got [2]answer
		var wg sync.WaitGroup
		for i := range got {
			wg.Add(1)
			go func() { defer wg.Done(); got[i] = p.post(c.path, c.form) }()
		}
		wg.Wait()
		to := got[0].header.Get("Location")
		if got[0].status != 303 || got[1].status != 303 || to == "" || to != got[1].header.Get("Location") ||
			c.count() != before+1 {
			t.Errorf("%s: %d to %q and %d to %q, %d made", c.path, got[0].status, to, got[1].status,
				got[1].header.Get("Location"), c.count()-before)
		}
		if page := p.get(to); page.status != 200 {
			t.Errorf("%s leads to %d", c.path, page.status)
		}
		c.form.Set("name", "Kit")
		if other := p.post(c.path, c.form); other.header.Get("Location") == to || c.count() != before+2 {
			t.Errorf("%s with another name: to %s, %d made", c.path, other.header.Get("Location"), c.count()-before)
		}
	}
}
