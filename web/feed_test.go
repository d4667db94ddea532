package web_test

import (
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/store"
	"drover/store/storetest"

	"github.com/emersion/go-ical"
)

// feedAddress makes a feed on its page and gives its path.
func (p *person) feedAddress(page string) string {
	p.Helper()
	before := p.get(page).body
	for _, say := range []string{"Calendars are kept by other companies.", "Whoever has the address can read that", "works until"} {
		if !strings.Contains(before, say) || strings.Contains(before, "/feed/") {
			p.Errorf("%s does not say %q before there is an address", page, say)
		}
	}
	if got := p.post(page, pageFields(p.T, before, page)); got.status != http.StatusSeeOther || got.header.Get("Location") != page {
		p.Fatalf("%s: %d to %s", page, got.status, got.header.Get("Location"))
	}
	found := regexp.MustCompile(`value="` + regexp.QuoteMeta(p.base) + `(/feed/[\w.-]+\.ics)"`).FindStringSubmatch(p.get(page).body)
	if found == nil {
		p.Fatalf("%s shows no address", page)
	}
	return found[1]
}

// parsed reads a feed with another library than the one that wrote it; its own writer, which
// refuses a calendar that breaks the rules, takes what was read.
func parsed(t *testing.T, text string) *ical.Calendar {
	t.Helper()
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if err := ical.NewEncoder(io.Discard).Encode(cal); err != nil {
		t.Errorf("%v in\n%s", err, text)
	}
	return cal
}

// wellFormed holds the lines of a feed against RFC 5545, 3.1: each ends with CR and LF, none
// is longer than 75 octets, and the interval stands as in RFC 7986, 5.7.
func wellFormed(t *testing.T, text string) {
	t.Helper()
	for _, line := range strings.SplitAfter(text, "\r\n") {
		if bare := strings.TrimSuffix(line, "\r\n"); len(bare) > 75 || strings.ContainsAny(bare, "\r\n") {
			t.Errorf("a line of %d octets: %q", len(bare), line)
		}
	}
	if !strings.Contains(text, "\r\nREFRESH-INTERVAL;VALUE=DURATION:PT4H\r\n") {
		t.Errorf("when to read it again:\n%s", text)
	}
	if !strings.HasSuffix(text, "END:VCALENDAR\r\n") {
		t.Errorf("the end is %q", text[max(0, len(text)-40):])
	}
}

// entries are the entries of a feed, as "day: what".
func entries(t *testing.T, cal *ical.Calendar, signIn string) string {
	t.Helper()
	var out []string
	for _, e := range cal.Events() {
		day, err := e.DateTimeStart(time.UTC)
		if err != nil || e.Props.Get(ical.PropDateTimeStart).ValueType() != ical.ValueDate {
			t.Errorf("%v, %v", e.Props, err)
		}
		for _, name := range []string{ical.PropURL, ical.PropDescription} {
			if got := e.Props.Get(name).Value; got != signIn {
				t.Errorf("%s is %q, want %q", name, got, signIn)
			}
		}
		text, err := e.Props.Text(ical.PropSummary)
		if err != nil {
			t.Error(err)
		}
		out = append(out, day.Format(time.DateOnly)+": "+text)
	}
	return strings.Join(out, ", ")
}

// uids are the names of a feed's entries.
func uids(cal *ical.Calendar) (out []string) {
	for _, e := range cal.Events() {
		out = append(out, e.Props.Get(ical.PropUID).Value)
	}
	return out
}

// dueIn gives students a drill that is due in so many days.
func (s *site) dueIn(f storetest.Fixture, name string, days int, to ...game.PersonID) {
	s.Helper()
	d := f.Drill
	d.Name = name
	id, err := s.store.KeepDrill(ctx, f.Coach, d)
	if err != nil {
		s.Fatal(err)
	}
	due := s.now().AddDate(0, 0, days)
	if _, err := s.store.Assign(ctx, f.Coach, id, to, &due); err != nil {
		s.Fatal(err)
	}
}

// TestFeed: a calendar reads, without a cookie, on which days drills are due and where to
// sign in, and nothing that names anybody or anything, as another iCalendar reader sees it.
func TestFeed(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "Vexlamp")
	s.standsIn(f, "Otterday", s.now().AddDate(0, 0, 9), f.Student.Person) // and a group of that name
	s.dueIn(f, "Heron's nest", 0, f.Student.Person)
	s.dueIn(f, "Heron's egg", 3, f.Student.Person, f.Student2.Person)
	s.dueIn(f, "Heron's wing", 3, f.Student2.Person)
	day := func(n int) string { return s.now().AddDate(0, 0, n).Format(time.DateOnly) }
	seen := map[string]bool{}
	for _, c := range []struct {
		who  game.Actor
		page string
		want string
	}{
		{f.Coach2, "/account/calendar", day(0) + ": Drover: 1 drill due, " + day(3) + ": Drover: 2 drills due"},
		{f.Guardian, "/report/calendar", day(0) + ": Drover: 1 drill due, " + day(3) + ": Drover: 1 drill due"},
		{f.Guardian2, "/report/calendar", day(3) + ": Drover: 2 drills due"},
	} {
		path := s.as(c.who).feedAddress(c.page)
		got := s.as(game.Actor{}).get(path)
		if got.status != http.StatusOK || got.header.Get("Content-Type") != "text/calendar; charset=utf-8" ||
			got.header.Get("Cache-Control") != "no-store" || got.header.Get("Set-Cookie") != "" || got.header.Get("Content-Encoding") != "" {
			t.Errorf("%s: %d, %v", c.who.Role, got.status, got.header)
		}
		wellFormed(t, got.body)
		cal := parsed(t, got.body)
		if have := entries(t, cal, s.base+"/in"); have != c.want {
			t.Errorf("%s reads %s, want %s", c.who.Name, have, c.want)
		}
		for _, word := range []string{"vexlamp", "otterday", "heron", "child", "neighbour", "guardian", "helper", "coach", "rook", "krk",
			strings.TrimSuffix(path[len("/feed/"):], ".ics")} {
			if strings.Contains(strings.ToLower(got.body), strings.ToLower(word)) {
				t.Errorf("%s: the feed says %q", c.who.Name, word)
			}
		}
		again := uids(parsed(t, s.as(game.Actor{}).get(path).body))
		for i, uid := range uids(cal) {
			if seen[uid] || again[i] != uid || !regexp.MustCompile(`^[0-9a-f]{32}@127\.0\.0\.1$`).MatchString(uid) {
				t.Errorf("entry %d is called %s, then %s", i, uid, again[i])
			}
			seen[uid] = true
		}
	}
}

// TestFeedWithoutDrills: where nothing is due there is a calendar without an entry, and by
// RFC 5545, 3.6, it has a component all the same.
func TestFeedWithoutDrills(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "nothing")
	got := s.as(game.Actor{}).get(s.as(f.Coach).feedAddress("/account/calendar"))
	wellFormed(t, got.body)
	if cal := parsed(t, got.body); got.status != http.StatusOK || len(cal.Events()) != 0 || len(cal.Children) == 0 {
		t.Errorf("%d\n%s", got.status, got.body)
	}
}

// TestDeadFeedLooksLikeNone: a feed that has ended, one that never was and an address that
// was mistyped have the same short answer, without a page.
func TestDeadFeedLooksLikeNone(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "dead")
	coach := s.as(f.Coach)
	path := coach.feedAddress("/account/calendar")
	if got := coach.post("/account/calendar/end", fields()); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	want := s.as(game.Actor{}).get("/feed/none")
	if want.status != http.StatusNotFound || want.header.Get("Content-Type") != "text/plain; charset=utf-8" || len(want.body) > 200 {
		t.Errorf("%d, %v, %s", want.status, want.header, want.body)
	}
	for _, dead := range []string{path, strings.TrimSuffix(path, ".ics"), path + "x", "/feed/1.ics", "/feed/.ics",
		"/feed/" + string(f.Link) + ".ics"} {
		if got := s.as(game.Actor{}).get(dead); got.status != want.status || got.body != want.body ||
			got.header.Get("Content-Type") != want.header.Get("Content-Type") {
			t.Errorf("%s: %d %s", dead, got.status, got.body)
		}
	}
	if body := coach.get("/account/calendar").body; strings.Contains(body, "/feed/") || strings.Contains(body, "End the feed") {
		t.Error("the page shows a feed that has ended")
	}
}

// TestFeedLeavesOneRowADay: of the club, with the owner as who read.
func TestFeedLeavesOneRowADay(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "daily")
	path, calendar := s.as(f.Guardian).feedAddress("/report/calendar"), s.as(game.Actor{})
	for _, c := range []struct {
		hours int // that pass, from noon
		rows  bool
	}{{0, true}, {0, false}, {11, false}, {1, true}, {13, false}, {11, true}, {72, true}} {
		pass(time.Duration(c.hours) * time.Hour)
		before := s.last()
		for range 3 {
			if got := calendar.get(path); got.status != http.StatusOK {
				t.Fatal(got.status)
			}
		}
		want := ""
		if c.rows {
			want = fmt.Sprintf("%d feed read %d ", f.Guardian.Person, f.Student.Person)
		}
		if rows := s.rows(before); rows != want {
			t.Errorf("at %s: %q, want %q", s.now(), rows, want)
		}
	}
	if body := s.as(f.Guardian).get("/report/calendar").body; !strings.Contains(body, "A calendar last read it today.") {
		t.Error("the page does not say that a calendar reads it")
	}
}

// TestFeedTokenIsNowhere: neither the log nor the audit holds the token, whatever fails.
func TestFeedTokenIsNowhere(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "nowhere")
	path, calendar := s.as(f.Coach).feedAddress("/account/calendar"), s.as(game.Actor{})
	token := strings.TrimSuffix(strings.TrimPrefix(path, "/feed/"), ".ics")
	if got := calendar.get(path); got.status != http.StatusOK {
		t.Fatal(got.status)
	}
	calendar.do(http.MethodPost, path, fields())
	calendar.do(http.MethodGet, path, nil, func(r *http.Request) { r.Host = "elsewhere.example" })
	storetest.Exec(t, storetest.Address(s.store), "update keys set seen_at = null where kind = 'feed'")
	storetest.Exec(t, storetest.Address(s.store), "alter table audit add constraint shut check (false) not valid")
	if got := calendar.get(path); got.status < 500 || strings.Contains(got.body, "VCALENDAR") {
		t.Errorf("without a row of the audit: %d %s", got.status, got.body)
	}
	random := token[strings.Index(token, ".")+1:]
	if s.log.count("/feed/{name}") == 0 || s.log.count(random) != 0 {
		t.Errorf("the log has the route %d times, the token %d times", s.log.count("/feed/{name}"), s.log.count(random))
	}
	for _, table := range []string{"audit", "keys", "shown", "forms"} {
		if all := s.audit("select coalesce(string_agg(x::text, ' '), '') from " + table + " x"); strings.Contains(all, random) {
			t.Errorf("%s holds the token", table)
		}
	}
}

// TestFeedNeedsASecondFactorWhereOneIsDue: the page of the feed waits, unlike those on which
// the factor is set up.
func TestFeedNeedsASecondFactorWhereOneIsDue(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "factor")
	storetest.Exec(t, storetest.Address(s.store), "update people set created_at = $1", s.now())
	pass(store.FactorWithin)
	for who, want := range map[game.Actor]int{f.Coach: http.StatusSeeOther, f.Coach2: http.StatusOK} {
		if got := s.as(who).get("/account/calendar"); got.status != want {
			t.Errorf("%s: %d, want %d", who.Name, got.status, want)
		}
	}
}

// TestFeedPageWithoutConsent: a guardian whose child waits for consent is told why there is
// no address.
func TestFeedPageWithoutConsent(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "waits")
	guardian := s.as(f.Guardian)
	path := guardian.feedAddress("/report/calendar")
	storetest.Exec(t, storetest.Address(s.store), "delete from consents where student_id = $1", f.Student.Person)
	if got := s.as(game.Actor{}).get(path); got.status != http.StatusNotFound {
		t.Errorf("the feed: %d", got.status)
	}
	got := guardian.get("/report/calendar")
	if got.status != http.StatusOK || !strings.Contains(got.body, "needs a guardian's consent") ||
		pageForms(t, got.body)["/report/calendar"] != nil {
		t.Errorf("the page: %d", got.status)
	}
	if got := guardian.post("/report/calendar", fields()); got.status != http.StatusConflict {
		t.Errorf("made all the same: %d", got.status)
	}
}
