package game_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"drover/game"
)

// TestKindOf: the kind comes through any wrapping; an error of another make is
// internal.
func TestKindOf(t *testing.T) {
	t.Parallel()
	for _, kind := range []game.Kind{game.Internal, game.Bad, game.Denied, game.Missing, game.Conflict, game.Busy,
		game.Away, game.Gone} {
		err := fmt.Errorf("outer: %w", game.Wrap(kind, "Try again.", io.EOF))
		if game.KindOf(err) != kind || !errors.Is(err, io.EOF) {
			t.Errorf("kind %d came back as %d: %v", kind, game.KindOf(err), err)
		}
		if game.KindOf(game.Fail(kind, "Try again.")) != kind {
			t.Errorf("kind %d", kind)
		}
	}
	if game.KindOf(io.EOF) != game.Internal || game.KindOf(nil) != game.Internal {
		t.Error("an error of another make must be internal")
	}
}

// TestSaying: a person sees the sentence and nothing of the cause; an internal
// error's own text reaches nobody.
func TestSaying(t *testing.T) {
	t.Parallel()
	cause := errors.New("password=hunter2")
	shown := game.Wrap(game.Away, "The database is away. Try again in a minute.", cause)
	if got := game.Saying(shown); got != "The database is away. Try again in a minute." {
		t.Errorf("said %q", got)
	}
	if got := shown.Error(); !strings.Contains(got, "database is away") || !strings.Contains(got, cause.Error()) {
		t.Errorf("logged %q", got)
	}
	for _, err := range []error{cause, game.Wrap(game.Internal, "secret", cause), fmt.Errorf("x: %w", cause)} {
		if got := game.Saying(err); strings.Contains(got, "secret") || strings.Contains(got, "hunter2") ||
			!strings.HasSuffix(got, "try again.") {
			t.Errorf("said %q", got)
		}
	}
	if got := game.Fail(game.Bad, "Choose another.").Error(); got != "Choose another." {
		t.Errorf("logged %q", got)
	}
}
