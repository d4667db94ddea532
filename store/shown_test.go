package store_test

import (
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// shownCard is what a session sees of a student's card.
func shownCard(t *testing.T, s *store.Store, session club.Secret, of game.Actor) (club.Card, bool) {
	t.Helper()
	var card club.Card
	err := s.Shown(ctx, session, store.ShownCard, int64(of.Person), &card)
	if err != nil && game.KindOf(err) != game.Missing {
		t.Fatal(err)
	}
	return card, err == nil
}

func signedIn(t *testing.T, s *store.Store, who game.Actor) club.Secret {
	t.Helper()
	session, _, err := s.SignIn(ctx, who)
	if err != nil {
		t.Fatal(err)
	}
	return session
}

// TestShownToItsSession: a card is shown for ten minutes to the session that made
// it, on every node, and to no other session of anybody.
func TestShownToItsSession(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "shown")
	mine, later, hers := signedIn(t, s, f.Coach), signedIn(t, s, f.Coach), signedIn(t, s, f.Coach2)
	card, err := s.ReplaceCard(ctx, f.Coach, f.Student.Person, store.Sent{Session: mine})
	if err != nil {
		t.Fatal(err)
	}
	other, err := store.Open(ctx, url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	for range 2 {
		if got, ok := shownCard(t, other, mine, f.Student); !ok || got != card {
			t.Errorf("%+v, %v", got, ok)
		}
	}
	for name, session := range map[string]club.Secret{"a later session": later, "another coach": hers, "nobody": "",
		"a made-up token": club.NewSecret(f.Coach.Club)} {
		if _, ok := shownCard(t, s, session, f.Student); ok {
			t.Errorf("%s sees the card", name)
		}
	}
	if _, ok := shownCard(t, s, mine, f.Student2); ok {
		t.Error("another child has the card")
	}
	pass(store.ShownFor - time.Second)
	if _, ok := shownCard(t, s, mine, f.Student); !ok {
		t.Error("it is over before its time")
	}
	pass(time.Second)
	if _, ok := shownCard(t, s, mine, f.Student); ok {
		t.Error("it is shown longer than ten minutes")
	}
}

// TestShownIsOver: after a new card, by whomever, after signing out, and after a
// link was stopped there is nothing to be shown.
func TestShownIsOver(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "over")
	mine, hers := signedIn(t, s, f.Coach), signedIn(t, s, f.Coach2)
	rows := func() int { return scan[int](t, url, "select count(*) from shown") }
	made := func(who game.Actor, session club.Secret) {
		t.Helper()
		if _, err := s.ReplaceCard(ctx, who, f.Student.Person, store.Sent{Session: session}); err != nil {
			t.Fatal(err)
		}
	}
	made(f.Coach, mine)
	made(f.Coach2, hers)
	if _, ok := shownCard(t, s, mine, f.Student); ok || rows() != 1 {
		t.Errorf("a dead card is shown, %d rows", rows())
	}
	if err := s.SignOut(ctx, hers); err != nil || rows() != 0 {
		t.Errorf("after signing out: %d rows, %v", rows(), err)
	}
	link, err := s.AddGuardian(ctx, f.Coach, f.Student.Person, "Per", store.Sent{Session: mine})
	if err != nil || rows() != 1 {
		t.Fatalf("%d rows, %v", rows(), err)
	}
	if err := s.RevokeGuardian(ctx, f.Coach, f.Student.Person, link.Guardian); err != nil || rows() != 0 {
		t.Errorf("a stopped link: %d rows, %v", rows(), err)
	}
	made(f.Coach, mine)
	old := scan[string](t, url, "update shown set expires_at = now() - interval '1 second' returning kind")
	if _, err := s.KeepDraft(ctx, mine, "a form"); err != nil || old != "card" || rows() != 1 {
		t.Errorf("an expired row stays when another is written: %d rows, %v", rows(), err)
	}
}

// TestReplacedLink: a new link ends the old one and its sessions, and belongs to
// the same guardian.
func TestReplacedLink(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "relink")
	guardian, mine := signedIn(t, s, f.Guardian), signedIn(t, s, f.Coach)
	link, err := s.ReplaceLink(ctx, f.Coach, f.Student.Person, f.Guardian.Person, store.Sent{Session: mine})
	if err != nil {
		t.Fatal(err)
	}
	if a, err := s.Open(ctx, link.Token); err != nil || a != f.Guardian {
		t.Errorf("the new link opens %+v, %v", a, err)
	}
	if _, err := s.Open(ctx, f.Link); game.KindOf(err) != game.Gone {
		t.Errorf("the old link: %v", err)
	}
	if _, err := s.Session(ctx, guardian); game.KindOf(err) != game.Missing {
		t.Errorf("the old session: %v", err)
	}
	var shown club.Link
	if err := s.Shown(ctx, mine, store.ShownLink, int64(f.Guardian.Person), &shown); err != nil || shown != link {
		t.Errorf("shown %+v, %v", shown, err)
	}
}

// TestShownIsSealed: a dump of the database shows neither card nor link nor draft
// to anybody.
func TestShownIsSealed(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "sealed")
	mine := signedIn(t, s, f.Coach)
	in := store.Sent{Session: mine}
	card, err := s.ReplaceCard(ctx, f.Coach, f.Student.Person, in)
	if err != nil {
		t.Fatal(err)
	}
	link, err := s.AddGuardian(ctx, f.Coach, f.Student.Person, "Per", in)
	if err != nil {
		t.Fatal(err)
	}
	const typed = "a drill with a name of its own"
	if _, err := s.KeepDraft(ctx, mine, typed); err != nil {
		t.Fatal(err)
	}
	dump := scan[string](t, url,
		`select string_agg(kind || encode(sealed, 'escape') || encode(session, 'escape'), '') from shown`)
	for what, secret := range map[string]string{
		"card": string(card.Token), "words": card.Words[0], "link": string(link.Token), "draft": typed,
		"session": string(mine),
	} {
		if strings.Contains(dump, secret) {
			t.Errorf("the database shows the %s", what)
		}
	}
	if n := scan[int](t, url, "select count(*) from shown"); n != 3 {
		t.Errorf("%d rows", n)
	}
}

// TestDraft: a form that is being written comes back as it was typed, for half a
// day, to its own session.
func TestDraft(t *testing.T) {
	t.Parallel()
	s, _, pass := clocked(t)
	f := storetest.Club(t, s, "draft")
	mine, hers := signedIn(t, s, f.Coach), signedIn(t, s, f.Coach2)
	first, err := s.KeepDraft(ctx, mine, "one")
	if err != nil {
		t.Fatal(err)
	}
	next, err := s.KeepDraft(ctx, mine, "two")
	if err != nil || next == first || first < 1 || next < 1 {
		t.Fatal(next, err)
	}
	var text string
	if err := s.Shown(ctx, mine, store.ShownDraft, first, &text); err != nil || text != "one" {
		t.Errorf("%q, %v", text, err)
	}
	if err := s.Shown(ctx, hers, store.ShownDraft, first, &text); game.KindOf(err) != game.Missing {
		t.Errorf("another coach reads it: %q, %v", text, err)
	}
	pass(12*time.Hour - time.Second)
	if err := s.Shown(ctx, mine, store.ShownDraft, next, &text); err != nil || text != "two" {
		t.Errorf("%q, %v", text, err)
	}
	pass(time.Second)
	if err := s.Shown(ctx, mine, store.ShownDraft, next, &text); game.KindOf(err) != game.Missing {
		t.Errorf("after half a day: %q, %v", text, err)
	}
	if _, err := s.KeepDraft(ctx, "", "nobody's"); game.KindOf(err) != game.Missing {
		t.Errorf("nobody keeps a draft: %v", err)
	}
}
