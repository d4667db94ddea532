package main

import (
	"context"
	"fmt"
	"time"

	"drover/store"
	"drover/store/private"
)

// noteEvery is how often a node looks whether somebody was erased.
const noteEvery = 5 * time.Second

// erasedBefore is the list in the data folder.
func (a *app) erasedBefore() (store.ErasedList, error) {
	text, err := private.ReadErased(a.settings.Data)
	if err != nil {
		return store.ErasedList{}, err
	}
	l, err := store.ReadErasedList(text)
	if err != nil {
		return l, fmt.Errorf("erased.txt in %s: %w", a.settings.Data, err)
	}
	return l, nil
}

// eraseAgain erases, before anything is served, whoever is in the data folder's list and has
// come back into the database by a way that is not drover restore.
func (a *app) eraseAgain(ctx context.Context, owner string) error {
	l, err := a.erasedBefore()
	if err != nil || len(l.Hashes) == 0 {
		return err
	}
	return store.EraseListed(ctx, owner, l, func(people int) {
		if people > 0 {
			a.log.Warn("people who were erased had come back, and are erased again", "people", people)
		}
	})
}

// noteErased adds to the list in the data folder whoever was erased since, on any node.
func (a *app) noteErased(ctx context.Context) error {
	n, err := a.store.ErasedCount(ctx)
	if err != nil || a.noted == n+1 {
		return err
	}
	now, err := a.store.ErasedSoFar(ctx)
	if err != nil {
		return err
	}
	before, err := a.erasedBefore()
	if err != nil {
		return err
	}
	if err := addErased(a.settings.Data, now, before); err != nil {
		return err
	}
	a.noted = n + 1
	return nil
}

// addErased adds to a data folder's list what it does not have.
func addErased(dir string, now, before store.ErasedList) error {
	lines := now.Beyond(before)
	if len(before.Greatest) == 0 {
		lines = now.Text()
	}
	if lines == "" {
		return nil
	}
	return private.AddErased(dir, lines)
}

// noteErasures notes who was erased until the context ends.
func (a *app) noteErasures(ctx context.Context) {
	tick := time.NewTicker(noteEvery)
	defer tick.Stop()
	for {
		if err := a.noteErased(ctx); err != nil && ctx.Err() == nil {
			a.log.Warn("who was erased could not be noted in the data folder", "err", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
