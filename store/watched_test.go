package store_test

import (
	"cmp"
	"fmt"
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// fiveGames plays a test of the rook's mate, with the acts that a log has beside the moves:
// before and after each game's first move.
type fiveGames struct {
	t    *testing.T
	s    *store.Store
	f    storetest.Fixture
	task club.Assignment
}

func (p fiveGames) act(set practice.Setup, seq *int, a practice.Act, o *practice.Outcome) {
	p.t.Helper()
	if *seq++; a.By == 0 {
		a.By = set.Student
	}
	a.Seq = *seq
	a.Client = cmp.Or(a.Client, fmt.Sprint("c", *seq))
	if _, won, err := p.s.Append(ctx, p.f.Coach.Club, set, a, o); err != nil || !won {
		p.t.Fatal(won, err)
	}
}

// game plays the next game of the test, won in the given way.
func (p fiveGames) game(result practice.Result, before, after []practice.Act) game.GameID {
	p.t.Helper()
	id, err := p.s.StartGame(ctx, p.f.Student, p.task.ID)
	if err != nil {
		p.t.Fatal(err)
	}
	set, err := p.s.Setup(ctx, p.f.Coach.Club, id)
	if err != nil {
		p.t.Fatal(err)
	}
	seq := 0
	for _, a := range before {
		p.act(set, &seq, a, nil)
	}
	p.act(set, &seq, practice.Act{Kind: practice.Move, Move: "a1a2", Stage: "mate"}, nil)
	for _, a := range after {
		p.act(set, &seq, a, nil)
	}
	clean := result == practice.Clean
	p.act(set, &seq, practice.Act{Kind: practice.Move, Move: "a2a8", Stage: "mate", End: practice.Mated},
		&practice.Outcome{End: practice.Mated, Result: result, Moves: 2, Par: 2, Stages: []practice.StageResult{
			{Stage: "mate", Moves: 2, Par: 2, Completed: true, Clean: clean}}})
	return id
}

// looks is the act with which a coach's look begins, and away the one that ends it.
func looks(who game.Actor, line string) practice.Act {
	return practice.Act{Kind: practice.Watch, By: who.Person, Client: practice.Line{ID: line}.Begins()}
}

func away(who game.Actor, line string) practice.Act {
	return practice.Act{Kind: practice.Unseen, By: who.Person, Client: practice.Line{ID: line}.Ends()}
}

// TestWatchedTest: a coach who watched each game of a test, from before its first move
// to its end, watched it; one who came late, went or was cut off in one of them did not.
func TestWatchedTest(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		before, after func(f storetest.Fixture, n int) []practice.Act
		cut           bool // the node of the looks is gone before the fourth game ends
		want          []string
	}{
		"nobody": {},
		"the whole test": {before: func(f storetest.Fixture, n int) []practice.Act {
			return []practice.Act{looks(f.Coach, fmt.Sprint("a", n))}
		}, want: []string{"Coach of whole"}},
		"two coaches, one of them not in the last": {before: func(f storetest.Fixture, n int) []practice.Act {
			if n == 4 {
				return []practice.Act{looks(f.Coach2, "b4")}
			}
			return []practice.Act{looks(f.Coach, fmt.Sprint("a", n)), looks(f.Coach2, fmt.Sprint("b", n))}
		}, want: []string{"Helper of whole"}},
		"two coaches": {before: func(f storetest.Fixture, n int) []practice.Act {
			return []practice.Act{looks(f.Coach, fmt.Sprint("a", n)), looks(f.Coach2, fmt.Sprint("b", n))}
		}, want: []string{"Coach of whole", "Helper of whole"}},
		"one after the other": {before: func(f storetest.Fixture, n int) []practice.Act {
			return []practice.Act{looks([]game.Actor{f.Coach, f.Coach2}[n%2], fmt.Sprint("a", n))}
		}},
		"late in the second": {
			before: func(f storetest.Fixture, n int) []practice.Act {
				if n == 1 {
					return nil
				}
				return []practice.Act{looks(f.Coach, fmt.Sprint("a", n))}
			},
			after: func(f storetest.Fixture, n int) []practice.Act {
				if n != 1 {
					return nil
				}
				return []practice.Act{looks(f.Coach, "a1")}
			}},
		"gone in the third": {
			before: func(f storetest.Fixture, n int) []practice.Act {
				return []practice.Act{looks(f.Coach, fmt.Sprint("a", n))}
			},
			after: func(f storetest.Fixture, n int) []practice.Act {
				if n != 2 {
					return nil
				}
				return []practice.Act{away(f.Coach, "a2")}
			}},
		"cut and begun once more": {
			before: func(f storetest.Fixture, n int) []practice.Act {
				return []practice.Act{looks(f.Coach, fmt.Sprint("a", n))}
			},
			after: func(f storetest.Fixture, n int) []practice.Act {
				if n != 3 {
					return nil
				}
				return []practice.Act{looks(f.Coach, "again")}
			}},
		"the node is gone": {before: func(f storetest.Fixture, n int) []practice.Act {
			return []practice.Act{looks(f.Coach, fmt.Sprint("a", n))}
		}, cut: true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, url := open(t)
			f := storetest.Club(t, s, "whole")
			p := fiveGames{t, s, f, f.Finish(t, s, practice.Test, 5)}
			none := func(storetest.Fixture, int) []practice.Act { return nil }
			if c.before == nil {
				c.before = none
			}
			if c.after == nil {
				c.after = none
			}
			for n := range club.TestGames {
				before, after := c.before(f, n), c.after(f, n)
				if c.cut && n == 3 {
					p.endedElsewhere(url, before)
					continue
				}
				p.game(practice.Clean, before, after)
			}
			got := watchers(t, s, f)
			if !slices.Equal(got, c.want) {
				t.Errorf("watched by %q, want %q", got, c.want)
			}
		})
	}
}

// endedElsewhere plays a game that ends on another node, after the one of the looks was killed.
func (p fiveGames) endedElsewhere(url string, before []practice.Act) {
	p.t.Helper()
	node, err := store.Open(ctx, url, time.Now)
	if err != nil {
		p.t.Fatal(err)
	}
	if err := node.Alive(ctx); err != nil {
		p.t.Fatal(err)
	}
	id, err := p.s.StartGame(ctx, p.f.Student, p.task.ID)
	if err != nil {
		p.t.Fatal(err)
	}
	set, err := p.s.Setup(ctx, p.f.Coach.Club, id)
	if err != nil {
		p.t.Fatal(err)
	}
	seq := 0
	killed := fiveGames{p.t, node, p.f, p.task}
	for _, a := range before {
		killed.act(set, &seq, a, nil)
	}
	node.Close()
	storetest.Exec(p.t, url, `update nodes set seen_at = now() - interval '20 seconds'`)
	p.act(set, &seq, practice.Act{Kind: practice.Move, Move: "a1a8", Stage: "mate", End: practice.Mated},
		&practice.Outcome{End: practice.Mated, Result: practice.Clean, Moves: 1, Par: 1, Stages: []practice.StageResult{
			{Stage: "mate", Moves: 1, Par: 1, Completed: true, Clean: true}}})
}

// watchers are those who watched the only test of the fixture's student.
func watchers(t *testing.T, s *store.Store, f storetest.Fixture) []string {
	t.Helper()
	test := onlyTest(t, s, f)
	all, err := s.Watched(ctx, f.Coach.Club, []progress.Sitting{test})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, w := range all[test.Last()] {
		names = append(names, w.Name)
	}
	return names
}

func onlyTest(t *testing.T, s *store.Store, f storetest.Fixture) progress.Sitting {
	t.Helper()
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithMastery)
	if err != nil {
		t.Fatal(err)
	}
	all := progress.Sittings(of.Trials)
	if len(all) != 1 || !all[0].Over() {
		t.Fatalf("the student has sat %+v", all)
	}
	return all[0]
}

// TestNoteWatched: a coach notes afterwards that they watched a test: once, for 14 days, of a
// student whom they may see; within ten minutes it is taken back, and the other's word stays.
func TestNoteWatched(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Now()
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	t.Cleanup(s.Close)
	f, other := storetest.Club(t, s, "noted"), storetest.Club(t, s, "elsewhere")
	until := now.Add(48 * time.Hour)
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	must1(t, err)
	sub := joined(t, s, f, "sub", &until, group)
	p := fiveGames{t, s, f, f.Finish(t, s, practice.Test, 5)}
	var last, fourth game.GameID
	for range club.TestGames {
		fourth, last = last, p.game(practice.Clean, nil, nil)
	}
	kind := func(name string, want game.Kind, who game.Actor, student game.PersonID, id game.GameID) game.ChangeID {
		t.Helper()
		change, err := s.NoteWatched(ctx, who, student, id)
		if got := game.KindOf(err); err != nil && got != want || err == nil && want != 0 {
			t.Errorf("%s: %v", name, err)
		}
		return change
	}
	kind("another club's coach", game.Missing, other.Coach, f.Student.Person, last)
	kind("another student's", game.Missing, f.Coach, f.Student2.Person, last)
	kind("a game in the middle", game.Missing, f.Coach, f.Student.Person, fourth)
	kind("a substitute for others", game.Missing, sub, f.Student.Person, last)
	first := kind("the coach", 0, f.Coach, f.Student.Person, last)
	if again := kind("the coach again", 0, f.Coach, f.Student.Person, last); again != first {
		t.Errorf("sent twice: change %d and %d", first, again)
	}
	if got := watchers(t, s, f); !slices.Equal(got, []string{"Coach of noted"}) {
		t.Errorf("noted: %q", got)
	}
	storetest.Exec(t, url, `insert into members (club_id, group_id, student_id) values ($1, $2, $3)`, f.Coach.Club, group, f.Student.Person)
	second := kind("a substitute for this one", 0, sub, f.Student.Person, last)
	if _, _, err := s.Undo(ctx, f.Coach, first); game.KindOf(err) != game.Conflict {
		t.Errorf("what has changed since is undone: %v", err)
	}
	what, subject, err := s.Undo(ctx, sub, second)
	if err != nil || what != "watched" || game.GameID(subject) != last {
		t.Errorf("undone: %s %d, %v", what, subject, err)
	}
	if got := watchers(t, s, f); !slices.Equal(got, []string{"Coach of noted"}) {
		t.Errorf("after the undo: %q", got)
	}
	now = now.AddDate(0, 0, 15)
	kind("after 15 days", game.Conflict, f.Coach2, f.Student.Person, last)
	if n := scan[int](t, url, `select count(*) from audit where action = 'test watched' and subject_id = $1`, f.Student.Person); n != 2 {
		t.Errorf("the audit has %d of two notes", n)
	}
}

// TestFiveGamesPassIt: a test of five is done when it is passed by the rule of mastery, not
// with the fourth game that is won; the next day begins at its first game again.
func TestFiveGamesPassIt(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "five")
	p := fiveGames{t, s, f, f.Finish(t, s, practice.Test, 5)}
	numbers := func(want int, of game.GameID) {
		t.Helper()
		info, err := s.Game(ctx, f.Coach.Club, of)
		if err != nil || info.InTest != want {
			t.Errorf("game %d of the test is said to be %d (%v)", want, info.InTest, err)
		}
	}
	isDone := func(want bool) {
		t.Helper()
		const q = `select passed_at is not null from assignees where club_id = $1 and assignment_id = $2`
		if got := scan[bool](t, url, q, f.Coach.Club, p.task.ID); got != want {
			t.Errorf("done: %t", got)
		}
	}
	for i, r := range []practice.Result{practice.Clean, practice.OverPar, practice.Clean, practice.OverPar, practice.Clean} {
		numbers(i+1, p.game(r, nil, nil)) // three of five
	}
	isDone(false)
	storetest.Exec(t, url, `update games set ended_at = ended_at - interval '1 day', started_at = started_at - interval '1 day'
		where club_id = $1 and kind = 'drill' and ended_at is not null`, f.Coach.Club)
	for i, r := range []practice.Result{practice.Clean, practice.Clean, practice.Clean, practice.Clean, practice.OverPar} {
		isDone(false)
		id := p.game(r, nil, nil)
		numbers(i+1, id)
		if info, err := s.Game(ctx, f.Coach.Club, id); err != nil || info.Start != i {
			t.Errorf("game %d has start %d (%v)", i+1, info.Start, err)
		}
	}
	isDone(true)
}
