package club_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"drover/game/club"
)

func on(day string) time.Time {
	t, _ := time.Parse(time.DateOnly, day) // the days are constants
	return t
}

// TestHolidays: nothing is due in a holiday; what would be comes on the first day after it,
// and after the next one where the two touch.
func TestHolidays(t *testing.T) {
	t.Parallel()
	all := []club.Holiday{{From: on("2026-12-21"), To: on("2027-01-03"), Name: "Winter"},
		{From: on("2027-01-04"), To: on("2027-01-04"), Name: "Staff day"}, {From: on("2027-05-17"), To: on("2027-05-17"), Name: "May"}}
	for day, want := range map[string]string{
		"2026-12-20": "2026-12-20", "2026-12-21": "2027-01-05", "2027-01-03": "2027-01-05", "2027-01-05": "2027-01-05",
		"2027-05-17": "2027-05-18",
	} {
		if got := club.AfterHolidays(on(day), all); !got.Equal(on(want)) {
			t.Errorf("%s: %s, want %s", day, got.Format(time.DateOnly), want)
		}
		if err := club.ValidateHolidays(on(day), all); (err == nil) != (day == want) {
			t.Errorf("%s: %v", day, err)
		}
	}
}

// TestSettings: a club's settings are tidied, and each field that is wrong is said.
func TestSettings(t *testing.T) {
	t.Parallel()
	good := func() club.Settings {
		return club.Settings{Name: " Harbour  Lane ", Zone: "Europe/Oslo"}
	}
	s := good()
	if err := s.Validate(); err != nil || s.Name != "Harbour Lane" {
		t.Errorf("%+v, %v", s, err)
	}
	for field, change := range map[string]func(*club.Settings){
		"name": func(s *club.Settings) { s.Name = "" }, "zone": func(s *club.Settings) { s.Zone = "Nowhere" },
		"outside": func(s *club.Settings) { s.Outside = strings.Repeat("x", 401) },
		"holidays": func(s *club.Settings) {
			s.Holidays = []club.Holiday{{From: on("2027-01-02"), To: on("2027-01-01"), Name: "Back"}}
		},
	} {
		s := good()
		change(&s)
		err := s.Validate()
		var p club.Problems
		if !errors.As(err, &p) || p[field] == "" || len(p) != 1 {
			t.Errorf("%s: %v", field, p)
		}
	}
}
