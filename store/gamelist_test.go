package store_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// listed writes an ended game of the fixture's student with what was done in it and what
// came of its last stage.
func listed(t *testing.T, s *store.Store, f storetest.Fixture, task club.Assignment, try int, ended time.Time,
	o practice.Outcome, acts ...practice.Act) {
	t.Helper()
	o.End = practice.Mated
	acts = append(acts, practice.Act{Kind: practice.Resign, By: f.Student.Person, End: o.End})
	for i := range acts {
		acts[i].Seq, acts[i].At, acts[i].Client = i+1, ended, fmt.Sprint("c", i)
		if acts[i].By == 0 {
			acts[i].By = f.Student.Person
		}
	}
	must1(t, s.Import(ctx, f.Coach, []store.Record{{
		Task: task, Try: try, Began: ended.Add(-time.Minute), Outcome: o,
		State: practice.State{Setup: practice.Setup{Student: f.Student.Person, Mode: task.Drill.Mode}, End: o.End, Acts: acts},
	}}))
}

func mateRow(moves, par, helps int, clean bool) []practice.StageResult {
	return []practice.StageResult{{Stage: ending.Mate, Moves: moves, Bad: 1, Par: par, Helps: helps, Completed: true, Clean: clean}}
}

// TestGamesSayHowTheyWent: of each game how it was helped, who watched, how long it took,
// and of a stage that is asked for how it came to be clean or not.
func TestGamesSayHowTheyWent(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "lines")
	task := f.Finish(t, s, practice.Practice, 3)
	at := time.Now().Add(-time.Hour).Truncate(time.Second)
	hurried := practice.Habitual{practice.Checks: {N: 4, K: 3, Of: 4}}
	helped := mateRow(9, 4, 2, false)
	helped[0].Habits = hurried
	listed(t, s, f, task, 1, at, practice.Outcome{Result: practice.WonHelped, Stages: helped},
		practice.Act{Kind: practice.Watch, By: f.Coach.Person},
		practice.Act{Kind: practice.Help, Stage: ending.Mate, Help: ending.HelpWish, Took: 1_000},
		practice.Act{Kind: practice.Move, Stage: ending.Mate, Cost: 4, Took: 61_400},
		practice.Act{Kind: practice.Move, Stage: ending.Edge, Cost: 7},
		practice.Act{Kind: practice.Back}, practice.Act{Kind: practice.Back}, practice.Act{Kind: practice.Helped})
	listed(t, s, f, task, 2, at.Add(time.Minute), practice.Outcome{Result: practice.Clean, Stages: mateRow(5, 4, 0, true)})
	listed(t, s, f, task, 3, at.Add(2*time.Minute), practice.Outcome{Result: practice.Clean, Stages: mateRow(1, 1, 0, true)})
	list, err := s.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{})
	if err != nil || len(list.Rows) != 4 || list.Rows[0].ID != f.Game || list.Ended != 3 { // the fixture's goes on
		t.Fatalf("%d games, %d ended, the first %d: %v", len(list.Rows), list.Ended, list.Rows[0].ID, err)
	}
	g := list.Rows[3]
	if g.Hints != 1 || g.Backs != 2 || !g.Someone || !g.Watched || g.Seconds != 62 || g.Habits[0][practice.Checks].K != 3 {
		t.Errorf("the game that was helped: %+v", g.GameFacts)
	}
	if g = list.Rows[2]; g.Hints != 0 || g.Backs != 0 || g.Someone || g.Watched || g.Seconds != 0 {
		t.Errorf("the game alone: %+v", g.GameFacts)
	}
	if want := (store.GamesSum{All: 4, Alone: 2, Helped: 1, Watched: 1}); list.Sum != want {
		t.Errorf("counts %+v, want %+v", list.Sum, want)
	}
	list, err = s.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{Ending: "KRK", Stage: ending.Mate})
	if err != nil || len(list.Rows) != 2 || list.Sum.All != 2 || list.Sum.Clean != 1 { // not the one with a par of 1
		t.Fatalf("in the mate: %d games, %+v, %v", len(list.Rows), list.Sum, err)
	}
	if g = list.Rows[1]; g.Dearest != 4 || g.In.Moves != 9 || g.In.Par != 4 || g.In.Helps != 2 || g.In.Bad != 1 || g.In.Clean {
		t.Errorf("its stage: %+v, a move that cost %d", g.In, g.Dearest)
	}
	if list, err = s.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{Ending: "KQK", Stage: ending.Mate}); err != nil ||
		len(list.Rows) != 0 {
		t.Errorf("of another ending: %d, %v", len(list.Rows), err)
	}
}

// TestGamesCountAsTheStageView: by one click from a number of the stage view a coach sees
// the games behind it, not one more or less.
func TestGamesCountAsTheStageView(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "same")
	task := f.Finish(t, s, practice.Practice, 3)
	for i := range 9 {
		ended := time.Now().Add(-time.Duration(i) * 8 * 24 * time.Hour) // the last two are older than eight weeks
		listed(t, s, f, task, i+1, ended, practice.Outcome{Result: practice.Clean, Stages: mateRow(5, 1+i%4, 0, i%2 == 0)})
	}
	refreshed(t, s)
	rows := table(t, s, f).Rows
	for _, row := range rows {
		for _, cell := range row.Cells {
			list, err := s.Games(ctx, f.Coach, row.Student.ID, store.GamesAsk{Ending: cell.Ending, Stage: cell.Stage})
			if err != nil || list.Sum.All != cell.Of || list.Sum.Clean != cell.Clean || len(list.Rows) != cell.Of || cell.Of != 5 {
				t.Errorf("%s of %s: %d games, %+v, and the stage view counts %d of %d: %v", cell.Stage, row.Student.Name,
					len(list.Rows), list.Sum, cell.Clean, cell.Of, err)
			}
		}
	}
}

// TestGamesByDayDrillAndPage: the list is held to days of the club's own calendar, both
// counted, and to a drill at its place on the shelf; no game is lost between two pages.
func TestGamesByDayDrillAndPage(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "pages")
	storetest.Exec(t, url, `update clubs set zone = 'Pacific/Auckland' where id = $1`, f.Coach.Club)
	zone, err := time.LoadLocation("Pacific/Auckland")
	must1(t, err)
	task := f.Finish(t, s, practice.Practice, 3)
	last := time.Date(2026, 4, 5, 12, 0, 0, 0, zone) // the day on which summer time ends there
	for i, at := range []time.Time{last.Add(-37 * time.Hour), time.Date(2026, 4, 5, 0, 0, 0, 0, zone), last,
		time.Date(2026, 4, 6, 0, 0, 0, 0, zone).Add(-time.Second), time.Date(2026, 4, 6, 0, 0, 0, 0, zone)} {
		listed(t, s, f, task, i+1, at, practice.Outcome{Result: practice.Clean, Stages: mateRow(5, 4, 0, true)})
	}
	day := progress.DayOf(last)
	shelf := scan[int64](t, url, `select shelf_id from drills where id = $1`, task.Drill.ID)
	for name, c := range map[string]struct {
		ask  store.GamesAsk
		want int
	}{
		"that day":         {store.GamesAsk{From: day, To: day}, 3},
		"from that day":    {store.GamesAsk{From: day, Shelf: shelf}, 4},
		"to that day":      {store.GamesAsk{To: day}, 4},
		"the drill":        {store.GamesAsk{Shelf: shelf}, 5},
		"no such drill":    {store.GamesAsk{Shelf: 1 << 40}, 0},
		"that day's mates": {store.GamesAsk{From: day, To: day, Ending: "KRK", Stage: ending.Mate}, 3},
	} {
		list, err := s.Games(ctx, f.Coach, f.Student.Person, c.ask)
		if err != nil || len(list.Rows) != c.want || list.Sum.All != c.want || (list.Drill != "") != (c.ask.Shelf == shelf) {
			t.Errorf("%s: %d games, %+v of %q, %v", name, len(list.Rows), list.Sum, list.Drill, err)
		}
	}
	for i := range 3 * store.GamesOnPage / 2 {
		listed(t, s, f, task, i+10, last, practice.Outcome{Result: practice.Clean}) // all at one moment
	}
	seen := map[game.GameID]bool{}
	for page := 1; page <= 3; page++ {
		list, err := s.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{Page: page})
		must1(t, err)
		if page == 3 && (len(list.Rows) != 0 || list.Sum.All != len(seen)) {
			t.Errorf("beyond the last page: %d games of %d, %d seen", len(list.Rows), list.Sum.All, len(seen))
		}
		for _, g := range list.Rows {
			if seen[g.ID] {
				t.Errorf("game %d stands on two pages", g.ID)
			}
			seen[g.ID] = true
		}
	}
	if want := 6 + 3*store.GamesOnPage/2; len(seen) != want {
		t.Errorf("%d games on two pages, want %d", len(seen), want)
	}
}

// TestGamesAreApart: a coach of another club and a substitute of another group see none of
// a student's games, not even their number or the name of a drill.
func TestGamesAreApart(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f, g := storetest.Club(t, s, "one"), storetest.Club(t, s, "other")
	task := f.Finish(t, s, practice.Practice, 3)
	listed(t, s, f, task, 1, time.Now(), practice.Outcome{Result: practice.Clean, Stages: mateRow(5, 4, 0, true)})
	shelf := scan[int64](t, url, `select shelf_id from drills where id = $1`, task.Drill.ID)
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	must1(t, err)
	must1(t, second(s.PutInGroup(ctx, f.Coach, group, []game.PersonID{f.Student2.Person})))
	until := time.Now().Add(time.Hour)
	token, err := s.Invite(ctx, f.Coach, &until, []game.GroupID{group})
	must1(t, err)
	stands, err := s.Join(ctx, token, club.NewCoach{Name: "Per", Email: "per@club.example", Password: "a long sentence for Per"})
	must1(t, err)
	for name, who := range map[string]game.Actor{"another club": g.Coach, "a substitute": stands} {
		for _, ask := range []store.GamesAsk{{}, {Ending: "KRK", Stage: ending.Mate}, {Shelf: shelf}} {
			list, err := s.Games(ctx, who, f.Student.Person, ask)
			if err != nil || len(list.Rows) != 0 || list.Sum.All != 0 || name == "another club" && (list.Drill != "" || list.Ended != 0) {
				t.Errorf("%s sees %d games, %+v of %q, %v", name, len(list.Rows), list.Sum, list.Drill, err)
			}
		}
	}
	if list, err := s.Games(ctx, stands, f.Student2.Person, store.GamesAsk{}); err != nil || len(list.Rows) != 1 {
		t.Errorf("of the own group: %d games, %v", len(list.Rows), err)
	}
}

// TestSpentIsTheGames: the time of the weeks is that of the games in the list, each in the
// week in which it ended; what goes on counts too.
func TestSpentIsTheGames(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "spent")
	task := f.Finish(t, s, practice.Practice, 3)
	for i := range 12 {
		took := practice.Act{Kind: practice.Move, Stage: ending.Mate, Took: 40_700 * (i + 1)}
		listed(t, s, f, task, i+1, time.Now().Add(-time.Duration(i)*90*time.Hour), practice.Outcome{Result: practice.Clean}, took)
	}
	storetest.Exec(t, url, `insert into acts (club_id, game_id, seq, kind, by_id, client_id, took)
		values ($1, $2, 1, 'move', $3, 'x', 90000)`, f.Coach.Club, f.Game, f.Student.Person)
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithSpent)
	must1(t, err)
	list, err := s.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{From: of.Mondays()[0]})
	must1(t, err)
	games, weeks := 0, 0
	for _, g := range list.Rows {
		games += g.Seconds
	}
	for _, w := range of.SpentByWeek() {
		weeks += w.All()
	}
	if games != weeks || games < 90+41 || len(list.Rows) != 13 {
		t.Errorf("%d seconds in %d games, and %d in the weeks", games, len(list.Rows), weeks)
	}
}

// TestSpendingKnowsEveryKind: the database's own list of kinds of games has none whose
// time would go to nothing, but a coach's trial.
func TestSpendingKnowsEveryKind(t *testing.T) {
	t.Parallel()
	_, url := open(t)
	rule := scan[string](t, url, `select pg_get_constraintdef(oid) from pg_constraint where conname = 'games_kind_check'`)
	parts := strings.Split(rule, "'")
	if len(parts) < 11 {
		t.Fatalf("no kinds in %s", rule)
	}
	for i := 1; i < len(parts); i += 2 {
		if _, ok := store.SpendingOf(store.GameKind(parts[i])); ok == (parts[i] == string(store.OfTrial)) {
			t.Errorf("the time of games of kind %s: known %v", parts[i], ok)
		}
	}
}
