package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"

	"drover/game"
	"drover/store"
	"drover/store/backup"
	"drover/store/private"
)

// restoreCommand puts a backup back.
type restoreCommand struct {
	File string `arg:"" help:"A file that drover backup has written."`
}

// Run restores a backup and says what came back.
func (c restoreCommand) Run(ctx context.Context, std streams) error {
	a, err := beside(std)
	if err != nil {
		return err
	}
	defer a.close()
	f, err := os.Open(c.File) // as whoever runs the program, and not yet as the data folder's user
	if err != nil {
		return fmt.Errorf("open the backup: %w", err)
	}
	defer f.Close()
	b, err := backup.Open(f)
	if err != nil {
		return err
	}
	if err := a.restore(ctx, b); err != nil {
		return err
	}
	return a.tell(ctx, b, std)
}

// restore puts the key back first: rows without it would be served with factors that are dead.
func (a *app) restore(ctx context.Context, b *backup.File) error {
	if len(a.settings.Key) > 0 && !bytes.Equal(a.settings.Key, b.Key) {
		return errors.New("DROVER_KEY is another key than this backup was made with. Set it to the one of then, " +
			"or leave it out: the backup brings its own")
	}
	at, runs, err := a.reach(ctx)
	if err != nil {
		return err
	}
	if runs {
		return fmt.Errorf("a Drover runs on the data folder %s. Stop it first, or choose another folder with DROVER_DATA", a.settings.Data)
	}
	if err := store.Vacant(ctx, at.Owner); err != nil {
		return err
	}
	if len(a.settings.Key) == 0 {
		if err := private.KeepKey(a.settings.Data, b.Key); err != nil {
			return err
		}
	}
	return b.Restore(ctx, at.Owner)
}

// tell says in one screen what came back.
func (a *app) tell(ctx context.Context, b *backup.File, std streams) error {
	at, _, err := a.reach(ctx)
	if err != nil {
		return err
	}
	clubs, err := backup.Clubs(ctx, at.Owner)
	if err != nil {
		return err
	}
	fmt.Fprintf(std.out, "Restored as it was on %s:\n", b.At.Format("Monday 2 January 2006, 15:04 UTC"))
	for _, c := range clubs {
		fmt.Fprintf(std.out, "  %s: %s, %s, %s, %s\n", c.Name, count(c.Students, "student"), count(c.Guardians, "guardian"),
			count(c.Groups, "group"), count(c.Games, "game"))
	}
	fmt.Fprint(std.out, "\nCards, links, passwords and second factors work as they did then, and everybody signs in again.\n"+
		"What was changed later is not in it: stop again the links, cards and coaches that were stopped since then.\n"+
		"Now start the site with drover serve.\n")
	return nil
}

func count(n int64, word string) string { return game.Count(int(n), word) }
