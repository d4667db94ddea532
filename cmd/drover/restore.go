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
	File         string `arg:"" help:"A file that drover backup has written."`
	Erased       string `help:"The list of who was erased: erased.txt of a data folder, or the .erased file of the latest backup, not of this one."`
	NoErasedList bool   `help:"Nobody was erased since this backup, or no later list is left."`
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
	since, err := c.list()
	if err != nil {
		return err
	}
	if c.Erased != "" {
		fmt.Fprintf(std.out, "The list names %s who were erased.\n", folk(int64(len(since.Hashes))))
	}
	since.Add(b.Erased)
	if err := a.restore(ctx, b, since, std); err != nil {
		return err
	}
	return a.tell(ctx, b, std)
}

// list reads the list that the line names. It must name one, or say that there is none: without
// it children who were erased would come back, and nobody would notice.
func (c restoreCommand) list() (store.ErasedList, error) {
	if (c.Erased == "") == !c.NoErasedList {
		return store.ErasedList{}, misuse("Say who was erased since this backup: --erased FILE with the latest list (erased.txt of a data folder, or " +
			"the .erased file of the latest backup), or --no-erased-list if nobody was.")
	}
	if c.NoErasedList {
		return store.ReadErasedList("")
	}
	text, err := os.ReadFile(c.Erased)
	if err != nil {
		return store.ErasedList{}, fmt.Errorf("read the list of who was erased: %w", err)
	}
	return store.GivenErasedList(string(text))
}

// restore puts the key back first: rows without it would be served with factors that are dead.
func (a *app) restore(ctx context.Context, b *backup.File, since store.ErasedList, std streams) error {
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
	here, err := a.erasedBefore()
	if err != nil {
		return err
	}
	if err := addErased(a.settings.Data, since, here); err != nil {
		return err
	}
	since.Add(here)
	return b.Restore(ctx, at.Owner, since, func(people int) {
		fmt.Fprintf(std.out, "%s of this backup who were erased since then: they are erased again before anything is served.\n", folk(int64(people)))
	})
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
		"Consents that were taken back since then are not in it either, so those children play on: note it again for each.\n"+
		"Nor are bars, closed accounts and concerns: stop that access again, and ask the welfare officers what they were told since then.\n"+
		"Now start the site with drover serve.\n")
	return nil
}

func count(n int64, word string) string { return game.Count(int(n), word) }
