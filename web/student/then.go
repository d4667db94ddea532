package student

import (
	"context"
	"encoding/json"
	"net/http"

	"drover/game"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
)

// then is what comes after an ended game, where that is not simply another try or the next
// start: what the main button of the panel does, its words, and the sentence above it.
type then struct {
	Then  string `json:"then"`
	Text  string `json:"text"`
	Say   string `json:"say"`
	Again bool   `json:"again,omitempty"` // another try can be had all the same
}

// Then says what comes after an ended game of a drill; nothing (204) where the panel says it
// already.
func (s Pages) Then(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	info, err := s.ownGame(r, a)
	if err != nil {
		return err
	}
	next, err := s.then(r.Context(), a, info)
	if err != nil {
		return err
	}
	if next == nil {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(next)
}

func (s Pages) then(ctx context.Context, a game.Actor, info store.GameInfo) (*then, error) {
	if info.Ended == nil || info.Task == 0 || info.Kind != store.OfDrill && info.Kind != store.OfPart {
		return nil, nil
	}
	of, err := s.Store.RecordOf(ctx, a.Club, a.Person, store.WithTasks, store.WithUnderWay, store.WithSeconds)
	if err != nil {
		return nil, err
	}
	if !info.TaskOpen {
		return &then{"today", "Back to today", "This drill is done.", true}, nil
	}
	tries, err := s.Store.TriesAt(ctx, a, info.Task)
	if err != nil || tries.Drill.Mode == practice.Test {
		return nil, err
	}
	switch of.OfferAfter(tries) {
	case progress.EnoughToday:
		return &then{"today", "Back to today", "Enough for today. It is here again tomorrow.", false}, nil
	case progress.LastPart:
		return &then{"again", "The last part", site.Plenty, false}, nil
	case progress.NextTry:
	}
	return nil, nil
}
