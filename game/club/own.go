package club

import (
	"drover/game"
)

// Pace is how soon the defender's reply is shown, as a person has chosen it.
type Pace string

// The paces. ClubPace is what the club has set.
const (
	QuickPace  Pace = "quick"
	ClubPace   Pace = "club"
	SlowerPace Pace = "slower"
	SlowPace   Pace = "slow"
)

// paces are the milliseconds of each pace; the club's are its own.
var paces = map[Pace]int{QuickPace: 600, ClubPace: 0, SlowerPace: 1200, SlowPace: 2000}

// Milliseconds is how long a pace lasts; 0 is as long as the club waits.
func (p Pace) Milliseconds() int { return paces[p] }

// PaceOf is the pace of some milliseconds; 0, and what is no pace, is the club's.
func PaceOf(ms int) Pace {
	for p, of := range paces {
		if of == ms {
			return p
		}
	}
	return ClubPace
}

// Scheme is whether the pages are light or dark.
type Scheme string

// The schemes.
const (
	DeviceScheme Scheme = "" // as the device has it
	LightScheme  Scheme = "light"
	DarkScheme   Scheme = "dark"
)

// Own is how a person has the board and the pages. The zero value is how they come.
type Own struct {
	Pace   Pace // empty: the club's
	Sounds bool
	Turned bool // the own men stand at the top
	Big    bool // the signs on the board
	Scheme Scheme
}

// Validate refuses a choice that there is not.
func (o Own) Validate() error {
	if _, known := paces[o.Pace]; !known && o.Pace != "" {
		return game.Fail(game.Bad, "Choose one of the four for how soon he answers.")
	}
	if o.Scheme != DeviceScheme && o.Scheme != LightScheme && o.Scheme != DarkScheme {
		return game.Fail(game.Bad, "Choose light, dark, or as the device.")
	}
	return nil
}
