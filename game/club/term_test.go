package club_test

import (
	"testing"
	"time"

	"drover/game/club"
)

// TestTermEnd: a term ends with a 31 January or a 31 July, thirty days away or more, at
// midnight where the club is.
func TestTermEnd(t *testing.T) {
	t.Parallel()
	oslo, err := time.LoadLocation("Europe/Oslo")
	if err != nil {
		t.Fatal(err)
	}
	for today, want := range map[string]string{
		"2026-11-26": "2027-02-01", "2027-01-01": "2027-02-01", "2027-01-02": "2027-08-01", "2027-01-31": "2027-08-01",
		"2027-02-01": "2027-08-01", "2027-07-01": "2027-08-01", "2027-07-02": "2028-02-01", "2026-12-31": "2027-02-01",
		"2026-08-01": "2027-02-01",
	} {
		for _, hour := range []int{0, 23} {
			end := club.TermEnd(dayAt(t, today, hour))
			if got := end.Format(time.DateTime); got != want+" 00:00:00" {
				t.Errorf("%s at %d: %s, want %s", today, hour, got, want)
			}
		}
	}
	end := club.TermEnd(time.Date(2027, 3, 1, 12, 0, 0, 0, oslo))
	if got := end.UTC().Format(time.RFC3339); got != "2027-07-31T22:00:00Z" {
		t.Errorf("in Oslo it ends at %s", got)
	}
}
