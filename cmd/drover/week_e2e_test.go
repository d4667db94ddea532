package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

// startClass is the demo's club with 24 children: the twelve who are there, and as many more,
// who have played the same games. sql asks its database.
func startClass(t *testing.T) (b *tab, base string, sql func(query string, into ...any)) {
	t.Helper()
	dir := openDir(t)
	links := startDemo(t, "TMPDIR="+dir)
	found, err := filepath.Glob(filepath.Join(dir, "drover-demo-*"))
	if err != nil || len(found) != 1 {
		t.Fatalf("the folder of the demo: %v, %v", found, err)
	}
	sql = func(query string, into ...any) { t.Helper(); sqlAt(t, found[0], query, into...) }
	b = newTab(t, 1280, 900)
	b.open(links["Coach Ilse"])
	b.at("/since")
	base = must[string](b, "location.origin")
	var table strings.Builder
	table.WriteString("nickname\twording\tgroups\tguardian\tdate of consent\n")
	for i, name := range []string{"Ada", "Bjarne", "Cleo", "Dag", "Elin", "Finn", "Greta", "Hal", "Ida", "Jon", "Kaia", "Leif"} {
		fmt.Fprintf(&table, "%s\t8\tFriday\tGrown-up %d\t24.11.2025\n", name, i)
	}
	b.open(base + "/students/many")
	b.fill(map[string]string{"text": table.String()})
	b.click(`[value="look"]`)
	b.sees("12 students can be added.")
	b.click(`[name="signed"]`)
	b.click(`[value="add"]`)
	b.sees("12 students added.")
	copyGames(sql)
	return b, base, sql
}

// copyGames lets each of the new children have played what one of the others has: games, their
// stages and moves, and what is said of them.
func copyGames(sql func(query string, into ...any)) {
	const of = `(select n.id as student, o.id as seed, n.no as copy, (select max(id) from games) as step
		from (select id, row_number() over (order by id) as no from people where role = 'student' and id > @) n
		join (select id, row_number() over (order by id) as no from people where role = 'student' and id <= @) o
			on o.no = (n.no - 1) % 12 + 1) c`
	var last int64
	sql(`select max(student_id) from games where kind <> 'trial'`, &last)
	sql(`select max(id) from (select id from people where role = 'student' order by id limit 12) p`, &last)
	pairs := strings.ReplaceAll(of, "@", fmt.Sprint(last))
	sql(`create table copies as select c.* from ` + pairs)
	for _, row := range [][2]string{
		{"assignees", ""}, {"games", `, 'id', o.id + c.copy * c.step`}, {"stage_results", `, 'game_id', o.game_id + c.copy * c.step`},
		{"overviews", ""},
	} {
		sql(fmt.Sprintf(`insert into %[1]s select r.* from copies c join %[1]s o on o.student_id = c.seed,
			jsonb_populate_record(o, jsonb_build_object('student_id', c.student%[2]s)) r on conflict do nothing`, row[0], row[1]))
	}
	sql(`insert into acts select r.* from copies c join games g on g.student_id = c.seed join acts o on o.game_id = g.id,
		jsonb_populate_record(o, jsonb_build_object('game_id', o.game_id + c.copy * c.step, 'by_id',
			case when o.by_id = c.seed then c.student else o.by_id end)) r`)
	var n int64
	sql(`select setval(pg_get_serial_sequence('games', 'id'), max(id)) from games`, &n)
	sql(`drop table copies`)
}

// walker counts what somebody clicks, and names each.
type walker struct {
	*tab
	clicks []string
}

// does clicks, and says what for.
func (w *walker) does(what, selector string) {
	w.Helper()
	w.click(selector)
	w.clicks = append(w.clicks, what)
}

// TestCoachsWeek is a week of a coach with 24 children: all that waits is given, put off or
// made in at most twenty clicks and no typing, which leaves half a minute for each in ten
// minutes; then the page says that nothing waits.
func TestCoachsWeek(t *testing.T) {
	b, base, sql := startClass(t)
	sql(`update keys set expires_at = now() + interval '3 days' where kind = 'report' and person_id = (
		select g.guardian_id from guardians g join people p on p.id = g.student_id where p.name = 'Runa')`)
	w := &walker{tab: b}
	w.open(base + "/since")
	w.does("what comes next", ".next-link a")
	w.at("/next")
	w.does("give all of it", ".page-head .go")
	w.wait(`location.search.includes("given")`)
	w.does("what else waits", `.head nav a[href="/since"]`)
	w.at("/since")
	for range 40 {
		do := must[string](b, `document.querySelector('.since-lines li .since-acts > :first-child')?.innerText.trim() ?? ''`)
		if do == "" {
			break
		}
		w.line(strings.Split(do, "\n")[0])
	}
	w.sees("Nothing waits for you.")
	w.does("the stage view", `.head nav a[href="/stages"]`)
	w.at("/stages")
	w.does("the games behind a number", `.stages tbody a.bars`)
	w.wait(`location.hash === "#games" && document.querySelectorAll(".pupil-games a").length > 0`)
	w.back()
	w.at("/stages")
	t.Logf("%d clicks:\n%s", len(w.clicks), strings.Join(w.clicks, "\n"))
	if len(w.clicks) > 20 {
		t.Errorf("a week takes %d clicks", len(w.clicks))
	}
}

// line does what the first line asks for, or puts it off.
func (w *walker) line(do string) {
	w.Helper()
	const first = ".since-lines li:first-child "
	say := must[string](w.tab, `document.querySelector('.since-lines h3').innerText`)
	gone := fmt.Sprintf(`!document.querySelector('.since-lines h3') || document.querySelector('.since-lines h3').innerText !== %q`, say)
	switch do {
	case "Make the cards":
		w.does(do, first+".since-acts a")
		w.at("/cards")
		w.does("make them", `form[action="/cards"] .go`)
		w.wait(`location.pathname === "/cards/sheet" && document.querySelectorAll(".sheet").length > 0`)
		w.does("back", `.head nav a[href="/since"]`)
		w.at("/since")
	case "Renew it":
		w.does(do+": "+say, first+"form:first-child button")
	default:
		w.does("not now: "+say, first+"form[action='/since/later'] button")
	}
	w.wait("location.pathname === '/since' && document.readyState === 'complete' && (" + gone + ")")
}

// TestCoachSeesHowItWent is journeys six, seven and eight from the coach's chair: one child
// moves to and fro, one stalemates again and again, and one is helped at home. Each is named by
// what it is, with its counts and a drill, and nobody is accused.
func TestCoachSeesHowItWent(t *testing.T) {
	links := startDemo(t)
	b := newTab(t, 1280, 900)
	b.open(links["Coach Ilse"])
	b.at("/since")
	base := must[string](b, "location.origin")
	open := func(name string) {
		t.Helper()
		b.open(base + "/stages?find=" + name)
		b.click(".stages tbody th a")
		b.at("/students/")
	}

	b.open(base + "/stages?find=Nell")
	b.sees("Moves that come no nearer")
	open("Nell")
	b.sees("Moves that come no nearer (rook): ")
	b.sees("With hardly more moves than are needed, each one must have an aim.")
	b.click(".pupil-games tbody a")
	b.at("/games/")
	b.sees("nearer")

	b.open(base + "/stages?find=Rasmus")
	b.sees("queen, stalemates")
	if at := must[[]string](b, `[...document.querySelectorAll('.stages tbody .weak')].map((a) => new URL(a.href).searchParams.get('stage'))`); len(at) != 1 || at[0] != "mate" {
		t.Errorf("fails at %v", at) // and not at the edge
	}
	open("Rasmus")
	b.sees("Stalemate keeps happening.")
	b.click(".next-drill .go")
	b.at("/drills/new")
	if kind := must[string](b, `document.querySelector('[name="kind"]:checked, select[name="kind"]').value`); kind != "trap" {
		t.Errorf("the drill that is offered has starts of the kind %q", kind)
	}

	open("Sol")
	b.sees("With help: 3.")
	page := must[string](b, `document.querySelector('main').innerText`)
	for _, never := range []string{"cheat", "suspicious", "dishonest", "engine"} {
		if strings.Contains(strings.ToLower(page), never) {
			t.Errorf("the page says %q", never)
		}
	}
}
