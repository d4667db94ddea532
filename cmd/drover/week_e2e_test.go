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

// TestCoachsWeek is a week of a coach with 24 children.
func TestCoachsWeek(t *testing.T) {
	b, base, sql := startClass(t)
	b.open(base + "/stages?sort=name")
	t.Log(must[string](b, `[...document.querySelectorAll(".stages tbody tr")].map((r) => r.innerText.replace(/\s+/g, " ")).join("\n")`))
	_ = sql
}
