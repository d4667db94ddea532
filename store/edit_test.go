package store_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// file reads a student's file.
func file(t *testing.T, s *store.Store, f storetest.Fixture) store.StudentFile {
	t.Helper()
	out, err := s.StudentFile(ctx, f.Coach.Club, f.Student.Person)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestEditIsUndone: a change can be undone for ten minutes, once, and only as long as the
// same thing has not been changed again.
func TestEditIsUndone(t *testing.T) {
	t.Parallel()
	s, _, pass := clocked(t)
	f := storetest.Club(t, s, "edit")
	tuesday, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	if err != nil {
		t.Fatal(err)
	}
	was := file(t, s, f)
	edit := func(name string, groups ...game.GroupID) game.ChangeID {
		t.Helper()
		id, err := s.EditStudent(ctx, f.Coach, f.Student.Person, club.StudentEdit{Name: name, Wording: 14, Groups: groups,
			Revision: file(t, s, f).Revision})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	first := edit("Wren the first", tuesday)
	if now := file(t, s, f); now.Name != "Wren the first" || now.Wording != 14 || fmt.Sprint(now.Groups) != fmt.Sprint([]game.GroupID{tuesday}) {
		t.Errorf("%+v", now)
	}
	second := edit("Wren the second")
	if _, _, err := s.Undo(ctx, f.Coach, first); game.KindOf(err) != game.Conflict {
		t.Errorf("changed once more since: %v", err)
	}
	if _, _, err := s.Undo(ctx, f.Coach2, second); err != nil {
		t.Fatal(err)
	}
	if now := file(t, s, f); now.Name != "Wren the first" || len(now.Groups) != 1 {
		t.Errorf("undone: %+v", now)
	}
	if _, _, err := s.Undo(ctx, f.Coach, second); game.KindOf(err) != game.Conflict {
		t.Errorf("undone twice: %v", err)
	}
	third := edit(was.Name)
	pass(store.UndoFor)
	if _, _, err := s.Undo(ctx, f.Coach, third); game.KindOf(err) != game.Conflict {
		t.Errorf("after ten minutes: %v", err)
	}
	if _, err := s.Change(ctx, f.Coach.Club, third); game.KindOf(err) != game.Missing {
		t.Errorf("after ten minutes a page still offers it: %v", err)
	}
	other := storetest.Club(t, s, "other")
	if _, _, err := s.Undo(ctx, other.Coach, edit("Wren the last")); game.KindOf(err) != game.Conflict {
		t.Errorf("undone from another club: %v", err)
	}
}

// TestSecondIsTold: of two people who change the same student, or the same club, the second
// is told, and nothing of the first is lost.
func TestSecondIsTold(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "second")
	at := file(t, s, f).Revision
	if _, err := s.EditStudent(ctx, f.Coach, f.Student.Person, club.StudentEdit{Name: "Asa", Revision: at}); err != nil {
		t.Fatal(err)
	}
	_, err := s.EditStudent(ctx, f.Coach2, f.Student.Person, club.StudentEdit{Name: "Bo", Revision: at})
	if game.KindOf(err) != game.Conflict || !strings.Contains(game.Saying(err), "Somebody else") || file(t, s, f).Name != "Asa" {
		t.Errorf("%v, now %s", err, file(t, s, f).Name)
	}
	c, err := s.Settings(ctx, f.Coach.Club)
	if err != nil {
		t.Fatal(err)
	}
	c.Holidays = []club.Holiday{{From: time.Date(2026, 12, 21, 0, 0, 0, 0, time.UTC), To: time.Date(2027, 1, 3, 0, 0, 0, 0, time.UTC), Name: "Winter"}}
	change, err := s.KeepSettings(ctx, f.Coach, c)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.KeepSettings(ctx, f.Coach2, c); game.KindOf(err) != game.Conflict {
		t.Errorf("the club: %v", err)
	}
	if now, err := s.Settings(ctx, f.Coach.Club); err != nil || len(now.Holidays) != 1 || now.Holidays[0].Name != "Winter" {
		t.Errorf("%+v, %v", now, err)
	}
	if _, _, err := s.Undo(ctx, f.Coach, change); err != nil {
		t.Fatal(err)
	}
	if now, err := s.Settings(ctx, f.Coach.Club); err != nil || len(now.Holidays) != 0 {
		t.Errorf("undone: %+v, %v", now, err)
	}
}

// TestArchivedStudent: an archived student is on no list, is signed out and cannot sign in;
// taken back, the same card opens again, and the games are there.
func TestArchivedStudent(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "archive")
	who, err := s.Open(ctx, f.Card.Token)
	if err != nil {
		t.Fatal(err)
	}
	opened, _, err := s.SignIn(ctx, who)
	if err != nil {
		t.Fatal(err)
	}
	id, err := s.ArchiveStudent(ctx, f.Coach, f.Student.Person)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Session(ctx, opened); game.KindOf(err) != game.Missing {
		t.Errorf("the session goes on: %v", err)
	}
	if _, err := s.Open(ctx, f.Card.Token); err == nil {
		t.Error("the card of an archived student opens")
	}
	roster := func(ask store.RosterAsk) string {
		t.Helper()
		r, err := s.Roster(ctx, f.Coach.Club, ask)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(len(r.Rows), r.Total, r.All, r.Old)
	}
	if got, old := roster(store.RosterAsk{}), roster(store.RosterAsk{Archived: true}); got != "1 1 1 1" || old != "1 1 1 1" {
		t.Errorf("%s on the roster, %s archived", got, old)
	}
	if _, _, err := s.Undo(ctx, f.Coach, id); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Open(ctx, f.Card.Token); err != nil {
		t.Errorf("undone, the card does not open: %v", err)
	}
	if games, err := s.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{}); err != nil || len(games.Rows) == 0 {
		t.Errorf("%d games, %v", len(games.Rows), err)
	}
}

// TestGroupsAndSeason: students are in any number of groups; at the end of a season those
// who leave are archived, groups go on and what is open is withdrawn, and all of it can be
// undone at once.
func TestGroupsAndSeason(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "season")
	group := func(name string) game.GroupID {
		t.Helper()
		id, err := s.KeepGroup(ctx, f.Coach, name)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	first, second := group("Beginners"), group("First team")
	if _, err := s.KeepGroup(ctx, f.Coach, "beginners"); game.KindOf(err) != game.Bad {
		t.Errorf("two groups of one name: %v", err)
	}
	both := []game.PersonID{f.Student.Person, f.Student2.Person}
	if _, err := s.PutInGroup(ctx, f.Coach, first, both); err != nil {
		t.Fatal(err)
	}
	say := func() string {
		t.Helper()
		rows, err := s.Groups(ctx, f.Coach)
		if err != nil {
			t.Fatal(err)
		}
		tasks, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithTasks)
		if err != nil {
			return fmt.Sprint(rows)
		}
		return fmt.Sprint(rows, len(tasks.Tasks))
	}
	before := say()
	id, err := s.EndSeason(ctx, f.Coach, store.SeasonEnd{Leave: []game.PersonID{f.Student2.Person},
		Up: map[game.GroupID]game.GroupID{first: second, second: first}, Withdraw: true})
	if err != nil {
		t.Fatal(err)
	}
	if got := say(); got != fmt.Sprintf("[{{%d Beginners} 0} {{%d First team} 1}]0", first, second) &&
		got != fmt.Sprintf("[{{%d Beginners} 0} {{%d First team} 1}] 0", first, second) {
		t.Errorf("after the season: %s", got)
	}
	if _, _, err := s.Undo(ctx, f.Coach, id); err != nil {
		t.Fatal(err)
	}
	if got := say(); got != before {
		t.Errorf("undone: %s, before %s", got, before)
	}
	if _, err := s.ArchiveGroup(ctx, f.Coach, first); err != nil {
		t.Fatal(err)
	}
	if r, err := s.Roster(ctx, f.Coach.Club, store.RosterAsk{NoGroup: true}); err != nil || len(r.Rows) != 2 {
		t.Errorf("in no group: %+v, %v", r, err)
	}
}

// TestRosterAsks: the roster is held to a part of a name, a number, a group; it is sorted
// and comes in pages of fifty.
func TestRosterAsks(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "asks")
	storetest.Exec(t, url, `insert into people (club_id, id, role, name, number, wording)
		select 1, 1000 + n, 'student', 'Pupil ' || lpad(n::text, 3, '0'), 5000 + n, 8 from generate_series(1, 118) n`)
	ask := func(a store.RosterAsk) store.Roster {
		t.Helper()
		r, err := s.Roster(ctx, f.Coach.Club, a)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if r := ask(store.RosterAsk{Page: 1}); len(r.Rows) != 50 || r.Total != 120 || r.All != 120 || r.NoCard != 118 {
		t.Errorf("the first page: %d of %d, %d without a card", len(r.Rows), r.Total, r.NoCard)
	}
	if r := ask(store.RosterAsk{Page: 3}); len(r.Rows) != 20 {
		t.Errorf("the last page: %d", len(r.Rows))
	}
	for find, n := range map[string]int{"pupil": 118, "PIL 01": 10, "5007": 1, "nobody": 0, "%": 0} {
		if r := ask(store.RosterAsk{Find: find}); len(r.Rows) != n {
			t.Errorf("%q finds %d, want %d", find, len(r.Rows), n)
		}
	}
	for sort, first := range map[string]string{store.ByName: "Pupil 001", store.ByNumber: "", "nonsense": "Pupil 001"} {
		r := ask(store.RosterAsk{Find: "pupil", Sort: sort})
		if first != "" && r.Rows[0].Name != first {
			t.Errorf("sorted by %q: %s stands first", sort, r.Rows[0].Name)
		}
	}
	if r := ask(store.RosterAsk{Sort: store.ByLast}); r.Rows[0].Last == nil {
		t.Errorf("last game first: %+v", r.Rows[0])
	}
	if r := ask(store.RosterAsk{NoCard: true}); len(r.Rows) != 118 {
		t.Errorf("%d without a card", len(r.Rows))
	}
	playing, err := s.Playing(ctx, f.Coach)
	if err != nil || len(playing) != 2 {
		t.Errorf("playing: %+v, %v", playing, err)
	}
}

// TestLinkIsRenewed: the end of a link that works is moved; a link that was stopped or has
// ended is not brought back.
func TestLinkIsRenewed(t *testing.T) {
	t.Parallel()
	s, _, pass := clocked(t)
	f := storetest.Club(t, s, "renew")
	until := func() time.Time {
		t.Helper()
		g, ok := file(t, s, f).Guardian(f.Guardian.Person)
		if !ok || g.Until == nil {
			return time.Time{}
		}
		return *g.Until
	}
	was := until()
	pass(24 * time.Hour)
	if err := s.RenewLink(ctx, f.Coach, f.Student.Person, f.Guardian.Person); err != nil || !until().After(was) {
		t.Errorf("%v: until %v, was %v", err, until(), was)
	}
	if err := s.RenewLink(ctx, f.Coach, f.Student.Person, f.Guardian2.Person); game.KindOf(err) != game.Missing {
		t.Errorf("another child's guardian: %v", err)
	}
	if err := s.RevokeGuardian(ctx, f.Coach, f.Student.Person, f.Guardian.Person); err != nil {
		t.Fatal(err)
	}
	if err := s.RenewLink(ctx, f.Coach, f.Student.Person, f.Guardian.Person); game.KindOf(err) != game.Gone {
		t.Errorf("a link that was stopped: %v", err)
	}
}

// TestConsentIsCorrected: the new note counts, and the old one stays with what was wrong.
func TestConsentIsCorrected(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "consent")
	day := time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC)
	if err := s.CorrectConsent(ctx, f.Coach, f.Student.Person, club.NewStudent{ConsentBy: "Una", ConsentOn: day}, ""); game.KindOf(err) != game.Bad {
		t.Errorf("without the mistake: %v", err)
	}
	if err := s.CorrectConsent(ctx, f.Coach, f.Student.Person, club.NewStudent{ConsentBy: "Una", ConsentOn: day}, "The wrong month"); err != nil {
		t.Fatal(err)
	}
	if now := file(t, s, f); now.ConsentBy != "Una" || !now.ConsentOn.Equal(day) {
		t.Errorf("%+v", now)
	}
	storetest.Exec(t, url, `do $$ begin assert (select count(*) = 1 from consents n join consents o
		on o.club_id = n.club_id and o.id = n.corrects and o.student_id = n.student_id where n.mistake = 'The wrong month'); end $$`)
}
