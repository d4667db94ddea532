package store_test

import (
	"fmt"
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// TestAddManyIsOneTransaction: the good lines are added with their groups and consents, the
// others stay in the draft; the same form again adds nothing and gives the same draft.
func TestAddManyIsOneTransaction(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "many")
	session := signedIn(t, s, f.Coach)
	if _, err := s.KeepGroup(ctx, f.Coach, "Tuesday"); err != nil {
		t.Fatal(err)
	}
	m := club.Many{Signed: true, Text: "nickname;groups;guardian;consent\nAki;TUESDAY|New;Una;2026-11-03\nAki;;;\nSiv;;;\nBo;;Per;never\n" +
		f.Student.Name + ";;;"}
	sent := store.Sent{Session: session, Form: []byte("one")}
	no, err := s.AddMany(ctx, f.Coach, m, []int{3}, sent)
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.AddMany(ctx, f.Coach, m, []int{3}, sent)
	if err != nil || again != no {
		t.Errorf("sent again: draft %d after %d, %v", again, no, err)
	}
	var left club.Many
	if err := s.Shown(ctx, session, store.ShownDraft, no, &left); err != nil {
		t.Fatal(err)
	}
	want := "nickname;groups;guardian;consent\nBo;;Per;never\n" + f.Student.Name + ";;;"
	if left.Text != want || left.Added != 3 || left.Waiting != 2 {
		t.Errorf("%+v", left)
	}
	roster, err := s.Roster(ctx, f.Coach.Club, store.RosterAsk{})
	if err != nil || roster.All != 5 || roster.Waiting != 2 || roster.NoCard != 3 {
		t.Errorf("%+v, %v", roster, err)
	}
	for _, row := range roster.Rows {
		if row.Name == "Aki" && !row.Waits && fmt.Sprint(row.Groups) != "[New Tuesday]" {
			t.Errorf("%+v", row)
		}
	}
}

// TestAddManyAsksForTheForms: where nobody says that the signed forms are kept, nothing of a
// table with consents is added, and nothing of a table without a good line.
func TestAddManyAsksForTheForms(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "kept")
	for _, text := range []string{"Siv\nAki;8;;Una;2026-11-03", "Bo;8;;Per;never", f.Student.Name} {
		if _, err := s.AddMany(ctx, f.Coach, club.Many{Text: text}, nil); game.KindOf(err) != game.Bad {
			t.Errorf("%q: %v", text, err)
		}
	}
	if r, err := s.Roster(ctx, f.Coach.Club, store.RosterAsk{}); err != nil || r.All != 2 {
		t.Errorf("%d students, %v", r.All, err)
	}
}

// waiting adds a student who waits for consent.
func waiting(t *testing.T, s *store.Store, a game.Actor, name string) game.PersonID {
	t.Helper()
	if _, err := s.AddMany(ctx, a, club.Many{Text: name}, nil); err != nil {
		t.Fatal(err)
	}
	r, err := s.Roster(ctx, a.Club, store.RosterAsk{Find: name})
	if err != nil || len(r.Rows) != 1 {
		t.Fatalf("%+v, %v", r, err)
	}
	return r.Rows[0].ID
}

// TestNoCardBeforeConsent: a student who waits has a file, and no card until a coach has
// noted the consent, which is noted once.
func TestNoCardBeforeConsent(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "waits")
	id := waiting(t, s, f.Coach, "Siv")
	if file, err := s.StudentFile(ctx, f.Coach.Club, id); err != nil || !file.Waits() || file.Name != "Siv" {
		t.Errorf("%+v, %v", file, err)
	}
	if _, err := s.ReplaceCard(ctx, f.Coach, id); game.KindOf(err) != game.Conflict {
		t.Errorf("a card: %v", err)
	}
	sent := store.Sent{Session: signedIn(t, s, f.Coach)}
	if _, err := s.MakeCards(ctx, f.Coach, []game.PersonID{id}, nil, sent); game.KindOf(err) != game.Conflict {
		t.Errorf("a sheet: %v", err)
	}
	n := nicknamed("Siv")
	if err := s.NoteConsent(ctx, f.Coach, id, n); err != nil {
		t.Fatal(err)
	}
	if err := s.NoteConsent(ctx, f.Coach2, id, n); game.KindOf(err) != game.Conflict {
		t.Errorf("noted twice: %v", err)
	}
	if _, err := s.ReplaceCard(ctx, f.Coach, id); err != nil {
		t.Error(err)
	}
}
