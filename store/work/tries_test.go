package work_test

import (
	"testing"
	"time"

	"drover/store"
	"drover/store/work"
)

// TestMailIsTriedSoonAgain: while the server cannot be reached a mail is tried every few minutes,
// for as long as it is kept, and then never again.
func TestMailIsTriedSoonAgain(t *testing.T) {
	t.Parallel()
	r := rounds(t, "away", 0)
	r.post.Port = 1 // where nobody listens
	r.officer("sol")
	if err := r.store.Tell(t.Context(), r.f.Student, r.f.Student.Person, ""); err != nil {
		t.Fatal(err)
	}
	tries, waited := 0, time.Duration(0)
	for waited <= 24*time.Hour {
		tries++
		wait := work.LetterWait(tries)
		if wait <= 0 || wait > 10*time.Minute {
			t.Fatalf("after %d tries it waits %s", tries, wait)
		}
		waited += wait
	}
	if most := (store.LetterJob{}).InsertOpts().MaxAttempts; tries >= most {
		t.Errorf("%d tries in a day, and it is given up after %d", tries, most)
	}
	r.later(24*time.Hour + time.Second)
	r.node()
	r.ended(store.LetterConcern, store.LetterLate, 1)
	r.until(`select count(*) from river.river_job where kind = 'letter' and state = 'completed'`, 1)
}
