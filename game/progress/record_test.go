package progress_test

import (
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// now is a Wednesday at noon.
var now = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

var mateKey = progress.Key{Ending: "KRK", Stage: ending.Mate}

// tried makes tries of a day: w is won, l not won, p the last part.
func tried(day progress.Day, results string) []progress.Try {
	var out []progress.Try
	for i, r := range results {
		out = append(out, progress.Try{Day: day, Start: i, Won: r == 'w', Part: r == 'p'})
	}
	return out
}

// set is a task of the rook's ending.
func set(id game.AssignmentID, m practice.Mode) progress.Task {
	d := club.Drill{Ending: "KRK", From: ending.Edge, To: ending.Mate, Mode: m,
		Starts: []string{"8/8/8/4k3/8/8/8/4K2R w - - 0 1"}}
	return progress.Task{Assignment: club.Assignment{ID: id, Drill: d}}
}

// dueIn makes a task due in some days.
func dueIn(task progress.Task, days int) progress.Task {
	day := time.Date(now.Year(), now.Month(), now.Day()+days, 0, 0, 0, 0, time.UTC)
	task.Due = &day
	return task
}

// TestItems: what a student has to do, in order: what is due within two
// days, the starting check, re-checks, what
// was set; three things at the most, and enough for today where it is enough.
func TestItems(t *testing.T) {
	t.Parallel()
	today := progress.DayOf(now)
	check := &progress.Placement{Tasks: make([]progress.PlacementTask, 2)}
	due := func(last progress.Day, missed bool) map[progress.Key]progress.Mastery {
		return map[progress.Key]progress.Mastery{mateKey: {Due: today, Last: last, Missed: missed, Mastered: 1}}
	}
	tries := func(results string) []progress.TaskTries {
		return []progress.TaskTries{{Assignment: set(1, practice.Practice).Assignment, Tries: tried(today, results)}}
	}
	for name, c := range map[string]struct {
		of   progress.Record
		want []progress.Item
	}{
		"nothing": {progress.Record{}, nil},
		"a check comes first": {
			progress.Record{Placement: check, Mastery: due(today-21, false), Tasks: []progress.Task{set(1, practice.Practice),
				set(2, practice.Practice)}},
			[]progress.Item{{Kind: progress.PlacementItem}, {Kind: progress.RecheckItem}, {Kind: progress.TaskItem}, {Kind: progress.TaskItem}},
		},
		"due in two days, before a check": {
			progress.Record{Placement: check, Tasks: []progress.Task{set(1, practice.Practice), dueIn(set(2, practice.Practice), 2)}},
			[]progress.Item{{Kind: progress.TaskItem}, {Kind: progress.PlacementItem}, {Kind: progress.TaskItem}},
		},
		"due in three days, after it": {
			progress.Record{Placement: check, Tasks: []progress.Task{dueIn(set(2, practice.Practice), 3)}},
			[]progress.Item{{Kind: progress.PlacementItem}, {Kind: progress.TaskItem}},
		},
		"overdue for long": {
			progress.Record{Placement: check, Tasks: []progress.Task{dueIn(set(1, practice.Practice), -8), dueIn(set(2, practice.Practice), -7)}},
			[]progress.Item{{Kind: progress.TaskItem}, {Kind: progress.PlacementItem}, {Kind: progress.TaskItem}},
		},
		"overdue, but enough for today": {
			progress.Record{Placement: check, Tasks: []progress.Task{dueIn(set(1, practice.Practice), -1)}, Seconds: 1200},
			[]progress.Item{{Kind: progress.PlacementItem}, {Kind: progress.TaskItem, Offer: progress.EnoughToday, Rests: true}},
		},
		"a re-check tomorrow": {progress.Record{Mastery: map[progress.Key]progress.Mastery{mateKey: {Due: today + 1}}}, nil},
		"checked today":       {progress.Record{Mastery: due(today, false)}, nil},
		"missed today":        {progress.Record{Mastery: due(today, true)}, []progress.Item{{Kind: progress.RecheckItem}}},
		"a re-check goes on": {
			progress.Record{Rechecks: map[progress.Key]string{mateKey: "a start"}, Mastery: due(today, false), Seconds: 3600},
			[]progress.Item{{Kind: progress.RecheckItem, GoesOn: true}},
		},
		"twenty minutes": {
			progress.Record{Mastery: due(today-21, false), Tasks: []progress.Task{set(1, practice.Practice)}, Seconds: 1200},
			[]progress.Item{{Kind: progress.RecheckItem, Rests: true}, {Kind: progress.TaskItem, Offer: progress.EnoughToday,
				Rests: true}},
		},
		"three not won": {
			progress.Record{Tasks: []progress.Task{set(1, practice.Practice)}, Tries: tries("lll")},
			[]progress.Item{{Kind: progress.TaskItem, Offer: progress.LastPart}},
		},
		"five tries": {
			progress.Record{Tasks: []progress.Task{set(1, practice.Practice)}, Tries: tries("wlwlw")},
			[]progress.Item{{Kind: progress.TaskItem, Offer: progress.EnoughToday, Rests: true}},
		},
		"one of two rests": {
			progress.Record{Tasks: []progress.Task{set(1, practice.Practice), set(2, practice.Practice)}, Tries: tries("wlwlw")},
			[]progress.Item{{Kind: progress.TaskItem}, {Kind: progress.TaskItem, Offer: progress.EnoughToday, Rests: true}},
		},
		"the last part goes on": {
			progress.Record{Tasks: []progress.Task{set(1, practice.Practice)}, Tries: tries("lll"),
				Parts: map[game.AssignmentID]game.GameID{1: 7}},
			[]progress.Item{{Kind: progress.TaskItem, Offer: progress.LastPart, GoesOn: true}},
		},
	} {
		c.of.Now = now
		got := c.of.Items()
		if len(got) != len(c.want) {
			t.Errorf("%s: %d things, want %d", name, len(got), len(c.want))
			continue
		}
		for i, item := range got {
			if w := c.want[i]; item.Kind != w.Kind || item.Offer != w.Offer || item.GoesOn != w.GoesOn || item.Rests != w.Rests {
				t.Errorf("%s, thing %d: %+v, want %+v", name, i+1, item, w)
			}
		}
	}
}

// TestUnderWay: the last part of an assignment is gone on with before a try of it.
func TestUnderWay(t *testing.T) {
	t.Parallel()
	open := set(1, practice.Practice)
	open.OpenGame = 5
	of := progress.Record{Tasks: []progress.Task{open, set(2, practice.Practice)}}
	for task, want := range map[game.AssignmentID]game.GameID{1: 5, 2: 0, 3: 0} {
		if got := of.UnderWay(task); got != want {
			t.Errorf("assignment %d: game %d, want %d", task, got, want)
		}
	}
	of.Parts = map[game.AssignmentID]game.GameID{1: 9}
	if got := of.UnderWay(1); got != 9 {
		t.Errorf("with a last part: game %d", got)
	}
}

// TestStuckNamesItsDrill: three tries in a row that were not won are said, with the
// drill that helps; a win in between is not stuck.
func TestStuckNamesItsDrill(t *testing.T) {
	t.Parallel()
	of := progress.Record{Now: now, Tries: []progress.TaskTries{
		{Assignment: set(1, practice.Practice).Assignment, Tries: tried(1, "lllp")},
		{Assignment: set(2, practice.Practice).Assignment, Tries: tried(1, "llwl")},
	}}
	got := of.Overview().Stuck
	if len(got) != 1 || got[0].Lost != 3 || got[0].Help == nil || got[0].Help.From != ending.Mate {
		t.Errorf("%+v", got)
	}
	if p, ok := of.Next(); !ok || p.From != ending.Mate || p.Ending != "KRK" {
		t.Errorf("next %+v, %v", p, ok)
	}
}

// TestLastPlayed: what a guardian is told follows how the last game went.
func TestLastPlayed(t *testing.T) {
	t.Parallel()
	lost := progress.Played{Ending: "KRK", Result: practice.NotWon, Failed: ending.Edge, End: practice.Stalemate}
	for name, c := range map[string]struct {
		played []progress.Played
		kind   progress.LastPlayedKind
		times  int
	}{
		"no game":       {nil, progress.NothingYet, 0},
		"won":           {[]progress.Played{lost, {Ending: "KRK", Result: practice.Clean}}, progress.GameWon, 0},
		"won with help": {[]progress.Played{{Ending: "KRK", Result: practice.WonHelped}}, progress.GameWon, 0},
		"held":          {[]progress.Played{{Ending: "KPK", Hold: true, Result: practice.Clean}}, progress.DrawHeld, 0},
		"not held": {[]progress.Played{{Ending: "KPK", Hold: true, Result: practice.NotWon, End: practice.LetGo}},
			progress.DrawNotHeld, 0},
		"hold left": {[]progress.Played{{Ending: "KPK", Hold: true, Result: practice.NotWon, End: practice.Abandoned}},
			progress.Unfinished, 0},
		"left": {[]progress.Played{{Ending: "KRK", Result: practice.NotWon, End: practice.Abandoned}},
			progress.Unfinished, 0},
		"lost once": {[]progress.Played{lost}, progress.Lost, 1},
		"lost again": {[]progress.Played{lost, {Ending: "KQK", Result: practice.NotWon, Failed: ending.Edge}, lost},
			progress.Lost, 2},
	} {
		if got := (progress.Record{Played: c.played}).LastPlayed(); got.Kind != c.kind || c.kind == progress.Lost &&
			got.Times != c.times {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// TestWeek adds up the games since Monday in the club's own time.
func TestWeek(t *testing.T) {
	t.Parallel()
	zone := time.FixedZone("ten hours ahead", 10*60*60)
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, zone).UTC() }
	of := progress.Record{Now: now.In(zone), Played: []progress.Played{
		{Ended: at(22, 23), Seconds: 600, Result: practice.Clean}, // Sunday
		{Ended: at(23, 1), Seconds: 60, Result: practice.Clean},
		{Ended: at(23, 20), Seconds: 30, Result: practice.WonHelped},
		{Ended: at(25, 9), Seconds: 90, Result: practice.OverPar, Hold: true},
	}}
	want := progress.Week{Games: 3, Days: [7]int{90, 0, 90}, On: 2, Alone: 2, Seconds: 180, Holds: true}
	if got := of.Week(); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// TestMarksAt: what was mastered after a day was not mastered on it, and a stage
// where there was next to nothing to do draws no mark.
func TestMarksAt(t *testing.T) {
	t.Parallel()
	edge := progress.Key{Ending: "KRK", Stage: ending.Edge}
	of := progress.Record{Now: now,
		Mastery: map[progress.Key]progress.Mastery{mateKey: {Mastered: progress.DayOf(now) - 3}}}
	for i := range 5 {
		ended := now.AddDate(0, 0, -10*i)
		of.Stages = append(of.Stages, progress.StagePlayed{Ending: "KRK", Stage: ending.Edge, Ended: ended, Par: 6,
			Clean: i < 3},
			progress.StagePlayed{Ending: "KRK", Stage: ending.Centralise, Ended: ended, Par: 1, Clean: true})
	}
	is, was := of.Marks(), of.MarksAt(now.AddDate(0, 0, -25))
	if is[mateKey] != progress.Mastered || was[mateKey] != progress.NotBegun || is[edge] != progress.Reached ||
		was[edge] != progress.InWork || is[progress.Key{Ending: "KRK", Stage: ending.Centralise}] != progress.NotBegun {
		t.Errorf("now %v, then %v", is, was)
	}
}

// TestDiagnosisOfARecord: losses in one stage are named, with their counts; games from
// before the window say nothing, and too few say how many are missing.
func TestDiagnosisOfARecord(t *testing.T) {
	t.Parallel()
	lost := 1 // the stage in which the win goes
	record := func(games int, ended time.Time) progress.Record {
		of := progress.Record{Now: now, Student: club.Person{ID: game.PersonID(games)}}
		for g := range games {
			for i, stage := range []ending.Stage{ending.Centralise, ending.Edge, ending.Mate} {
				p := progress.StagePlayed{Ending: "KRK", Stage: stage, Ended: ended.Add(time.Duration(g) * time.Minute),
					Game: game.GameID(g), Moves: 10, Par: 5}
				p.Made, p.Offered = []int{9, 1, 0, 0, 0, 0}, []int{2000, 2000, 2000, 2000, 1000, 1000}
				if i == lost {
					p.Bad, p.Made = 7, []int{2, 1, 3, 2, 1, 1}
				}
				of.Stages = append(of.Stages, p)
			}
		}
		return of
	}
	for i, stage := range []ending.Stage{ending.Centralise, ending.Edge, ending.Mate} {
		lost = i
		d := record(10, now.AddDate(0, 0, -2)).Diagnosis()
		if len(d.Fails) != 1 || !d.FailsAt(progress.Key{Ending: "KRK", Stage: stage}) {
			t.Errorf("lost in %s: %+v", stage, d)
		}
		if f := d.First; f == nil || f.Ending != "KRK" || f.Habit != "" || f.Stage != stage || f.K != 70 || f.N != 100 {
			t.Errorf("first to teach where %s is lost: %+v", stage, f)
		}
	}
	lost = 1
	d := record(10, now.AddDate(0, 0, -2)).Diagnosis()
	if len(d.Fails) != 1 || !d.FailsAt(progress.Key{Ending: "KRK", Stage: ending.Edge}) {
		t.Fatalf("%+v", d)
	}
	if d := record(2, now.AddDate(0, 0, -2)).Diagnosis(); len(d.Fails) > 0 || d.First != nil || d.Missing == 0 {
		t.Errorf("two games: %+v", d)
	}
	if d := record(10, now.AddDate(0, 0, -80)).Diagnosis(); len(d.Fails) > 0 || d.First != nil || d.Missing == 0 {
		t.Errorf("games of long ago: %+v", d)
	}
}

// TestDiagnosisLooksBack: the last twenty games of an ending are weighed, and those of the
// last eight weeks.
func TestDiagnosisLooksBack(t *testing.T) {
	t.Parallel()
	games := func(n int, first time.Time, apart time.Duration) progress.Record {
		of := progress.Record{Now: now}
		for g := range n {
			for _, stage := range []ending.Stage{ending.Centralise, ending.Edge, ending.Mate} {
				p := progress.StagePlayed{Ending: "KRK", Stage: stage, Ended: first.Add(time.Duration(g) * apart),
					Game: game.GameID(g), Moves: 10, Par: 5}
				p.Made, p.Offered = []int{9, 1, 0, 0, 0, 0}, []int{2000, 2000, 2000, 2000, 1000, 1000}
				if stage == ending.Edge {
					p.Bad, p.Made = 7, []int{2, 1, 3, 2, 1, 1}
				}
				of.Stages = append(of.Stages, p)
			}
		}
		return of
	}
	for name, c := range map[string]struct {
		of    progress.Record
		moves int
	}{
		"nineteen games":           {games(19, now.AddDate(0, 0, -2), time.Minute), 190},
		"twenty games":             {games(20, now.AddDate(0, 0, -2), time.Minute), 200},
		"twenty-five games":        {games(25, now.AddDate(0, 0, -2), time.Minute), 200},
		"one eight weeks ago":      {games(10, now.AddDate(0, 0, -56), time.Hour), 90},
		"one just after that time": {games(10, now.AddDate(0, 0, -56).Add(time.Second), time.Hour), 100},
	} {
		if w := c.of.Diagnosis().First; w == nil || w.N != c.moves {
			t.Errorf("%s: %+v, want %d moves", name, w, c.moves)
		}
	}
}
