package student

import (
	"context"
	"fmt"
	"hash/fnv"
	"net/http"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// yours names what a student has mastered with a stage: the last stage of an
// ending stands for its mate.
func yours(k progress.Key) string {
	plan, ok := ending.PlanOf(k.Ending)
	if ok && plan.Index(k.Stage) == plan.Last() {
		return plan.Name + " mate is yours."
	}
	return fmt.Sprintf("%s, %s: that is yours.", ending.NameOf(k.Ending), k.Stage.Place())
}

// masteryNotice is what today's tests and checks have brought: one sentence, the
// best there is.
func masteryNotice(standings map[progress.Key]progress.Mastery, today progress.Day) *view.Notice {
	var tested, kept, missed *view.Notice
	for _, k := range progress.ByDate(standings) {
		s := standings[k]
		again := fmt.Sprintf("We'll ask once more %s.", site.InDays(s.Due-today))
		switch {
		case s.Last != today:
		case s.Mastered == today:
			return &view.Notice{Say: yours(k), More: again}
		case s.Missed:
			missed = &view.Notice{Say: "A bit of it is forgotten. That is quite normal.", More: "One short game brings it back."}
		case s.Mastered != 0:
			kept = &view.Notice{Say: "Still there. " + yours(k), More: again}
		case s.Tested == today:
			tested = &view.Notice{Say: ending.NameOf(k.Ending) + ": the test is passed.", More: again}
		}
	}
	for _, n := range []*view.Notice{missed, kept, tested} {
		if n != nil {
			return n
		}
	}
	return nil
}

// checkCard is a re-check on a student's first page.
func (s Pages) checkCard(ctx context.Context, a game.Actor, item progress.Item,
	today progress.Day) (DueCard, error) {
	k, now := item.Key, item.Mastery
	card := DueCard{
		Post: "/today/check", Hidden: []view.Hidden{{Name: "ending", Value: k.Ending},
			{Name: "stage", Value: string(k.Stage)}},
		Title: ending.NameOf(k.Ending) + ": still yours?", Stage: string(k.Stage), State: view.Reached, FEN: item.Start,
		Action: "Play it",
	}
	if now.Mastered != 0 {
		card.State = view.Mastered
	}
	if card.Line = fmt.Sprintf("1 start, last checked %s ago", game.Count(int(today-now.Last), "day")); today == now.Last {
		card.Line = "1 start"
	}
	if now.Missed {
		card.Title = ending.NameOf(k.Ending) + " needs a game"
		card.Line = "A bit of it is forgotten. That is quite normal. One short game brings it back."
	}
	if item.Rests {
		card.Post, card.Line = "", "Enough for today. It is here again tomorrow."
	}
	if item.GoesOn {
		card.Action = "Go on"
		return card, nil
	}
	var err error
	card.FEN, err = s.checkStart(ctx, a, k, now)
	return card, err
}

// checkStart picks the start of a re-check; it stays the same until it is
// played.
func (s Pages) checkStart(ctx context.Context, a game.Actor, k progress.Key, now progress.Mastery) (string, error) {
	plan, ok := ending.PlanOf(k.Ending)
	if !ok {
		return "", site.Missing()
	}
	h := fnv.New64a()
	fmt.Fprint(h, a.Club, a.Person, k, now)
	starts, err := s.Judge.Starts(ctx, plan, k.Stage, 1, int64(h.Sum64()))
	if err != nil {
		return "", err
	}
	return starts[0].FEN(), nil
}

type checkForm struct {
	Ending string       `schema:"ending"`
	Stage  ending.Stage `schema:"stage"`
}

// StartCheck begins a re-check that is due, or goes on with it.
func (s Pages) StartCheck(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f checkForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	of, err := s.Store.RecordOf(r.Context(), a.Club, a.Person, store.WithMastery)
	if err != nil {
		return err
	}
	k := progress.Key{Ending: f.Ending, Stage: f.Stage}
	now := of.Mastery[k]
	if now.Due == 0 || now.Due > of.Today() {
		http.Redirect(w, r, "/today", http.StatusSeeOther) // another tab has played it
		return nil
	}
	fen, err := s.checkStart(r.Context(), a, k, now)
	if err != nil {
		return err
	}
	g, err := s.Store.Recheck(r.Context(), a, k, fen, progress.Tester(k.Ending))
	if err != nil {
		return err
	}
	return s.GoPlay(w, r, g)
}
