package work_test

import (
	"context"
	"log/slog"
	"os"
	"testing"
	"time"

	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
	"drover/store/work"
)

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

// crew works off the jobs of a database until the test ends.
func crew(t *testing.T, s *store.Store, url string) {
	t.Helper()
	c, err := work.Start(t.Context(), url, s, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		short, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := c.Stop(short); err != nil {
			t.Error(err)
		}
	})
}

// shows waits until the stage view shows as many games of the student's mate.
func shows(t *testing.T, s *store.Store, f storetest.Fixture, games int) {
	t.Helper()
	within, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		table, err := s.StageTable(within, f.Coach, store.StageAsk{Page: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range table.Rows {
			if row.Student.ID == f.Student.Person && len(row.Cells) > 0 && row.Cells[0].Of == games {
				return
			}
		}
		<-tick.C
	}
}

func opened(t *testing.T) (*store.Store, string) {
	t.Helper()
	url := storetest.URL(t)
	s, err := store.Open(t.Context(), url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, url
}

// TestJobsFollowGames: the stage view shows a game once its job is done, also games of
// before the crew began, on two nodes at once.
func TestJobsFollowGames(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "follow")
	task := f.Finish(t, s, practice.Practice, 6)
	played := func(start int) {
		f.Played(t, s, task, start, 1, practice.Clean, time.Now().Add(-time.Minute), 20)
	}
	played(0)
	crew(t, s, url)
	crew(t, s, url)
	shows(t, s, f, 1)
	for i := 1; i < 6; i++ {
		played(i)
	}
	shows(t, s, f, 6)
}

// TestKilledNodesJobsAreDone: a job that a node had begun when it was killed is done by
// another one within a minute.
func TestKilledNodesJobsAreDone(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "killed")
	task := f.Finish(t, s, practice.Practice, 3)
	f.Played(t, s, task, 0, 1, practice.Clean, time.Now().Add(-time.Minute), 20)
	storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, stuck, said)
		select club_id, id, now(), false, '{}' from people where role = 'student'`) // so that none is old
	storetest.Exec(t, url, `update river.river_job set state = 'running', attempt = 1, attempted_by = array['killed'],
		attempted_at = now() - interval '20 seconds' where kind = 'overview'`)
	crew(t, s, url)
	shows(t, s, f, 1)
}

// TestOldOverviewsAreRefreshed: a club that was there before has its overviews soon after
// the program starts.
func TestOldOverviewsAreRefreshed(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "before")
	task := f.Finish(t, s, practice.Practice, 3)
	f.Played(t, s, task, 0, 1, practice.Clean, time.Now().Add(-time.Minute), 20)
	storetest.Exec(t, url, `delete from river.river_job`)
	crew(t, s, url)
	shows(t, s, f, 1)
}
