package site

import (
	"time"

	"drover/game/club"
	"drover/store"
)

// Erasing says how the erasure of a child stands, the same to everybody, and whatever holds it also
// once the day is past.
func Erasing(e store.Erasure, c club.Club, now time.Time) string {
	now = c.Local(now)
	if e.Due == nil {
		return "On " + ShortDay(c.Local(e.Asked), now) + " somebody asked that all about " + e.Name + " be erased. The welfare officer decides."
	}
	return "All will be erased on " + ShortDay(c.Local(*e.Due), now) + ", or in the days after it."
}
