package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store/storetest"
)

// standsIn makes a coach who stands in for a group until a time.
func (s *site) standsIn(f storetest.Fixture, name string, until time.Time, in ...game.PersonID) game.Actor {
	s.Helper()
	group, err := s.store.KeepGroup(ctx, f.Coach, name)
	if err != nil {
		s.Fatal(err)
	}
	if _, err := s.store.PutInGroup(ctx, f.Coach, group, in); err != nil {
		s.Fatal(err)
	}
	token, err := s.store.Invite(ctx, f.Coach, &until, []game.GroupID{group})
	if err != nil {
		s.Fatal(err)
	}
	a, err := s.store.Join(ctx, token, club.NewCoach{Name: name, Email: strings.ToLower(name) + "@club.example",
		Password: "a long sentence for " + name})
	if err != nil {
		s.Fatal(err)
	}
	return a
}

// TestSubstituteMatrix: to a substitute of another group no route shows or changes anything
// of a student, or of the whole club; whose last day is over is nobody.
func TestSubstituteMatrix(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "matrix")
	other := s.standsIn(f, "Other", s.now().Add(48*time.Hour), f.Student2.Person)
	own := s.standsIn(f, "Own", s.now().Add(48*time.Hour), f.Student.Person)
	past := s.standsIn(f, "Past", s.now().Add(time.Minute), f.Student.Person)
	late := s.as(past)
	rows := matrix(f)
	s.walk(func(method, path string) {
		r := rows[method+" "+path]
		if strings.HasPrefix(path, "/live") || r.coach >= 400 && r.coach != 422 || r.coach == r.nobody {
			return
		}
		got := s.as(other).do(method, address(path, f), r.form)
		one := strings.Contains(path, "{id}") && !strings.HasPrefix(path, "/drills")
		if one && got.status != http.StatusNotFound || strings.Contains(got.body, f.Student.Name) {
			t.Errorf("%s %s as a substitute of another group: %d", method, path, got.status)
		}
	})
	for _, path := range []string{"/season", "/settings", "/groups", "/coaches", "/students/new"} {
		if got := s.as(own).get(path); got.status != http.StatusNotFound {
			t.Errorf("%s as a substitute: %d", path, got.status)
		}
	}
	if got := s.as(own).get(address("/students/{id}", f)); got.status != http.StatusOK || strings.Contains(got.body, "/edit") ||
		strings.Contains(got.body, "/name") {
		t.Errorf("the own student's page: %d", got.status)
	}
	for path, form := range map[string]url.Values{
		"/students/{id}/edit":              fields("name", "Other", "wording", "8", "revision", "0"),
		"/students/{id}/archive":           fields(),
		"/students/{id}/guardian/{g}/name": fields("name", "Other"),
		"/students/chosen":                 fields("do", "archive", "student", itoa(f.Student.Person)),
		"/students/chosen?group":           fields("do", "group", "group", "1", "student", itoa(f.Student.Person)),
	} {
		if got := s.as(own).post(address(path, f), form); got.status != http.StatusNotFound {
			t.Errorf("POST %s as a substitute: %d", path, got.status)
		}
	}
	if got := s.as(own).get("/students"); got.status != http.StatusOK || !strings.Contains(got.body, f.Student.Name) ||
		strings.Contains(got.body, f.Student2.Name) {
		t.Errorf("the roster of the own group: %d", got.status)
	}
	if got := s.as(own).get(fmt.Sprintf("/drills/new?edit=%d", f.Drill.ID)); got.status != http.StatusNotFound {
		t.Errorf("the club's drill opens to be changed: %d", got.status)
	}
	change := aDrill("of", fmt.Sprint(f.Drill.ID), "do", "shelf")
	if got := s.as(own).post("/drills", change); got.status != http.StatusNotFound {
		t.Errorf("the club's drill is changed: %d", got.status)
	}
	given := s.as(own).post(address("/drills/{id}/assign", f), fields("student", itoa(f.Student.Person), "again", "more"))
	_, rest, _ := strings.Cut(s.as(own).get(given.header.Get("Location")).body, `action="/undo/`)
	undo, _, _ := strings.Cut(rest, `"`)
	if got := s.as(other).post("/undo/"+undo, fields()); got.status != http.StatusConflict {
		t.Errorf("somebody else's change is undone: %d", got.status)
	}
	if got := s.as(own).post("/undo/"+undo, fields()); got.status != http.StatusSeeOther {
		t.Errorf("the own change is not undone: %d", got.status)
	}
	pass(2 * time.Minute)
	if got := late.get("/students"); got.status != http.StatusSeeOther || !strings.HasPrefix(got.header.Get("Location"), "/in") {
		t.Errorf("after the last day: %d %s", got.status, got.header.Get("Location"))
	}
}
