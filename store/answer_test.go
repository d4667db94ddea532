package store_test

import (
	"testing"

	"drover/game/progress"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// TestAnswersTakeTurns: an answer to the question of a starting check waits for
// whatever else changes the student's day, so that what it reads of the check is
// true when it is written.
func TestAnswersTakeTurns(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "turns")
	question := []progress.PickedTask{{Code: progress.Question, FEN: storetest.FinishStart, Ending: "KQK"}}
	if err := s.BeginPlacement(ctx, f.Coach, f.Student.Person, question); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	held, err := conn.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := held.Exec(ctx, "select from people where id = $1 for update", f.Student.Person); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- s.AnswerTask(ctx, f.Student, "draw", true) }()
	queued(t, held, 1)
	if len(done) != 0 {
		t.Error("the answer did not wait")
	}
	if err := held.Commit(ctx); err != nil {
		t.Fatal(err)
	}
	if err := <-done; err != nil {
		t.Error(err)
	}
	if p, err := s.LatestPlacement(ctx, f.Student.Club, f.Student.Person); err != nil || p == nil || p.Next() >= 0 {
		t.Errorf("the answer is not there: %+v, %v", p, err)
	}
}
