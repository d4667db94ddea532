package store_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// asApp opens a store under a role of its own with the app's rights, with the
// addresses of the owner and of that role.
func asApp(t *testing.T, now game.Clock) (s *store.Store, owner, app string) {
	t.Helper()
	owner = storetest.URL(t)
	app = strings.Replace(owner, "drover_owner@", "drover@", 1)
	for range 2 { // each start of the program grants again
		if err := store.Grant(ctx, owner, app); err != nil {
			t.Fatal(err)
		}
	}
	s, err := store.Open(ctx, app, now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, owner, app
}

// run carries out a statement.
func run(t *testing.T, url, statement string) {
	t.Helper()
	if err := try(t, url, statement); err != nil {
		t.Fatal(err)
	}
}

func try(t *testing.T, url, statement string) error {
	t.Helper()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, statement)
	return err
}

// TestAppRoleKeepsWhatIsWritten: the app's role can neither take away nor change
// consents, bells and the audit, and chooses neither the number nor the time of a
// row of the audit; it can do all that the app does.
func TestAppRoleKeepsWhatIsWritten(t *testing.T) {
	t.Parallel()
	s, owner, app := asApp(t, time.Now)
	f := storetest.Club(t, s, "kept")
	for _, q := range []string{
		"delete from consents", "update consents set given_by = 'Nobody'", "truncate consents",
		"delete from bells", "update bells set stage = 'mate'", "truncate bells",
		"delete from audit", "update audit set actor_id = null", "truncate audit",
		"insert into audit (club_id, action, at) values (1, 'x', '2020-01-01')",
		"insert into audit (club_id, action, id) values (1, 'x', 7)",
	} {
		if err := try(t, app, q); err == nil || !strings.Contains(err.Error(), "42501") {
			t.Errorf("%s: %v", q, err)
		}
	}
	run(t, app, fmt.Sprintf("insert into bells values (%d, %d, 'KRK', 'mate', '2026-11-01')", f.Coach.Club,
		f.Student.Person))
	token, _, err := s.SignIn(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"a reading": s.Read(ctx, f.Coach, "student's page read", store.OfStudent, int64(f.Student.Person)),
		"a try":     s.TurnedAway(ctx, "sign-in failed", "card", store.Tried{Number: "1"}, false),
		"tidying":   s.Tidy(ctx), "sign-out": s.SignOut(ctx, token),
	} {
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if late := scan[bool](t, owner, "select bool_and(at > now() - interval '1 hour' and at <= now()) from audit"); !late {
		t.Error("the audit's times are not the database's")
	}
}

// audited are the rows of the audit with an action, as "club actor subject detail".
func audited(t *testing.T, url, action string) string {
	t.Helper()
	return scan[string](t, url, `select coalesce(string_agg(concat_ws(' ', club_id, coalesce(actor_id, 0),
		coalesce(subject_id, 0), detail), ', ' order by id), '') from audit where action = $1`, action)
}

// TestReadings: whose data was read is found in the reader's own club; what is not
// there, or in another club, is missing and leaves no row.
func TestReadings(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f, g := storetest.Club(t, s, "read"), storetest.Club(t, s, "elsewhere")
	for i, c := range []struct {
		who  game.Actor
		of   store.Subject
		id   int64
		want string // subject and detail
	}{
		{f.Coach, store.OfClub, 0, "0 "}, {f.Coach, store.OfStudent, int64(f.Student2.Person), fmt.Sprint(f.Student2.Person,
			" ")},
		{f.Coach2, store.OfGame, int64(f.Game2), fmt.Sprint(f.Student2.Person, " game ", f.Game2)},
		{f.Guardian2, store.OfWard, 0, fmt.Sprint(f.Student2.Person, " ")},
		{f.Coach, store.OfStudent, int64(g.Student.Person), ""}, {f.Coach, store.OfStudent, int64(f.Coach2.Person), ""},
		{f.Coach, store.OfGame, int64(g.Game), ""},
		{f.Coach, store.OfWard, 0, ""}, {g.Guardian, store.OfStudent, int64(f.Student.Person), ""},
	} {
		action := fmt.Sprint("reading ", i)
		err := s.Read(ctx, c.who, action, c.of, c.id)
		want := ""
		if c.want != "" {
			want = fmt.Sprint(c.who.Club, " ", c.who.Person, " ", c.want)
		}
		if got := audited(t, url, action); got != want || (err == nil) != (want != "") || err != nil &&
			game.KindOf(err) != game.Missing {
			t.Errorf("%s: %q, want %q; %v", action, got, want, err)
		}
	}
}

// TestTurnedAway: the person is found by number, address or token, and nothing of
// these is kept; a flood of the same is noted once.
func TestTurnedAway(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "away")
	number := fmt.Sprint(" ", f.Card.Student.Number, " ")
	for name, c := range map[string]struct {
		by   store.Tried
		club game.ClubID
		who  game.PersonID
	}{
		"number":         {store.Tried{Number: number}, f.Coach.Club, f.Student.Person},
		"address":        {store.Tried{Email: strings.ToUpper(f.Email)}, f.Coach.Club, f.Coach.Person},
		"link":           {store.Tried{Token: f.Link}, f.Coach.Club, f.Guardian.Person},
		"pattern":        {store.Tried{Token: f.Card.Token}, f.Coach.Club, f.Student.Person},
		"no such number": {store.Tried{Number: "99999"}, 0, 0}, "nothing": {store.Tried{}, 0, 0},
		"no number":       {store.Tried{Number: "9999999999999999999999"}, 0, 0},
		"no such address": {store.Tried{Email: "no@body.example"}, 0, 0},
		"no such link":    {store.Tried{Token: club.NewSecret(f.Coach.Club)}, 0, 0},
	} {
		for range 2 {
			if err := s.TurnedAway(ctx, name+" failed", "way", c.by, false); err != nil {
				t.Fatal(err)
			}
		}
		row := fmt.Sprint(c.club, " 0 ", c.who, " way")
		if got := audited(t, url, name+" failed"); got != row+", "+row {
			t.Errorf("%s: %q, want %q twice", name, got, row)
		}
		for range 5 {
			if err := s.TurnedAway(ctx, name+" refused", "way", c.by, true); err != nil {
				t.Fatal(err)
			}
		}
		if got := audited(t, url, name+" refused"); got != row {
			t.Errorf("five times %s: %q", name, got)
		}
	}
	dump := strings.ToLower(scan[string](t, url, "select query_to_xml('select * from audit', true, false, '')::text"))
	for _, secret := range []string{strings.TrimSpace(number) + "</", f.Email, "body.example", f.Student.Name,
		string(f.Link)} {
		if strings.Contains(dump, ">"+strings.ToLower(secret)) {
			t.Errorf("the audit holds %s", secret)
		}
	}
}

// TestAssignmentNamesItsStudents: a row for each student to whom a drill is given.
func TestAssignmentNamesItsStudents(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "named")
	id, err := s.Assign(ctx, f.Coach2, f.Drill.ID, []game.PersonID{f.Student.Person, f.Student2.Person}, nil)
	if err != nil {
		t.Fatal(err)
	}
	row := func(p game.Actor) string {
		return fmt.Sprintf("%d %d %d assignment %d", f.Coach.Club, f.Coach2.Person, p.Person, id)
	}
	if got := audited(t, url, "drill given"); !strings.HasSuffix(got, row(f.Student)+", "+row(f.Student2)) {
		t.Errorf("%q", got)
	}
}

// TestOverSessionsAreDeleted: the row of a session goes when it is found to be over
// or is signed out of, and in the tidy sweep; those that go on stay.
func TestOverSessionsAreDeleted(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "over")
	left := func() int { t.Helper(); return scan[int](t, url, "select count(*) from keys where kind = 'session'") }
	in := func(a game.Actor) club.Secret {
		t.Helper()
		token, _, err := s.SignIn(ctx, a)
		if err != nil {
			t.Fatal(err)
		}
		return token
	}
	out := in(f.Coach)
	for range 2 {
		if err := s.SignOut(ctx, out); err != nil || left() != 0 {
			t.Errorf("after signing out: %d, %v", left(), err)
		}
	}
	if got, want := audited(t, url, "signed out"), fmt.Sprintf("%d %[2]d %[2]d ", f.Coach.Club,
		f.Coach.Person); got != want {
		t.Errorf("signed out: %q, want %q", got, want)
	}
	idle, other := in(f.Coach), in(f.Coach2)
	in(f.Student)
	pass(61 * time.Minute)
	if _, err := s.Session(ctx, idle); game.KindOf(err) != game.Missing || left() != 2 {
		t.Errorf("an idle session that was used: %d left, %v", left(), err)
	}
	if _, err := s.Session(ctx, other); game.KindOf(err) != game.Missing || left() != 1 {
		t.Errorf("another idle session that was used: %d left, %v", left(), err)
	}
	in(f.Coach)
	in(f.Guardian)
	for _, c := range []struct {
		pass time.Duration
		left int
	}{{59 * time.Minute, 3}, {2 * time.Minute, 2}, {46 * time.Hour, 1}, {6 * 24 * time.Hour, 0}} {
		pass(c.pass)
		if err := s.Tidy(ctx); err != nil || left() != c.left {
			t.Errorf("%v later: %d left, want %d: %v", c.pass, left(), c.left, err)
		}
	}
	gone := in(f.Student2)
	run(t, url, fmt.Sprintf("update people set archived_at = now() where id = %d", f.Student2.Person))
	if _, err := s.Session(ctx, gone); game.KindOf(err) != game.Missing || left() != 0 {
		t.Errorf("of somebody who has left: %d, %v", left(), err)
	}
}

// TestOldFailuresAreDeleted: thirty days after the last one.
func TestOldFailuresAreDeleted(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	run(t, url, `insert into failures (key, n, last_at)
		values ('\x01', 3, now() - interval '29 days'), ('\x02', 3, now() - interval '31 days')`)
	for _, want := range []int{1, 0} {
		if err := s.Tidy(context.Background()); err != nil {
			t.Fatal(err)
		}
		if n := scan[int](t, url, "select count(*) from failures"); n != want {
			t.Errorf("%d left, want %d", n, want)
		}
		pass(25 * time.Hour)
	}
}

// TestMigrateSaysWhatToGrant: where the schema's role may not make the job queue's own
// schema, the error says what helps, and afterwards it goes on.
func TestMigrateSaysWhatToGrant(t *testing.T) {
	t.Parallel()
	_, owner, app := asApp(t, time.Now)
	run(t, owner, "drop schema river cascade")
	err := store.Migrate(ctx, app)
	if err == nil {
		t.Fatal("a role without the right has made the schema")
	}
	_, grant, found := strings.Cut(err.Error(), "run: ")
	if !found {
		t.Fatalf("the error does not say what to do: %v", err)
	}
	run(t, owner, grant)
	if err := store.Migrate(ctx, app); err != nil {
		t.Errorf("after %s: %v", grant, err)
	}
}
