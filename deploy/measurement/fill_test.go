package main

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

// TestClubsHaveTheirShape: a small filling has the students and acts that were asked for,
// spread over a year; a copied student has the games, acts, stages and bells of the one who
// played, and each log runs without a gap; and the stage view can be read from it.
func TestClubsHaveTheirShape(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	judge := ending.NewJudge(solver.NewTables())
	st := storetest.New(t, time.Now)
	root, err := pgx.Connect(ctx, storetest.Address(st))
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close(ctx)
	f := filling{store: st, root: root, judge: judge}
	const students, acts = 24, 4800
	c, err := f.clubs(ctx, students, acts)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.coaches) != 6 || c.person == 0 || c.ended == 0 || c.open == 0 || !strings.HasPrefix(c.sizes, "24 students") {
		t.Errorf("the club is %+v", c)
	}
	for _, q := range []struct{ what, sql string }{
		{"as many acts as were asked for", `count(*) between 4800 and 7000 from acts where club_id = 2`},
		{"games in nearly every week", `count(distinct date_trunc('week', ended_at)) > 45 from games where club_id = 2`},
		{"no game in the future", `max(started_at) <= now() and max(ended_at) <= now() from games`},
		{"logs without a gap", `bool_and(n = top) from (select count(*) n, max(seq) top from acts group by game_id) g`},
		{"ended games with acts", `count(*) = 0 from games g where ended_at is not null
			and not exists (select from acts a where a.club_id = g.club_id and a.game_id = g.id)`},
		{"everybody with a game under way", `count(distinct student_id) = 24 from games
			where club_id = 2 and ended_at is null`},
		{"a copy as the one who played", `count(distinct sizes) < count(*) from (select p.id,
			(select count(*) from games g where g.club_id = 2 and g.student_id = p.id) || ' ' ||
			(select count(*) from acts a where a.club_id = 2 and a.by_id = p.id) || ' ' ||
			(select count(*) from stage_results r where r.club_id = 2 and r.student_id = p.id) || ' ' ||
			(select count(*) from bells b where b.club_id = 2 and b.student_id = p.id) as sizes
			from people p where p.club_id = 2 and p.role = 'student') s`},
	} {
		var so bool
		if err := root.QueryRow(ctx, "select "+q.sql).Scan(&so); err != nil || !so {
			t.Errorf("%s: %v, %v", q.what, so, err)
		}
	}
	if table, err := st.StageTable(ctx, game.Actor{Club: 2}, store.StageAsk{Page: 1}); err != nil || table.Total != students || len(table.Rows) == 0 ||
		len(table.Rows[0].Cells) == 0 {
		t.Errorf("%d students and %d rows in the stage view, %v", table.Total, len(table.Rows), err)
	}
}

// TestScriptsAreLong: the players' moves are known for as long as a game can go on, and
// each is legal and keeps the game going.
func TestScriptsAreLong(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	judge := ending.NewJudge(solver.NewTables())
	all, err := scripts(ctx, judge, 2)
	if err != nil || len(all) != 2 {
		t.Fatalf("%d scripts, %v", len(all), err)
	}
	for _, s := range all {
		state, err := practice.Begin(s.setup)
		for i := 0; err == nil && i < len(s.moves); i++ {
			state, err = practice.Apply(ctx, judge, state, practice.Command{Do: practice.Move, ID: "m", Ply: 2 * i,
				Move: s.moves[i], Took: 2000, By: s.setup.Student, At: time.Now()})
		}
		if err != nil || len(s.moves) != length || state.End != "" || state.Gone {
			t.Errorf("%s: %d moves, end %q, gone %v, %v", s.setup.Start, len(s.moves), state.End, state.Gone, err)
		}
	}
}

// TestMeterReadsThisProcess: the processor time of a process that works grows, and its
// memory is not nothing.
func TestMeterReadsThisProcess(t *testing.T) {
	t.Parallel()
	pid := os.Getpid()
	before, err := family(pid)
	for after := before; err == nil && after <= before; { // to look is to work
		after, err = family(pid)
	}
	if err != nil {
		t.Fatal(err)
	}
	if n, err := resident(pid); err != nil || n < 1<<20 {
		t.Errorf("%d bytes, %v", n, err)
	}
}

// TestUnknownPartIsRefused: a part that is not there is named with those that are.
func TestUnknownPartIsRefused(t *testing.T) {
	t.Parallel()
	if _, err := choose([]string{"moves", "nothing"}); err == nil || !strings.Contains(err.Error(), "sockets") {
		t.Errorf("%v", err)
	}
	if got, err := choose([]string{"stage", "moves"}); err != nil || len(got) != 2 || got[0].name != "stage" {
		t.Errorf("%v, %v", got, err)
	}
}

// TestTableMarksWhatWasMissed: a figure that misses its goal stands out.
func TestTableMarksWhatWasMissed(t *testing.T) {
	t.Parallel()
	var tab table
	tab.add("a", "%d", 1)
	tab.judge(true, "5", "b", "%d", 4)
	tab.judge(false, "5", "c", "%d", 6)
	var out strings.Builder
	tab.print(&out)
	want := "\n| what | figure | goal |\n|---|---|---|\n| a | 1 |  |\n| b | 4 | 5 |\n| c | **6** | 5: missed |\n"
	if out.String() != want {
		t.Errorf("%q", out.String())
	}
}
