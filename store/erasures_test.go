package store_test

import (
	"fmt"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// confirmed has a child's erasure asked for by a guardian and decided by the club's officer, or
// by the owner where there is none.
func confirmed(t *testing.T, s *store.Store, f storetest.Fixture) int64 {
	t.Helper()
	must1(t, s.AskErasure(ctx, f.Guardian, f.Student.Person))
	decides := officerOf(s, f.Coach.Club)
	if decides.Person == 0 {
		decides = f.Coach
	}
	list, err := s.Erasures(ctx, decides)
	must1(t, err)
	for _, e := range list {
		if e.Student == f.Student.Person && e.Role == game.Guardian {
			must1(t, s.ConfirmErasure(ctx, decides, e.ID))
			return e.ID
		}
	}
	t.Fatalf("nobody asked: %+v", list)
	return 0
}

// due moves the clock of an erasure by its seven days.
func due(t *testing.T, url string) {
	t.Helper()
	storetest.Exec(t, url, `update erasures set due_at = due_at - interval '7 days'`)
}

// planted is a nickname that stands nowhere else.
const planted = "Quillfeather"

// plant gives the fixture's child that nickname, and writes it wherever adults can write.
func plant(t *testing.T, s *store.Store, url string, f storetest.Fixture) {
	t.Helper()
	who := f.Student.Person
	storetest.Exec(t, url, `update people set name = $3 where club_id = $1 and id = $2`, f.Coach.Club, who, planted)
	session, _, err := s.SignIn(ctx, f.Coach)
	must1(t, err)
	must1(t, second(s.KeepDraft(ctx, session, map[string]string{"name": planted})))
	must1(t, second(s.ReplaceCard(ctx, f.Coach, who, store.Sent{Session: session, Form: []byte("a form about " + planted)})))
	must1(t, second(s.ReplaceLink(ctx, f.Coach, who, f.Guardian.Person, store.Sent{Session: session})))
	for _, q := range []string{
		`insert into changes (club_id, at, by_id, what, subject_id, before) values ($1, now(), @coach, 'student', @who, '{"name": "@name"}')`,
		`insert into changes (club_id, at, by_id, what, subject_id, before) values ($1, now(), @coach, 'group', 77, '{"name": "For @name"}')`,
		`update drills set name = '@name again: rook' where club_id = $1`,
		`insert into groups (club_id, name) values ($1, 'With @name')`, `insert into groups (club_id, name) values ($1, '@name')`,
		`insert into holidays (club_id, from_on, to_on, name) values ($1, '2026-12-01', '2026-12-01', 'Birthday of @name')`,
		`update plans set title = '@name and the rest' where club_id = $1`,
		`update people set name = 'Mother of @name' where club_id = $1 and role = 'guardian'`,
		`update consents set given_by = 'Mother of @name' where club_id = $1`,
		`insert into term_reports (club_id, student_id, title, from_on, to_on, remark, by_id, at)
			values ($1, @who, 'Autumn of @name', '2026-09-01', '2026-12-01', '@name works well', @coach, now())`,
		`insert into term_reports (club_id, student_id, title, from_on, to_on, remark, by_id, at)
			values ($1, @other, 'Autumn', '2026-09-01', '2026-12-01', 'Plays well with @NAME.', @coach, now())`,
		`insert into concerns (club_id, student_id, by_id, at, words, opened_at, opened_by, closed_at, closed_by)
			values ($1, @who, @who, now(), 'I am @name', now(), @coach, now(), @coach)`,
		`insert into concern_notes (club_id, concern_id, by_id, at, words) select club_id, id, @coach, now(), 'Spoke with @name' from concerns
			where club_id = $1 and words like '%@name%'`,
		`insert into reasons (club_id, by_id, student_id, at, until_at, words) values ($1, @coach, @who, now(), now(), 'To see @name')`,
		`update overviews set said = '{"Next": null, "note": "@name"}' where club_id = $1 and student_id = @who`,
	} {
		q = strings.NewReplacer("@name", planted, "@NAME", strings.ToUpper(planted), "@who", fmt.Sprint(who), "@coach", fmt.Sprint(f.Coach.Person),
			"@other", fmt.Sprint(f.Student2.Person)).Replace(q)
		storetest.Exec(t, url, q, f.Coach.Club)
	}
}

// dumped is a plain-text dump of the whole database, the job queue too, by PostgreSQL's own
// program.
func dumped(t *testing.T, url string) string {
	t.Helper()
	out, err := exec.Command("pg_dump", "--inserts", url).Output()
	must1(t, err)
	return string(out)
}

// TestNothingIsLeft: after an erasure, by the app's own role, a plain-text dump has the child's
// nickname nowhere, no column points at the child or at a guardian who has no other child, and
// the counts of groups are right. The other children have what they had.
func TestNothingIsLeft(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := full(t, s, url, time.Now())
	elsewhere := storetest.Club(t, s, "elsewhere")
	before := dump(t, url, elsewhere.Coach.Club)
	plant(t, s, url, f)
	storetest.Exec(t, url, `insert into river.river_job (args, kind, max_attempts, queue, state)
		select jsonb_build_object('club', $1::bigint, 'student', s), 'overview', 5, 'default', 'available'
		from unnest(array[$2, $3]::bigint[]) t(s)`, f.Coach.Club, f.Student.Person, f.Student2.Person)
	if n := strings.Count(strings.ToLower(dumped(t, url)), strings.ToLower(planted)); n < 15 {
		t.Fatalf("the nickname is planted in %d places", n)
	}
	members := scan[int](t, url, `select count(*) from members where club_id = $1`, f.Coach.Club)
	games := scan[int](t, url, `select count(*) from games where club_id = $1 and student_id = $2`, f.Coach.Club, f.Student2.Person)
	id := confirmed(t, s, f)
	due(t, url)
	storetest.Exec(t, url, `update concerns set opened_at = now(), opened_by = by_id, closed_at = now(), closed_by = by_id`)
	for more := true; more; {
		var err error
		more, err = s.EraseDue(ctx)
		must1(t, err)
	}

	for i, line := range strings.Split(dumped(t, url), "\n") {
		if strings.Contains(strings.ToLower(line), strings.ToLower(planted)) {
			t.Errorf("line %d of the dump: %.300s", i, line)
		}
	}
	pointsAtNobody(t, url, f.Coach.Club, f.Student.Person)
	pointsAtNobody(t, url, f.Coach.Club, f.Guardian.Person)
	if n := scan[int](t, url, `select count(*) from members where club_id = $1`, f.Coach.Club); n != members-1 {
		t.Errorf("%d members, before %d", n, members)
	}
	if n := scan[int](t, url, `select count(*) from games where club_id = $1 and student_id = $2`, f.Coach.Club, f.Student2.Person); n != games {
		t.Errorf("the other child has %d games, before %d", n, games)
	}
	if n := scan[int](t, url, `select count(*) from river.river_job where kind = 'overview' and (args->>'student')::bigint = $1`,
		f.Student2.Person); n == 0 {
		t.Error("the job about the other child is gone")
	}
	if n := scan[int](t, url, `select count(*) from audit where action = 'erased' and subject_id = $1 and detail = $2`,
		f.Student.Person, fmt.Sprintf("erasure %d", id)); n != 1 {
		t.Errorf("the audit has it %d times", n)
	}
	if after := dump(t, url, elsewhere.Coach.Club); fmt.Sprint(after) != fmt.Sprint(before) {
		t.Error("something of another club has changed")
	}
	if more, err := s.EraseDue(ctx); err != nil || more {
		t.Errorf("once more: %t, %v", more, err)
	}
}

// pointers are the columns that point at people: by a foreign key, and those that need none.
func pointers(t *testing.T, url string) []string {
	t.Helper()
	return scan[[]string](t, url, `select array_agg(distinct c.conrelid::regclass || '.' || a.attname)
			|| array['stage_results.student_id', 'acts.by_id', 'attended.subject_id', 'shown.subject_id']
		from pg_constraint c
		join pg_attribute a on a.attrelid = c.conrelid and a.attnum = c.conkey[2]
		where c.contype = 'f' and c.confrelid = 'people'::regclass`)
}

// pointsAtNobody looks through all columns that point at people.
func pointsAtNobody(t *testing.T, url string, c game.ClubID, who game.PersonID) {
	t.Helper()
	for _, p := range pointers(t, url) {
		table, column, _ := strings.Cut(p, ".")
		where := ""
		if table == "attended" {
			where = " and kind not in ('late', 'plan')"
		}
		if table == "shown" {
			where = " and kind in ('card', 'link', 'sheet')"
		}
		q := fmt.Sprintf(`select count(*) from %s where club_id = $1 and %s = $2`+where, table, column)
		if n := scan[int](t, url, q, c, who); n != 0 {
			t.Errorf("%d rows of %s point at %d", n, p, who)
		}
	}
	if n := scan[int](t, url, `select count(*) from people where club_id = $1 and id = $2`, c, who); n != 0 {
		t.Errorf("%d is there", who)
	}
}

// TestErasedNamesEveryTable: whatever points at people says what an erasure does to it.
func TestErasedNamesEveryTable(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	for _, p := range pointers(t, url) {
		table, _, _ := strings.Cut(p, ".")
		if store.Erased[table] == "" {
			t.Errorf("%s points at people, and store.Erased does not name %s", p, table)
		}
	}
}

// TestErasesOnlyWhatIsConfirmedAndDue: not what is asked for, not what waits, not what was
// stopped, and not while a concern about the child is open; and the app's own role can neither
// move a date nor delete an act or a person otherwise.
func TestErasesOnlyWhatIsConfirmedAndDue(t *testing.T) {
	t.Parallel()
	s, url, app := asApp(t, time.Now)
	f := storetest.Club(t, s, "waits")
	stays := func(why string) {
		t.Helper()
		if more, err := s.EraseDue(ctx); err != nil || more || scan[int](t, url, `select count(*) from people where id = $1`, f.Student.Person) != 1 {
			t.Errorf("%s: %t, %v", why, more, err)
		}
	}
	must1(t, s.AskErasure(ctx, f.Coach2, f.Student.Person))
	must1(t, s.AskErasure(ctx, f.Guardian, f.Student.Person)) // once more, which changes nothing
	stays("asked for")
	list, err := s.Erasures(ctx, f.Coach)
	if err != nil || len(list) != 1 || list[0].Role != game.Coach {
		t.Fatalf("%+v, %v", list, err)
	}
	must1(t, s.ConfirmErasure(ctx, f.Coach, list[0].ID))
	stays("confirmed")
	if e, err := s.Erasing(ctx, f.Coach.Club, f.Student.Person); err != nil || e.By != "" || e.Due.Sub(*e.Confirmed) != 7*24*time.Hour {
		t.Errorf("what a guardian is told: %+v, %v", e, err)
	}
	for _, q := range []string{
		`update erasures set due_at = now()`, `update erasures set confirmed_at = now() - interval '8 days'`,
		`insert into erasures (club_id, student_id, asked_by, confirmed_by, confirmed_at, due_at) select club_id, id, id, id, now(), now() from people`,
		`delete from erasures`, `delete from acts`, `insert into erased (hash) values ('x')`, `delete from erased`,
		`select erase_rows(1, '{1}')`, `select erasure_held(1, 1)`,
	} {
		if err := try(t, app, q); err == nil || !strings.Contains(err.Error(), "42501") {
			t.Errorf("the app: %s: %v", q, err)
		}
	}
	must1(t, s.StopErasureOf(ctx, f.Guardian, f.Student.Person))
	must1(t, s.StopErasureOf(ctx, f.Guardian, f.Student.Person)) // as if the other guardian had been first
	due(t, url)
	stays("stopped")
	if err := s.ConfirmErasure(ctx, f.Coach, list[0].ID); game.KindOf(err) != game.Conflict {
		t.Errorf("what was stopped is confirmed: %v", err)
	}
	confirmed(t, s, f)
	due(t, url)
	storetest.Exec(t, url, `insert into concerns (club_id, student_id, by_id, at, words) values ($1, $2, $2, now(), '')`, f.Coach.Club, f.Student.Person)
	stays("a concern is open")
	storetest.Exec(t, url, `update concerns set closed_at = now(), closed_by = by_id`)
	if more, err := s.EraseDue(ctx); err != nil || !more {
		t.Errorf("the concern is closed: %t, %v", more, err)
	}
}

// TestWhoMayErase: a guardian asks for the own child alone, and decides nothing; where the club
// has an officer, the owner decides nothing either.
func TestWhoMayErase(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "rights")
	other := storetest.Club(t, s, "other")
	for who, err := range map[string]error{
		"another's child": s.AskErasure(ctx, f.Guardian2, f.Student.Person),
		"another club's":  s.AskErasure(ctx, f.Coach, other.Student.Person),
		"a coach's":       s.AskErasure(ctx, f.Coach, f.Coach2.Person),
		"to stop it":      s.StopErasureOf(ctx, f.Guardian2, f.Student.Person),
	} {
		if game.KindOf(err) != game.Missing {
			t.Errorf("%s: %v", who, err)
		}
	}
	must1(t, s.AskErasure(ctx, f.Guardian, f.Student.Person))
	id := scan[int64](t, url, `select id from erasures`)
	for who, a := range map[string]game.Actor{"a guardian": f.Guardian, "a coach": f.Coach2, "the child": f.Student} {
		if err := s.ConfirmErasure(ctx, a, id); game.KindOf(err) != game.Denied {
			t.Errorf("%s confirms: %v", who, err)
		}
	}
	if err := s.ConfirmErasure(ctx, other.Coach, id); game.KindOf(err) != game.Missing {
		t.Errorf("another club's owner: %v", err)
	}
	officer := scan[game.PersonID](t, url, `insert into people (club_id, role, name) values ($1, 'welfare', 'Officer') returning id`, f.Coach.Club)
	if err := s.ConfirmErasure(ctx, f.Coach, id); game.KindOf(err) != game.Denied {
		t.Errorf("the owner beside an officer: %v", err)
	}
	must1(t, s.ConfirmErasure(ctx, game.Actor{Club: f.Coach.Club, Person: officer, Role: game.Welfare}, id))
}

// TestSiblingsStay: a guardian of two children stays with the other one.
func TestSiblingsStay(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "siblings")
	storetest.Exec(t, url, `insert into guardians (club_id, guardian_id, student_id) values ($1, $2, $3)`,
		f.Coach.Club, f.Guardian.Person, f.Student2.Person)
	confirmed(t, s, f)
	due(t, url)
	must1(t, second(s.EraseDue(ctx)))
	wards, err := s.Wards(ctx, f.Guardian)
	if err != nil || len(wards) != 1 || wards[0].ID != f.Student2.Person {
		t.Errorf("%+v, %v", wards, err)
	}
	if n := scan[int](t, url, `select count(*) from erased`); n != 1 {
		t.Errorf("%d marks", n)
	}
}

// TestErasedOnce: of two nodes one dies before the database has heard its word, or before it has
// heard the answer; the other finds the rest to do or nothing, and all is done once.
func TestErasedOnce(t *testing.T) {
	t.Parallel()
	for _, pass := range []bool{false, true} {
		url := storetest.URL(t)
		wire := storetest.NewWire(t, url)
		wire.At, wire.Pass = "erase_next", pass
		dies, err := store.Open(ctx, wire.URL, time.Now)
		must1(t, err)
		lives, err := store.Open(ctx, url, time.Now)
		must1(t, err)
		t.Cleanup(func() { dies.Close(); lives.Close() })
		f := storetest.Club(t, lives, "once")
		confirmed(t, lives, f)
		due(t, url)
		must1(t, dies.Ready(ctx))
		wire.Cut.Store(1)
		if _, err := dies.EraseDue(ctx); err == nil {
			t.Fatal("the line was not cut")
		}
		var both sync.WaitGroup
		for _, s := range []*store.Store{lives, lives, dies} {
			both.Go(func() {
				for {
					if more, err := s.EraseDue(ctx); err != nil || !more {
						return
					}
				}
			})
		}
		both.Wait()
		if n := scan[int](t, url, `select count(*) from audit where action = 'erased'`); n != 1 {
			t.Errorf("erased %d times", n)
		}
	}
}

// TestWhoLeftGoes: a child who left longer ago than the club keeps it is erased, unless a concern
// is open.
func TestWhoLeftGoes(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "left")
	storetest.Exec(t, url, `update people set archived_at = now() - interval '11 months' where id = $1`, f.Student.Person)
	if more, err := s.EraseDue(ctx); err != nil || more {
		t.Errorf("after eleven months: %t, %v", more, err)
	}
	storetest.Exec(t, url, `update people set archived_at = now() - interval '13 months' where id = $1`, f.Student.Person)
	if more, err := s.EraseDue(ctx); err != nil || !more {
		t.Errorf("after thirteen months: %t, %v", more, err)
	}
	pointsAtNobody(t, url, f.Coach.Club, f.Student.Person)
}

// TestErasedList is read as it was written, adds up, and forgives a line that was cut short.
func TestErasedList(t *testing.T) {
	t.Parallel()
	one, two := strings.Repeat("0a", 32), strings.Repeat("ff", 32)
	a, err := store.ReadErasedList("# a word\n" + one + "\ngreatest people_id_seq 41\ngreatest people_id_seq 40\n0a0a#\n0b")
	if err != nil || len(a.Hashes) != 1 || a.Greatest["people_id_seq"] != 41 {
		t.Fatalf("%+v, %v", a, err)
	}
	b, err := store.ReadErasedList(two + "\ngreatest people_id_seq 50\n")
	must1(t, err)
	if more := b.Beyond(a); more != two+"\ngreatest people_id_seq 50\n" {
		t.Errorf("%q", more)
	}
	a.Add(b)
	again, err := store.ReadErasedList(a.Text())
	if err != nil || fmt.Sprint(again) != fmt.Sprint(a) || b.Beyond(a) != "" {
		t.Errorf("%+v, %v", again, err)
	}
	for _, bad := range []string{"a letter\n", "0a\n", "greatest people_id_seq many\n"} {
		if _, err := store.ReadErasedList(bad); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
}

// TestGivenErasedList: a list that somebody gives by hand has its first line and nothing is
// missing at its end; what a node writes is that, also after a line that was cut.
func TestGivenErasedList(t *testing.T) {
	t.Parallel()
	one, two := strings.Repeat("0a", 32), strings.Repeat("ff", 32)
	head := store.ErasedList{}.Text()
	for text, n := range map[string]int{
		head: 0, head + one + "\n": 1, head + one + "\n" + two: 2, head + "0a0a#\n" + one + "\n# the end\n": 1,
		"# Who was er#\n" + head + one + "\ngreatest people_id_seq 41\n": 1,
	} {
		if l, err := store.GivenErasedList(text); err != nil || len(l.Hashes) != n {
			t.Errorf("%q: %+v, %v", text, l, err)
		}
	}
	for text, want := range map[string]string{
		"": "list is empty", "\n": "list is empty", one + "\n": "first line does not begin with", "a letter\n": "first line does not begin with",
		head[:20]: "cut short", head + one + "\n" + two[:63]: "The last line is cut short: ",
		head + one + "\ngreatest people_id_seq 41": "cut short", head + "a letter\n": "line 2 is none",
	} {
		if l, err := store.GivenErasedList(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %+v, %v", text, l, err)
		}
	}
}

// TestNoNumberTwice: after a list was heeded, nobody gets a number that an erased person had.
func TestNoNumberTwice(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "numbers")
	f.Played(t, s, f.Finish(t, s, practice.Test, 1), 0, 1, practice.Clean, time.Now(), 60)
	mark := scan[string](t, url, `select encode(sha256(mark), 'hex') from people where id = $1`, f.Student.Person)
	list := store.ErasedList{Hashes: map[string]bool{mark: true},
		Greatest: map[string]int64{"people_id_seq": 9000, "student_numbers": 7000, "acts_no_such": 1}}
	said := 0
	must1(t, store.EraseListed(ctx, url, list, func(n int) { said = n }))
	pointsAtNobody(t, url, f.Coach.Club, f.Student.Person)
	id := scan[int](t, url, `insert into people (club_id, role, name, number) values ($1, 'student', 'New', nextval('student_numbers')) returning id`, f.Coach.Club)
	number := scan[int](t, url, `select number from people where id = $1`, id)
	if said != 2 || id != 9001 || number != 7001 {
		t.Errorf("%d erased; the next is %d with the number %d", said, id, number)
	}
}
