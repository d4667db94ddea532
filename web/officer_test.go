package web_test

import (
	"net/http"
	"strings"
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store/storetest"
)

// TestOfficerJoinsAndSpeaksToChildren: the owner appoints the first welfare officer by a
// link; from then on the officer says whom children turn to and the owner no longer; no page
// opens before the second factor is on.
func TestOfficerJoinsAndSpeaksToChildren(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "desk")
	owner := s.as(f.Coach)
	if got := owner.post("/welfare/invite", fields("once", "a")); got.status != http.StatusSeeOther {
		t.Fatalf("%d", got.status)
	}
	_, token, found := strings.Cut(owner.get("/welfare").body, "/join#")
	if !found {
		t.Fatal("the link is not shown")
	}
	token, _, _ = strings.Cut(token, `"`)
	if got := s.as(f.Coach2).get("/welfare"); strings.Contains(got.body, "/join#") || strings.Contains(got.body, "<form method=\"post\" action=\"/welfare") {
		t.Error("another coach sees the link or a form")
	}
	p := s.as(game.Actor{})
	if got := p.post("/join", fields("token", token, "name", "Solveig", "email", "sol@club.example", "password", "vexlamp otter moon")); got.header.Get("Location") != "/account/factor" {
		t.Fatalf("%d %s", got.status, got.header.Get("Location"))
	}
	if got := p.get("/welfare"); got.header.Get("Location") != "/account/factor" {
		t.Errorf("before the second factor: %d", got.status)
	}
	if got := p.get("/account"); got.status != http.StatusOK || !strings.Contains(got.body, "set up a second factor first") {
		t.Errorf("the account: %d", got.status)
	}
	p.withFactor(now())
	if got := p.get("/welfare"); got.status != http.StatusOK || !strings.Contains(got.body, "No concern is unopened.") {
		t.Errorf("the desk: %d", got.status)
	}
	if got := p.post("/welfare", fields("welfare", "Solveig", "contact", "By the lockers", "revision", "0")); got.status != http.StatusSeeOther {
		t.Errorf("%d", got.status)
	}
	if got := p.post("/welfare", fields("welfare", "Per", "contact", "Nowhere", "revision", "0")); got.status != http.StatusConflict ||
		!strings.Contains(got.body, "Nowhere") || !strings.Contains(got.body, "By the lockers") {
		t.Errorf("two at once: %d", got.status)
	}
	if got := s.as(f.Student).get("/tell"); !strings.Contains(got.body, "By the lockers") {
		t.Error("a child does not read it")
	}
	if got := owner.post("/welfare", fields("welfare", "Me", "contact", "Here", "revision", "1")); got.status != http.StatusForbidden {
		t.Errorf("the owner: %d", got.status)
	}
}

// TestOutsideContactsReachChildren: whom to turn to outside the club stands where a child
// looks for it.
func TestOutsideContactsReachChildren(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "outside")
	_, err := s.store.KeepSettings(ctx, f.Coach, club.Settings{Name: "outside", Zone: "UTC", Outside: "The children's line, 000"})
	if err != nil {
		t.Fatal(err)
	}
	if got := s.as(f.Student).get("/tell"); !strings.Contains(got.body, "The children&#39;s line, 000") {
		t.Error("it does not")
	}
}
