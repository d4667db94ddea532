package store

import (
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/game/progress"
)

// Together commits acts of one game as one group, as the committer does with
// those that wait, and gives what each was told.
func (s *Store) Together(c game.ClubID, set practice.Setup, acts ...practice.Act) (won []bool, errs []error) {
	var batch []*waiting
	for _, a := range acts {
		batch = append(batch, &waiting{entry: entry{club: c, setup: set, act: a}, reply: make(chan appended, 1)})
	}
	s.committer.commit(batch)
	for _, w := range batch {
		r := <-w.reply
		won, errs = append(won, r.won), append(errs, r.err)
	}
	return won, errs
}

// FormLife and DraftFor are how long a form and a draft are kept.
const (
	FormLife time.Duration = formLife
	DraftFor time.Duration = draftFor
)

// Hurry makes the listener less patient.
func (s *Store) Hurry(quiet, answer time.Duration) { s.patience = patience{quiet, answer} }

// Heard sets when the listener's connection last lived.
func (s *Store) Heard(at time.Time) { s.heard.Store(at.UnixNano()) }

// Poison gives the committer something at which it panics.
func (s *Store) Poison() { s.committer.queue <- nil }

// InOrder is the order in which bells are written.
func InOrder(all map[progress.Key]progress.Standing) []progress.Key { return inOrder(all) }
