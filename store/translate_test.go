package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"drover/game"
	"drover/store"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// TestErrorsHaveTheirKinds: what the database says becomes the kind that a page answers with,
// its cause is kept for the log, and none of its words reach a person.
func TestErrorsHaveTheirKinds(t *testing.T) {
	t.Parallel()
	code := func(code string) error {
		return fmt.Errorf("asked: %w", &pgconn.PgError{Code: code, Message: "internal words"})
	}
	own := game.Fail(game.Busy, "Wait a little.")
	for name, c := range map[string]struct {
		err  error
		kind game.Kind
	}{
		"no row":              {fmt.Errorf("asked: %w", pgx.ErrNoRows), game.Missing},
		"a key is there":      {code("23505"), game.Conflict},
		"points to nothing":   {code("23503"), game.Missing},
		"cannot be kept":      {code("22021"), game.Bad},
		"the line broke":      {code("08006"), game.Away},
		"cancelled there":     {code("57014"), game.Away},
		"shut down":           {code("57P01"), game.Away},
		"too many":            {code("53300"), game.Away},
		"no space":            {code("53100"), game.Away},
		"a mistake of ours":   {code("42601"), game.Internal},
		"a check of a column": {code("23514"), game.Internal},
		"nobody waits":        {fmt.Errorf("asked: %w", context.Canceled), game.Internal},
		"anything else":       {errors.New("no route to host"), game.Away},
		"one of our own":      {own, game.Busy},
	} {
		got := store.Translate(c.err)
		if game.KindOf(got) != c.kind || !errors.Is(got, c.err) && !errors.Is(c.err, pgx.ErrNoRows) {
			t.Errorf("%s: kind %v, %v", name, game.KindOf(got), got)
		}
		if said := game.Saying(got); strings.Contains(said, "internal") || strings.Contains(said, "route") {
			t.Errorf("%s: a person reads %q", name, said)
		}
	}
	if err := store.Translate(nil); err != nil {
		t.Errorf("nothing became %v", err)
	}
}
