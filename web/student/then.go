package student

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"

	"drover/game"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
)

// then is what comes after an ended game, where that is not simply another try or the next
// start: what the main button of the panel does, its words, and the sentence above it.
type then struct {
	Then  string     `json:"then,omitempty"`
	Text  string     `json:"text,omitempty"`
	Say   string     `json:"say,omitempty"`
	Again bool       `json:"again,omitempty"` // another try can be had all the same
	Test  *thenTest  `json:"test,omitempty"`
	Bells []thenBell `json:"bells,omitempty"` // that ring now
}

// thenTest is how a test of five stands: which of its games are passed so far, and the sentence.
type thenTest struct {
	Games []bool `json:"games"`
	Of    int    `json:"of"`
	Say   string `json:"say"`
}

// thenBell is a stage that is mastered with this game.
type thenBell struct {
	Stage string `json:"stage"`
	Say   string `json:"say"`
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
	switch {
	case info.Ended == nil:
		return nil, nil
	case info.InTest > 0 || info.Kind == store.OfRecheck:
		return s.afterTest(ctx, a, info)
	case info.Task == 0 || info.Kind != store.OfDrill && info.Kind != store.OfPart:
		return nil, nil
	}
	of, err := s.Store.RecordOf(ctx, a.Club, a.Person, store.WithTasks, store.WithUnderWay, store.WithSeconds)
	if err != nil {
		return nil, err
	}
	if !info.TaskOpen {
		return &then{Then: "today", Text: "Back to today", Say: "This drill is done.", Again: true}, nil
	}
	tries, err := s.Store.TriesAt(ctx, a, info.Task)
	if err != nil || tries.Drill.Mode == practice.Test {
		return nil, err
	}
	switch of.OfferAfter(tries) {
	case progress.EnoughToday:
		return &then{Then: "today", Text: "Back to today", Say: "Enough for today. It is here again tomorrow."}, nil
	case progress.LastPart:
		return &then{Then: "again", Text: "The last part", Say: site.Plenty}, nil
	case progress.NextTry:
	}
	return nil, nil
}

// afterTest is what comes after a game of a test of five, or after a re-check.
func (s Pages) afterTest(ctx context.Context, a game.Actor, info store.GameInfo) (*then, error) {
	of, err := s.Store.RecordOf(ctx, a.Club, a.Person, store.WithMastery, store.WithUnderWay, store.WithSeconds)
	if err != nil {
		return nil, err
	}
	out := &then{Bells: bells(of, info.ID)}
	if info.InTest == 0 {
		if out.Bells == nil {
			return nil, nil
		}
		return out, nil
	}
	tries, err := s.Store.TriesAt(ctx, a, info.Task)
	if err != nil {
		return nil, err
	}
	test := progress.SittingWith(of.Trials, info.ID)
	out.Say = gameVerdict(test)
	out.Test = &thenTest{Of: testGames, Say: testVerdict(test, of.AsksAgain(test)-of.Today(), info.TaskOpen)}
	for _, t := range test.Games {
		out.Test.Games = append(out.Test.Games, t.Passed())
	}
	out.goesOn(test, of.OfferAfter(tries), info.TaskOpen)
	return out, nil
}

// goesOn says what the main button after a game of a test does.
func (t *then) goesOn(test progress.Sitting, offer progress.Offer, open bool) {
	switch {
	case test.Over() || !open || offer == progress.EnoughToday:
		t.Then, t.Text = "today", "Back to today"
	case offer == progress.LastPart:
		t.Then, t.Text = "again", "The last part"
		t.Say = strings.TrimSpace(t.Say + " " + site.Plenty)
	default:
		t.Then, t.Text = "next", "Next game"
	}
}
