package store_test

import (
	"strings"
	"testing"

	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// TestPagesReadByIndex: every query of the pages over what grows, the acts, games and
// stages of games, can be answered by an index. The planner is told to avoid reading a
// whole table, so that it does so only where nothing else is possible.
func TestPagesReadByIndex(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "plans")
	task := f.Finish(t, s, practice.Practice, 3)
	db, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close(ctx)
	if _, err := db.Exec(ctx, "set enable_seqscan = off"); err != nil {
		t.Fatal(err)
	}
	type query struct {
		sql  string
		args []any
	}
	var asked []query
	pages, _, end, err := s.Counted(ctx, func(sql string, args []any) { asked = append(asked, query{sql, args}) })
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	c, p := f.Coach.Club, f.Student.Person
	must1(t, second(pages.StageTable(ctx, f.Coach, store.StageAsk{Page: 1})))
	must1(t, second(pages.Failures(ctx, f.Coach, 0)))
	must1(t, second(pages.HoldsView(ctx, f.Coach, store.StageAsk{})))
	must1(t, second(pages.Roster(ctx, c, store.RosterAsk{Page: 1})))
	must1(t, second(pages.Shelf(ctx, f.Coach, store.ShelfAsk{Page: 1})))
	must1(t, second(pages.DrillProgress(ctx, f.Coach, f.Drill.ID)))
	must1(t, second(pages.StudentFile(ctx, c, p)))
	must1(t, second(pages.Games(ctx, f.Coach, p, store.GamesAsk{})))
	must1(t, second(pages.Game(ctx, c, f.Game)))
	must1(t, second(pages.Load(ctx, c, f.Game, 0)))
	must1(t, second(pages.TriesAt(ctx, f.Student, task.ID)))
	must1(t, second(pages.RecordOf(ctx, c, p, everything...)))
	plans := 0
	for _, q := range asked {
		if !strings.HasPrefix(q.sql, "select") {
			continue
		}
		rows, err := db.Query(ctx, "explain "+q.sql, q.args...)
		if err != nil {
			t.Fatalf("%s: %v", q.sql, err)
		}
		lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			t.Fatalf("%s: %v", q.sql, err)
		}
		plans++
		for _, line := range lines {
			for _, table := range []string{"acts", "games", "stage_results"} {
				if strings.Contains(line, "Seq Scan on "+table+" ") {
					t.Errorf("%s is read as a whole:\n%s\n%s", table, q.sql, strings.Join(lines, "\n"))
				}
			}
		}
	}
	if plans < 20 {
		t.Errorf("only %d plans were read", plans)
	}
}
