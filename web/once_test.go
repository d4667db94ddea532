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
	"sync/atomic"
	"testing"
	"time"

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
		"/drills/{id}/assign":   {f.Coach, fields("student", fmt.Sprint(f.Student.Person), "again", "more")},
		"/drills/{id}/play":     {f.Coach, fields()},
		"/account/again":        {f.Coach, fields("password", f.Password, "to", "/account/email")},
		"/account/password":     {f.Coach2, fields("password", "vexlamp otter moon", "again", "vexlamp otter moon")},
		"/account/email":        {f.Coach2, fields("email", "other@club.example")},
		"/account/factor":       {f.Coach, fields("code", "123456")}, // none is being set up: to the page for it
		"/account/factor/off":   {f.Coach, fields()},
		"/account/codes":        {f.Coach, fields()},
		"/account/session":      {f.Coach, fields()},
		"/account/sessions":     {f.Coach2, fields()},
		"/account/notices/{id}": {f.Coach, fields()},
		"/account/calendar":     {f.Coach, fields()},
		"/account/calendar/end": {f.Coach, fields()},
		"/report/calendar":      {f.Guardian, fields()},
		"/report/calendar/end":  {f.Guardian2, fields()},
		"/welfare":              {f.Coach, fields("welfare", "W", "contact", "There", "revision", "0")},
		"/welfare/invite":       {f.Coach, fields()}, "/tell": {f.Guardian, fields("about", fmt.Sprint(f.Student.Person))},
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
		"/coaches/{id}/lift": true,
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
var harmless = regexp.MustCompile(`^(/out|/in/code|/coaches/\d+/lift|/welfare/concerns/\d+/(open|close|reopen)|/welfare/bar/\d+(/lift)?|/reset/\w+|/account/.*|/report/calendar/end|/join|/coaches/\d+/(end|owner)|/in/card|/in/coach|/open|/own|/today/start|/today/cards|/today/check|/check|/free|/play/\d+/(end|from)|/settings|/welfare|/welfare/\d+/end|/undo/\d+|/drills/ready|/since/later|/tasks/\d+/(withdraw|due)|/plans/\d+/(cell|fill|move)|/drills/\d+/(name|archive|back|play)|/groups/\d+(/archive)?|` +
	`/students/\d+/(edit|archive|back|watched)|/students/\d+/guardian/\d+/(revoke|name|renew))$`)

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
	if len(made) != 18 {
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

// words are the words on a card's page.
func words(body string) string {
	return strings.Join(regexp.MustCompile(`(?s)<p class="press-words[^"]*">(.*?)</p>`).FindStringSubmatch(body), "")
}

// TestCardIsShownAgain: a reload shows the same card, which works; another
// session and another time are told why there is none to see, with the button
// that makes a new one.
func TestCardIsShownAgain(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	s := startAt(t, func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) })
	f := storetest.Club(t, s.store, "reload")
	path := fmt.Sprintf("/students/%d/card", f.Student.Person)
	p, other := s.as(f.Coach), s.as(f.Coach2)
	over := func(who *person, say string) {
		t.Helper()
		got := who.get(path)
		if got.status != 200 || !strings.Contains(got.body, "A card is shown only once, for ten minutes") ||
			words(got.body) != "" ||
			!strings.Contains(got.body, "Make a new card") || !strings.Contains(got.body, "It replaces the old one") {
			t.Errorf("%s: %d", say, got.status)
		}
	}
	over(p, "before a card was made here")
	if got := p.post(path, fields()); got.status != 303 || got.header.Get("Location") != path {
		t.Fatalf("%d to %s", got.status, got.header.Get("Location"))
	}
	first := words(p.get(path).body)
	if again := words(p.get(path).body); first == "" || again != first {
		t.Errorf("a reload shows %q after %q", again, first)
	}
	over(other, "another coach")
	over(s.as(f.Coach), "another session")
	ahead.Store(int64(store.ShownFor))
	over(p, "after ten minutes")
	if got := p.post(path, pageFields(t, p.get(path).body, path)); got.status != 303 || words(p.get(path).body) == first {
		t.Error("the button makes no new card")
	}
	if got := other.post(path, fields()); got.status != 303 {
		t.Error(got.status)
	}
	over(p, "after another coach's new card")
}

// pageFields are the hidden fields of a form of a page.
func pageFields(t *testing.T, body, action string) url.Values {
	t.Helper()
	u := url.Values{}
	for k, v := range pageForms(t, body)[action] {
		u.Set(k, v)
	}
	return u
}

// TestLinkIsShownAgain: as a card; the new link replaces the old one.
func TestLinkIsShownAgain(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "link")
	p := s.as(f.Coach)
	got := p.post(fmt.Sprintf("/students/%d/guardian", f.Student.Person), fields("name", " Per "))
	path := got.header.Get("Location")
	link := regexp.MustCompile(`/open#([\w.-]+)"`)
	first := link.FindStringSubmatch(p.get(path).body)
	if got.status != 303 || len(first) != 2 || link.FindStringSubmatch(p.get(path).body)[1] != first[1] {
		t.Fatalf("%d to %s: %v", got.status, path, first)
	}
	over := s.as(f.Coach2).get(path)
	if over.status != 200 || link.MatchString(over.body) || !strings.Contains(over.body,
		"A link is shown only once, for ten minutes") ||
		!strings.Contains(over.body, "It replaces the old one") || !strings.Contains(over.body, "Private link for Per") {
		t.Errorf("another coach: %d", over.status)
	}
	if got := s.as(f.Coach2).post(path, pageFields(t, over.body, path)); got.status != 303 ||
		got.header.Get("Location") != path {
		t.Errorf("a new link: %d", got.status)
	}
	if _, err := s.store.Open(ctx, club.Secret(first[1])); game.KindOf(err) != game.Gone {
		t.Errorf("the old link: %v", err)
	}
	if link.MatchString(p.get(path).body) {
		t.Error("the dead link is still shown")
	}
	wrong := fmt.Sprintf("/students/%d/guardian/%d/link", f.Student.Person, f.Guardian2.Person)
	if got := p.get(wrong); got.status != 404 {
		t.Errorf("another child's guardian: %d", got.status)
	}
}

// TestDraftKeepsWhatIsTyped: 'pick others' leads to a page that a reload shows
// again, with all that was typed and other starts; a form that does not fit is
// marked, and a draft that is over says so.
func TestDraftKeepsWhatIsTyped(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "draft")
	p := s.as(f.Coach)
	form := aDrill("do", "pick", "name", "Half <done>", "fens", "kept", "for", fmt.Sprint(f.Student.Person), "budget",
		"40", "once", "x")
	form["help"] = []string{"2", "3"}
	got := p.post("/drills", form)
	to := got.header.Get("Location")
	if got.status != 303 || !strings.HasPrefix(to, "/drills/new?draft=") {
		t.Fatalf("%d to %s", got.status, to)
	}
	page := p.get(to).body
	for _, want := range []string{`value="Half &lt;done&gt;"`, ">kept</textarea>", fmt.Sprintf(`name="for" value="%d"`, f.Student.Person), `value="40"`,
		`name="help" value="2" checked`, `name="help" value="3" checked`, `value="KRK" checked`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not have %s", want)
		}
	}
	seed := regexp.MustCompile(`name="seed" value="(\d+)"`)
	if again := p.get(to).body; seed.FindString(page) == `name="seed" value="5"` ||
		seed.FindString(again) != seed.FindString(page) {
		t.Errorf("picked by %s, then %s", seed.FindString(page), seed.FindString(again))
	}
	for name, c := range map[string]*person{"another coach": s.as(f.Coach2), "another session": s.as(f.Coach)} {
		if got := c.get(to); got.status != 200 || !strings.Contains(got.body, "is no longer kept") ||
			strings.Contains(got.body, "Half") {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	for _, odd := range []string{"0", "x", "99999999999999999999999", "-1"} {
		if got := p.get("/drills/new?draft=" + odd); got.status != 200 || !strings.Contains(got.body, "is no longer kept") {
			t.Errorf("draft %s: %d", odd, got.status)
		}
	}
	form.Set("count", "99")
	if got := p.post("/drills", form); got.status != 422 || !strings.Contains(got.body, "from 1 to 24") ||
		!strings.Contains(got.body, "Half &lt;done&gt;") {
		t.Errorf("what does not fit: %d", got.status)
	}
}

// TestSetupTwice: of two set-up forms that are sent at once both end signed in as
// the one coach; with another password the used link opens nothing.
func TestSetupTwice(t *testing.T) {
	t.Parallel()
	s := start(t)
	token, err := s.store.NeedsSetup(ctx)
	if err != nil {
		t.Fatal(err)
	}
	form := fields("token", string(token), "club", "Ferry Lane", "name", "N", "email", " n@c.example", "password",
		"fifteen letters or more", "welfare", "W", "contact", "There", "zone", "UTC")
	var wg sync.WaitGroup
	people := [2]*person{s.as(game.Actor{}), s.as(game.Actor{})}
	for _, p := range people {
		wg.Add(1)
		go func() {
			defer wg.Done()
			if got := p.post("/setup", form); got.status != 303 || got.header.Get("Location") != "/account/factor" {
				t.Errorf("%d to %s", got.status, got.header.Get("Location"))
			}
		}()
	}
	wg.Wait()
	for i, p := range people {
		if got := p.get("/stages"); got.status != 200 || !strings.Contains(got.body, "Ferry Lane") {
			t.Errorf("browser %d: %d", i, got.status)
		}
	}
	form.Set("password", "not the same letters")
	for i := range 7 {
		want := http.StatusGone
		if i > 4 { // the fifth that failed
			want = http.StatusTooManyRequests
		}
		if got := s.as(game.Actor{}).post("/setup", form); got.status != want ||
			!strings.Contains(got.body, "has been used") {
			t.Errorf("with another password, try %d: %d", i+1, got.status)
		}
	}
}

// notice is the number of the first thing that a coach is told.
func (s *site) notice(a game.Actor) int64 {
	s.Helper()
	rows, err := s.store.Notices(ctx, a)
	if err != nil || len(rows) == 0 {
		s.Fatalf("%s is told nothing: %v", a.Name, err)
	}
	return rows[0].ID
}
