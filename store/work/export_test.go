package work_test

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// taken asks for an export, waits until it is made, and gives all its files as one text.
func taken(t *testing.T, s *store.Store, a game.Actor, student game.PersonID) (text string, id int64) {
	t.Helper()
	if err := s.AskExport(t.Context(), a, student); err != nil {
		t.Fatal(err)
	}
	within, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for id == 0 {
		all, err := s.Exports(within, a)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range all {
			if e.Student == student && e.Done != nil {
				id = e.ID
			}
		}
		<-tick.C
	}
	var file bytes.Buffer
	if err := s.FetchExport(t.Context(), a, id, func(store.ExportRow) io.Writer { return &file }); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if f.Name != "schema.json" {
			all.WriteString(f.Name + "\n")
			if _, err := io.Copy(&all, r); err != nil {
				t.Fatal(err)
			}
		}
	}
	return all.String(), id
}

// TestExportHasItsOwn: what was planted of each kind stands in the right export and nowhere
// else: another guardian's name is in no guardian's, another child's in none but the club's,
// and addresses, passwords and secrets are in nobody's.
func TestExportHasItsOwn(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f, far := storetest.Club(t, s, "take"), storetest.Club(t, s, "far")
	link, err := s.AddGuardian(t.Context(), f.Coach, f.Student.Person, "Una Other")
	if err != nil {
		t.Fatal(err)
	}
	una := game.Actor{Club: f.Coach.Club, Person: link.Guardian, Role: game.Guardian, Name: "Una Other"}
	for _, err := range []error{
		s.WithdrawConsent(t.Context(), una, f.Student.Person), s.GiveConsent(t.Context(), una, f.Student.Person, 0),
		s.GiveConsent(t.Context(), f.Guardian, f.Student.Person, 0), s.Read(t.Context(), una, "visit of una", store.OfWard, int64(f.Student.Person)),
		s.Read(t.Context(), f.Coach, "visit of coach", store.OfStudent, int64(f.Student.Person)),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	crew(t, s, url)
	own, _ := taken(t, s, f.Guardian, f.Student.Person)
	others, _ := taken(t, s, una, f.Student.Person)
	club, _ := taken(t, s, f.Coach, 0)
	one, _ := taken(t, s, f.Coach, f.Student2.Person)
	for _, c := range []struct {
		what, text string
		has, not   []string
	}{
		{"a guardian's", own, []string{f.Student.Name, `"by": "Guardian"`, "visit of coach", f.Drill.Ending}, []string{"Una Other", "visit of una", f.Student2.Name}},
		{"the other guardian's", others, []string{f.Student.Name, "Una Other", "visit of una"}, []string{`"by": "Guardian"`, f.Student2.Name}},
		{"the club's", club, []string{f.Student.Name, f.Student2.Name, "Una Other", "visit of una"}, nil},
		{"of one child", one, []string{f.Student2.Name}, []string{f.Student.Name, "Una Other"}},
	} {
		for _, want := range c.has {
			if !strings.Contains(c.text, want) {
				t.Errorf("%s export lacks %q", c.what, want)
			}
		}
		for _, bad := range append(c.not, f.Email, "argon2", string(f.Card.Token), strings.Join(f.Card.Words[:], " "), string(f.Link), far.Student.Name) {
			if strings.Contains(c.text, bad) {
				t.Errorf("%s export holds %q", c.what, bad)
			}
		}
	}
}

// TestExportGoesWithAccess: an export is its asker's alone, and goes with the access; what was
// asked, fetched and gone is noted.
func TestExportGoesWithAccess(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "gone")
	crew(t, s, url)
	_, id := taken(t, s, f.Guardian, f.Student.Person)
	none := func(store.ExportRow) io.Writer { t.Error("sent"); return io.Discard }
	for _, who := range []game.Actor{f.Guardian2, f.Coach, f.Coach2} {
		if err := s.FetchExport(t.Context(), who, id, none); game.KindOf(err) != game.Missing {
			t.Errorf("%s fetches a guardian's export: %v", who.Name, err)
		}
	}
	if err := s.AskExport(t.Context(), f.Guardian, f.Student2.Person); game.KindOf(err) != game.Missing {
		t.Errorf("another's child: %v", err)
	}
	if err := s.AskExport(t.Context(), f.Coach2, 0); game.KindOf(err) != game.Denied {
		t.Errorf("the club, by no owner: %v", err)
	}
	if err := s.RevokeGuardian(t.Context(), f.Coach, f.Student.Person, f.Guardian.Person); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(t.Context()))
	var pieces int
	var noted string
	const q = `select (select count(*) from export_pieces), (select string_agg(action, ', ' order by id) from audit where action like 'export%')`
	if err := conn.QueryRow(t.Context(), q).Scan(&pieces, &noted); err != nil {
		t.Fatal(err)
	}
	if pieces != 0 || noted != "export asked, export fetched, export gone" {
		t.Errorf("%d pieces are left; noted: %s", pieces, noted)
	}
}
