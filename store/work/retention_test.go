package work_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"drover/game/practice"
	"drover/store/storetest"
	"drover/store/work"

	"github.com/jackc/pgx/v5"
)

// TestRetentionOnTwoNodes: old games go while two nodes work and one of them is cut off in the
// middle; what a test came to is kept once for each of them.
func TestRetentionOnTwoNodes(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "old")
	task := f.Finish(t, s, practice.Test, 1)
	f.Played(t, s, task, 0, 1, practice.Clean, time.Now().Add(-time.Minute), 20)
	storetest.Exec(t, url, `insert into games (club_id, student_id, drill_id, start_no, try, kind, counts, side, ending, start_fen, mode,
			stage_from, target, defender, seed, backs, allowance, started_at, ended_at, "end", result, moves)
		select club_id, student_id, drill_id, 0, 100 + n, 'drill', true, side, ending, start_fen, 'test',
			stage_from, target, defender, seed, backs, allowance, now() - interval '3 years', now() - interval '3 years', 'mate', 'clean', 9
		from games, generate_series(1, 900) n
		where ended_at is not null and club_id = $1`, f.Coach.Club)
	first, err := work.Start(t.Context(), url, s, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	crew(t, s, url)
	over, cut := context.WithCancel(t.Context())
	cut()
	_ = first.Stop(over) // it does not end what it had begun
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(t.Context()))
	within, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for old, kept := 1, 0; old > 0; <-tick.C {
		const q = `select (select count(*) from games where ended_at < now() - interval '2 years'), (select count(*) from kept_trials)`
		if err := conn.QueryRow(within, q).Scan(&old, &kept); err != nil {
			t.Fatal(err)
		}
		if old+kept != 900 {
			t.Fatalf("%d old games and %d that are kept of 900", old, kept)
		}
	}
}
