package web_test

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"drover/store"
	"drover/store/storetest"
)

// TestExportNeedsAFreshSignIn: the file is no bearer link: it goes to the session of who asked,
// within ten minutes of opening the link; an owner signs in again, and for the whole club has a
// second factor.
func TestExportNeedsAFreshSignIn(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	s := startAt(t, func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) })
	f := storetest.Club(t, s.store, "fresh")
	made := func(who, of int64) string {
		t.Helper()
		w, err := s.store.WriteExport(ctx, f.Coach.Club, of)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(w, fmt.Sprint("the file of ", who)); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(of)
	}
	guardian, at := s.as(f.Guardian), fmt.Sprintf("/report/%d/data", f.Student.Person)
	guardian.post(at, fields())
	first := made(int64(f.Guardian.Person), 1)
	if got := guardian.get(at); !strings.Contains(got.body, "Fetch the file") {
		t.Errorf("the page does not offer the file: %s", got.body)
	}
	if got := guardian.get(at + "/" + first); got.status != http.StatusOK || got.body != fmt.Sprint("the file of ", f.Guardian.Person) ||
		!strings.HasPrefix(got.header.Get("Content-Disposition"), "attachment") {
		t.Errorf("%d %v %s", got.status, got.header, got.body)
	}
	if got := s.as(storetest.Fixture{}.Coach).get(at + "/" + first); got.status != http.StatusSeeOther {
		t.Errorf("nobody gets %d", got.status)
	}
	ahead.Store(int64(11 * time.Minute))
	if got := guardian.get(at + "/" + first); got.status != http.StatusSeeOther {
		t.Errorf("eleven minutes later: %d", got.status)
	}
	if got := guardian.get(at); !strings.Contains(got.body, "Open your private link once more") {
		t.Errorf("the page says %s", got.body)
	}

	coach := s.as(f.Coach)
	coach.post("/exports", fields("student", "0"))
	coach.post("/exports", fields("student", fmt.Sprint(f.Student.Person)))
	club, one := made(0, 2), made(1, 3)
	if got := coach.get("/exports/" + one); got.status != http.StatusOK {
		t.Errorf("of a student: %d", got.status)
	}
	if got := coach.get("/exports/" + club); got.status != http.StatusForbidden || !strings.Contains(got.body, "second factor") {
		t.Errorf("the club without a second factor: %d", got.status)
	}
	coach.withFactor(s.now())
	if got := coach.get("/exports/" + club); got.status != http.StatusOK {
		t.Errorf("the club with a second factor: %d", got.status)
	}
	ahead.Store(int64(25 * time.Minute))
	if got := coach.get("/exports/" + one); got.status != http.StatusSeeOther || !strings.Contains(got.header.Get("Location"), "/account/again") {
		t.Errorf("later an owner gets %d to %s", got.status, got.header.Get("Location"))
	}
	ahead.Store(int64(store.ExportFor + time.Hour))
	if err := s.store.Tidy(ctx); err != nil {
		t.Fatal(err)
	}
	if all, err := s.store.Exports(ctx, f.Coach); err != nil || len(all) != 0 {
		t.Errorf("after a day: %v, %v", all, err)
	}
}
