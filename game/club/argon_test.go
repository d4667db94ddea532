package club_test

import (
	"context"
	"errors"
	"testing"

	"drover/game"
	"drover/game/club"
)

// TestStrangersDoNotHoldUpTheKnown: with all places of strangers taken, the next
// stranger is refused at once, and a browser that knows its person has its turn
// (OWASP ASVS 5.0, 11.4.2: a bound on what hashing may cost).
func TestStrangersDoNotHoldUpTheKnown(t *testing.T) {
	t.Parallel()
	strangers := game.NewQueue(2, 8, "Come back.")
	defer strangers.Fill()()
	if _, err := club.HashPassword(t.Context(), strangers, "a field of heather"); game.KindOf(err) != game.Busy {
		t.Errorf("one stranger too many is answered %v", err)
	}
	if _, err := club.HashPassword(t.Context(), club.Known, "a field of heather"); err != nil {
		t.Error(err)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	nobodysTurn := game.NewQueue(0, 1, "Come back.")
	if _, err := club.HashPassword(gone, nobodysTurn, "a field of heather"); !errors.Is(err, context.Canceled) {
		t.Errorf("who has gone is answered %v", err)
	}
	if ok, err := club.VerifyPassword(t.Context(), club.Known, "", "anything"); ok || err != nil {
		t.Errorf("nobody's password matches: %v, %v", ok, err)
	}
}
