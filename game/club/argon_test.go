package club_test

import (
	"context"
	"errors"
	"testing"

	"drover/game"
	"drover/game/club"
)

// TestStrangersDoNotHoldUpTheKnown: with all slots of strangers taken, a browser
// that knows its person has its turn.
func TestStrangersDoNotHoldUpTheKnown(t *testing.T) {
	strangers := game.NewQueue(2, 8, "Come back.")
	defer strangers.Fill()()
	if _, err := club.HashPassword(t.Context(), club.Known, "a field of heather"); err != nil {
		t.Error(err)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := club.HashPassword(gone, strangers, "a field of heather"); !errors.Is(err, context.Canceled) {
		t.Errorf("who has gone is answered %v", err)
	}
	if ok, err := club.CheckPassword(t.Context(), club.Known, "", "anything"); ok || err != nil {
		t.Errorf("nobody's password matches: %v, %v", ok, err)
	}
}
