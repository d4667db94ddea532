package student

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Today is a student's first page: re-checks that are due come first, then what
// was assigned.
func (s Pages) Today(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if may, err := s.Store.Practises(r.Context(), a.Club, a.Person); err != nil || !may {
		if err == nil {
			err = s.Show(w, r, RestPage{Page: page, Say: club.Rests}.View())
		}
		return err
	}
	of, err := s.Store.RecordOf(r.Context(), a.Club, a.Person, store.WithStages, store.WithMastery,
		store.WithTries, store.WithTasks, store.WithUnderWay, store.WithSeconds, store.WithPlacement, store.WithHolds)
	if err != nil {
		return err
	}
	page.Notice = masteryNotice(of.Mastery, of.Today())
	m := TodayPage{Page: page, Endings: site.Papers(site.EndingMarks(of), of, "")}
	m.Papers = papers(of)
	for _, item := range of.Items() {
		card, err := s.itemCard(r.Context(), a, of, item)
		if err != nil {
			return err
		}
		m.Due = append(m.Due, card)
	}
	m.Rested = progress.PlayedEnough(of.Seconds)
	m.Lead, m.Aim = lead(m.Due, of.Seconds), aim(of.Diagnosis().First)
	if k, ok := of.FirstFree(); ok && len(m.Due) == 0 && !m.Rested {
		card, err := s.firstFree(r.Context(), a, k, of.Student.Wording)
		if err != nil {
			return err
		}
		m.Due, m.Lead = []DueCard{card}, "Until your coach sets something, this is a good beginning."
	}
	if m.Cards, err = s.Store.FirstTime(r.Context(), a); err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}

// LeaveCards puts the cards before the first game away.
func (s Pages) LeaveCards(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if err := s.Store.LeaveCards(r.Context(), a); err != nil {
		return err
	}
	http.Redirect(w, r, "/today", http.StatusSeeOther)
	return nil
}

// aim is what a child keeps in mind, in eight words or fewer; empty where nothing
// stands out.
func aim(first *progress.First) string {
	switch {
	case first == nil:
		return ""
	case first.Habit != "":
		return first.Habit.Aim()
	}
	return first.Stage.KeepInMind()
}

// itemCard draws one thing to do.
func (s Pages) itemCard(ctx context.Context, a game.Actor, of progress.Record,
	item progress.Item) (DueCard, error) {
	switch item.Kind {
	case progress.PlacementItem:
		return newcomerCard(*of.Placement, item), nil
	case progress.RecheckItem:
		return s.checkCard(ctx, a, item, of.Today())
	case progress.TaskItem:
	}
	return setCard(item, of.Now), nil
}

// lead says how much there is to do, or that it is enough for today.
func lead(due []DueCard, seconds int) string {
	n := 0
	for _, card := range due[:min(progress.MostItems, len(due))] {
		if card.Waits() {
			n++
		}
	}
	switch {
	case len(due) == 0 && progress.PlayedEnough(seconds):
		return fmt.Sprintf("Enough for today: %s of play.", game.Count(seconds/60, "minute"))
	case len(due) == 0:
		return "All that was set is done."
	case n == 0 && len(due) > 0 && progress.PlayedEnough(seconds):
		return fmt.Sprintf("Enough for today: %s of play. It is all here again tomorrow.", game.Count(seconds/60, "minute"))
	case n == 0 && len(due) > 0:
		return "Enough for today. It is all here again tomorrow."
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "One thing today, about 10 minutes."
	case 2:
		return "Two things today, about 15 minutes."
	default:
		return fmt.Sprintf("%s things today, about 20 minutes.", game.Upper(game.Number(n)))
	}
}

// startOf is the start that comes next.
func startOf(item progress.Item) string {
	t := item.Task
	if item.Sitting != nil && t.OpenGame == 0 {
		return t.Drill.Starts[item.Sitting.Next()-1]
	}
	return t.Drill.Starts[max(t.Next, 0)]
}

func setCard(item progress.Item, now time.Time) DueCard {
	t := item.Task
	left := len(t.Drill.Starts) - t.Done
	line := site.StartsWord(left)
	if t.Done > 0 {
		line = fmt.Sprintf("%d of %d starts to go", left, len(t.Drill.Starts))
	}
	line = site.TestWord(t.Drill.Mode) + line
	if d := site.Due(t.Due, now); d != "" {
		line += ", " + d
	}
	if item.Sitting != nil {
		line = testLine(*item.Sitting)
		if d := site.Due(t.Due, now); d != "" {
			line += " " + game.Upper(d) + "."
		}
	}
	card := DueCard{
		Post: "/today/start", Hidden: []view.Hidden{{Name: "assignment", Value: strconv.FormatInt(int64(t.ID), 10)}},
		Title: site.TaskName(t.Drill.Ending, t.Drill.Hold), Stage: string(t.Drill.From), State: view.InWork,
		Line: line, FEN: startOf(item), Action: "Start",
	}
	if !t.Drill.Hold {
		card.StageSay = t.Drill.From.For(t.Wording)
	}
	card.StageSay += t.Drill.Onward()
	switch {
	case item.GoesOn:
		card.Action = "Go on"
	case item.Offer == progress.LastPart:
		card.Line = site.Plenty
	case item.Rests && item.Sitting != nil && item.Sitting.Over():
		card.Post = ""
	case item.Rests:
		card.Post, card.Line = "", "Enough for today. It is here again tomorrow."
	}
	return card
}
