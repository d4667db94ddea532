package web

import (
	"context"
	"fmt"
	"hash/fnv"
	"net/http"
	"sort"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/view"
)

// yours names what a student has mastered with a stage: the last stage of an
// ending stands for its mate.
func yours(k progress.Key) string {
	plan, ok := ending.PlanOf(k.Ending)
	if ok && plan.Index(k.Stage) == plan.Last() {
		return plan.Name + " mate is yours."
	}
	return fmt.Sprintf("%s, %s: that is yours.", planName(k.Ending), place(k.Stage))
}

// inDays says a number of days as a person does.
func inDays(n progress.Day) string {
	switch {
	case n <= 1:
		return "tomorrow"
	case n < 7:
		return "in " + lower(numberWord(int(n))) + " days"
	case n < 11:
		return "in a week"
	case n < 46:
		return "in " + lower(numberWord(int(n+3)/7)) + " weeks"
	}
	return "in " + lower(numberWord(int(n+15)/30)) + " months"
}

// byDate lists the stages of standings, those asked for first in front; what is
// asked for on one day stands in the order of teaching, backwards: the mate is
// the shortest.
func byDate(standings map[progress.Key]progress.Standing) []progress.Key {
	var keys []progress.Key
	for _, plan := range ending.Plans() {
		for i := plan.Last(); i >= 0; i-- {
			if k := (progress.Key{Ending: plan.Code, Stage: plan.Steps[i].Stage}); standings[k].Due != 0 {
				keys = append(keys, k)
			}
		}
	}
	sort.SliceStable(keys, func(i, j int) bool { return standings[keys[i]].Due < standings[keys[j]].Due })
	return keys
}

// masteryNotice is what today's tests and checks have brought: one sentence, the
// best there is.
func masteryNotice(standings map[progress.Key]progress.Standing, today progress.Day) *view.Notice {
	var tested, kept, missed *view.Notice
	for _, k := range byDate(standings) {
		s := standings[k]
		again := fmt.Sprintf("We'll ask once more %s.", inDays(s.Due-today))
		switch {
		case s.Last != today:
		case s.Mastered == today:
			return &view.Notice{Say: yours(k), More: again}
		case s.Missed:
			missed = &view.Notice{Say: "A bit of it is forgotten. That is quite normal.", More: "One short game brings it back."}
		case s.Mastered != 0:
			kept = &view.Notice{Say: "Still there. " + yours(k), More: again}
		case s.Tested == today:
			tested = &view.Notice{Say: planName(k.Ending) + ": the test is passed.", More: again}
		}
	}
	for _, n := range []*view.Notice{missed, kept, tested} {
		if n != nil {
			return n
		}
	}
	return nil
}

// bellSentences say to a guardian what is mastered, the latest first.
func bellSentences(standings map[progress.Key]progress.Standing, today progress.Day) []string {
	var out []string
	for _, plan := range ending.Plans() {
		var all []progress.Key
		var next progress.Day
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			s := standings[k]
			if s.Mastered == 0 {
				continue
			}
			all = append(all, k)
			if next == 0 || s.Due < next {
				next = s.Due
			}
		}
		what := mateWith(plan.Code)
		switch {
		case len(all) == 0:
			continue
		case len(all) < len(plan.Steps):
			names := make([]string, len(all))
			for i, k := range all {
				names[i] = place(k.Stage)
			}
			what += ", " + nameList(names) + ":"
		}
		line := what + " mastered; the bell stays. "
		if len(all) == len(plan.Steps) {
			line = what + " is mastered; the bell stays. "
		}
		if next <= today {
			line += "One short game asks for it again now."
		} else {
			line += fmt.Sprintf("We'll ask once more %s.", inDays(next-today))
		}
		out = append(out, line)
	}
	return out
}

// checkCards are the re-checks that are due, the longest due first: one an ending
// a day, until it goes well, and those under way.
func (s *Server) checkCards(ctx context.Context, a game.Actor, standings map[progress.Key]progress.Standing, turns turns) ([]view.DueCard, error) {
	open, err := s.store.OpenChecks(ctx, a)
	if err != nil {
		return nil, err
	}
	var cards []view.DueCard
	shown, rests := map[string]bool{}, map[string]bool{}
	for k, now := range standings {
		rests[k.Ending] = rests[k.Ending] || now.Last == turns.today && !now.Missed
	}
	for _, k := range byDate(standings) {
		now := standings[k]
		fen, goOn := open[k]
		if !goOn && (now.Due > turns.today || shown[k.Ending] || rests[k.Ending] && !now.Missed) {
			continue
		}
		shown[k.Ending] = true
		if !goOn {
			if fen, err = s.checkStart(ctx, a, k, now); err != nil {
				return nil, err
			}
		}
		card := checkCard(k, now, fen, goOn, turns.today)
		if !goOn && progress.PlayedEnough(turns.seconds) {
			card.Post, card.Line = "", "Enough for today. It is here again tomorrow."
		}
		cards = append(cards, card)
	}
	return cards, nil
}

func checkCard(k progress.Key, now progress.Standing, fen string, goOn bool, today progress.Day) view.DueCard {
	card := view.DueCard{
		Post: "/today/check", Hidden: []view.Hidden{{Name: "ending", Value: k.Ending}, {Name: "stage", Value: string(k.Stage)}},
		Title: planName(k.Ending) + ": still yours?", Stage: string(k.Stage), State: view.Reached, FEN: fen, Action: "Play it",
	}
	if now.Mastered != 0 {
		card.State = view.Mastered
	}
	if card.Line = fmt.Sprintf("1 start, last time %s ago", view.Count(int(today-now.Last), "day")); today == now.Last {
		card.Line = "1 start"
	}
	if now.Missed {
		card.Title = planName(k.Ending) + " needs a game"
		card.Line = "A bit of it is forgotten. That is quite normal. One short game brings it back."
	}
	if goOn {
		card.Action = "Go on"
	}
	return card
}

// checkStart picks the start of a re-check; it stays the same until it is
// played.
func (s *Server) checkStart(ctx context.Context, a game.Actor, k progress.Key, now progress.Standing) (string, error) {
	plan, ok := ending.PlanOf(k.Ending)
	if !ok {
		return "", missing()
	}
	h := fnv.New64a()
	fmt.Fprint(h, a.Club, a.Person, k, now)
	starts, err := s.judge.Starts(ctx, plan, k.Stage, 1, int64(h.Sum64()))
	if err != nil {
		return "", err
	}
	return starts[0].FEN(), nil
}

type checkForm struct {
	Ending string       `schema:"ending"`
	Stage  ending.Stage `schema:"stage"`
}

// startCheck begins a re-check that is due, or goes on with it.
func (s *Server) startCheck(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f checkForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	c, err := s.store.Club(r.Context(), a.Club)
	if err != nil {
		return err
	}
	standings, err := s.store.Standings(r.Context(), a.Club, a.Person)
	if err != nil {
		return err
	}
	k := progress.Key{Ending: f.Ending, Stage: f.Stage}
	now := standings[k]
	if now.Due == 0 || now.Due > progress.DayOf(local(c, s.now())) {
		http.Redirect(w, r, "/today", http.StatusSeeOther) // another tab has played it
		return nil
	}
	fen, err := s.checkStart(r.Context(), a, k, now)
	if err != nil {
		return err
	}
	g, err := s.store.Recheck(r.Context(), a, k, fen, progress.Tester(k.Ending))
	if err != nil {
		return err
	}
	return s.goPlay(w, r, g)
}
