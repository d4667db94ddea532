package progress_test

import (
	"testing"
	"time"

	"drover/game/practice"
	"drover/game/progress"
)

// TestTermSum: both days belong to the term, in the club's own time; a bell of before does not.
func TestTermSum(t *testing.T) {
	t.Parallel()
	zone := time.FixedZone("club", 2*60*60)
	at := func(day, hour int) time.Time { return time.Date(2026, 9, day, hour, 0, 0, 0, time.UTC) }
	d := func(day int) progress.Day { return progress.DayOf(time.Date(2026, 9, day, 0, 0, 0, 0, time.UTC)) }
	r := progress.Record{Now: at(30, 12).In(zone), Played: []progress.Played{
		{Ended: at(1, 21), Seconds: 10, Result: practice.Clean},              // the last hour of the day before the term
		{Ended: at(1, 23), Seconds: 20, Result: practice.Clean},              // the first of the term, in the club
		{Ended: at(10, 12), Seconds: 30, Result: practice.NotWon},            //
		{Ended: at(10, 13), Seconds: 40, Result: practice.OverPar},           //
		{Ended: at(20, 21), Seconds: 50, Result: practice.Clean, Hold: true}, // the last hour of the last day
		{Ended: at(20, 22), Seconds: 60, Result: practice.Clean},             // midnight in the club
	}, Mastery: map[progress.Key]progress.Mastery{
		{Ending: "KQK", Stage: "mate"}: {Mastered: d(1)}, {Ending: "KRK", Stage: "mate"}: {Mastered: d(2)},
		{Ending: "KRK", Stage: "edge"}: {Mastered: d(20)}, {Ending: "KBBK", Stage: "edge"}: {},
	}}
	got := r.Term(d(2), d(20))
	if got.Games != 4 || got.Days != 3 || got.Seconds != 140 || got.Alone != 3 || !got.Holds || len(got.Bells) != 2 ||
		got.Bells[0] != (progress.Key{Ending: "KRK", Stage: "mate"}) {
		t.Errorf("%+v", got)
	}
}
