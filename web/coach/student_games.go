package coach

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
)

// gamesAsked reads from an address which games of a student are asked for. Nonsense was
// typed by somebody, and asks for nothing.
func gamesAsked(q url.Values) store.GamesAsk {
	ask := store.GamesAsk{Ending: q.Get("ending"), Stage: ending.Stage(q.Get("stage")), From: dayAsked(q.Get("from")),
		To: dayAsked(q.Get("to"))}
	if plan, ok := ending.PlanOf(ask.Ending); !ok || plan.Index(ask.Stage) < 0 {
		ask.Ending, ask.Stage = "", ""
	}
	ask.Shelf, _ = strconv.ParseInt(q.Get("drill"), 10, 64)
	ask.Shelf, ask.Page = max(ask.Shelf, 0), pageOf(q.Get("page"))
	return ask
}

// dayAsked is a day of the calendar as an address has it; 0 where it has none.
func dayAsked(day string) progress.Day {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil || t.Year() < 2000 || t.Year() > 2999 {
		return 0
	}
	return progress.DayOf(t)
}

// gamesAt is the address of a page of the games that are asked for.
func gamesAt(student string, ask store.GamesAsk, page int) string {
	q := url.Values{}
	set := func(name, value string, is bool) {
		if is {
			q.Set(name, value)
		}
	}
	set("ending", ask.Ending, ask.Ending != "")
	set("stage", string(ask.Stage), ask.Stage != "")
	set("from", ask.From.Date().Format(time.DateOnly), ask.From != 0)
	set("to", ask.To.Date().Format(time.DateOnly), ask.To != 0)
	set("drill", strconv.FormatInt(ask.Shelf, 10), ask.Shelf != 0)
	set("page", strconv.Itoa(page), page > 1)
	return "/students/" + student + "?" + q.Encode() + "#games"
}

// gamesPart lists games, in a heading which, and of a stage what makes it clean.
func gamesPart(student string, ask store.GamesAsk, list store.GameList, now time.Time) GamesPart {
	m := GamesPart{Student: student, Stage: string(ask.Stage)}
	held := heldTo(ask, list.Drill, now)
	m.Held = len(held) > 0
	m.Head = "Games"
	if m.Held {
		m.Head = game.Upper(strings.Join(held, ", ")) + ": " + game.Count(list.Sum.All, "game")
	}
	if ask.Stage != "" {
		m.Head += fmt.Sprintf(", %d clean", list.Sum.Clean)
		m.Rule = cleanRule(ask.Stage)
	} else {
		m.Sum = sumSay(list.Sum)
	}
	for _, g := range list.Rows {
		m.Rows = append(m.Rows, gameRow(g, ask.Stage, now))
	}
	m.Leaf = leaf("Games", ask.Page, store.GamesOnPage, len(m.Rows), list.Sum.All, func(page int) string {
		return gamesAt(student, ask, page)
	})
	return m
}

// heldTo says what the games are held to.
func heldTo(ask store.GamesAsk, drill string, now time.Time) []string {
	var out []string
	if ask.Stage != "" {
		out = append(out, ending.NameOf(ask.Ending), game.Lower(ask.Stage.Name()))
	}
	switch {
	case drill != "":
		out = append(out, "drill '"+drill+"'")
	case ask.Shelf != 0:
		out = append(out, "a drill that is not there")
	}
	day := func(d progress.Day) string { return site.ShortDay(d.Date(), now) }
	switch {
	case ask.From != 0 && ask.From == ask.To:
		out = append(out, "on "+day(ask.From))
	case ask.From != 0 && ask.To != 0:
		out = append(out, "from "+day(ask.From)+" to "+day(ask.To))
	case ask.From != 0:
		out = append(out, "from "+day(ask.From)+" on")
	case ask.To != 0:
		out = append(out, "up to "+day(ask.To))
	case ask.Stage != "":
		out = append(out, "in the last eight weeks")
	}
	return out
}

// sumSay counts how the games ended, and beside that those that a coach watched.
func sumSay(s store.GamesSum) string {
	of := s.Alone + s.Helped + s.Lost
	if of == 0 {
		return ""
	}
	say := fmt.Sprintf("Done alone: %d of %s. With help: %d. Not done: %d.", s.Alone, game.Count(of, "game"), s.Helped, s.Lost)
	if s.Watched > 0 && s.Watched < of {
		say += fmt.Sprintf(" While a coach watched: %d of %d alone; the others: %d of %d.", s.AloneWhenWatched, s.Watched,
			s.Alone-s.AloneWhenWatched, of-s.Watched)
	}
	return say
}

// cleanRule says when a stage counts as clean.
func cleanRule(stage ending.Stage) string {
	if practice.ShownPar(stage, 1) == 0 { // with a pawn, moves are not held against a best number
		return "A stage is clean when it was finished without help, and without taking far longer than the way to mate."
	}
	return fmt.Sprintf("A stage is clean when it was finished without help, no move cost %d or more, fewer than %d moves in a row came "+
		"no nearer, and there were at most half as many moves again as the best, or two more. "+
		"Left out are games in which one move was all there was to do.", practice.CleanCost, practice.CleanStuck)
}

// gameRow is a game in a list, which is held to a stage or to none.
func gameRow(g store.GameLine, stage ending.Stage, now time.Time) GameRow {
	at := g.Began
	if g.Ended != nil {
		at = *g.Ended
	}
	row := GameRow{ID: strconv.FormatInt(int64(g.ID), 10), Day: site.Ago(at.In(now.Location()), now), Title: site.GameTitle(g.GameInfo),
		Help: helpSay(g.GameFacts), Watched: g.Watched}
	if g.Seconds > 0 {
		row.Minutes = strconv.Itoa(minutes(g.Seconds))
	}
	row.Result, row.Where = site.GameResultIn(g.GameInfo)
	if row.Where != "" {
		row.Stage = string(g.Failed)
	}
	all := practice.Habitual{}
	for _, h := range g.Habits {
		all = all.Add(h)
	}
	if h, t, ok := progress.Struck(all); ok {
		row.Habit, row.Struck = h.Name(), fmt.Sprintf("%d of %d chances", t.K, t.N)
	}
	if stage != "" {
		row.inStage(g)
	}
	return row
}

// helpSay says how a game was helped; empty: it was not.
func helpSay(g store.GameFacts) string {
	var out []string
	if g.Hints > 0 {
		out = append(out, game.Count(g.Hints, "hint"))
	}
	if g.Backs > 0 {
		out = append(out, practice.Moves(g.Backs)+" back")
	}
	if g.Someone {
		out = append(out, "someone helped")
	}
	return strings.Join(out, ", ")
}

// inStage says how a game came to be clean or not in the stage that is asked for.
func (row *GameRow) inStage(g store.GameLine) {
	row.Clean = g.In.Clean
	row.InDetail = practice.Moves(g.In.Moves)
	if best := practice.ShownPar(g.In.Stage, g.In.Par); best > 0 {
		row.InDetail += fmt.Sprintf(", best: %d", best)
	}
	if g.In.Bad > 0 {
		row.InDetail += fmt.Sprintf(", %d bad", g.In.Bad)
	}
	var why []string
	for _, f := range g.In.Faults(g.Dearest) {
		why = append(why, faultSay(f, g))
	}
	row.Why = strings.Join(why, ", ")
}

func faultSay(f practice.Fault, g store.GameLine) string {
	switch f {
	case practice.Unfinished:
		return "not finished"
	case practice.Aided:
		if g.In.Helps == 1 {
			return "helped once"
		}
		return fmt.Sprintf("helped %d times", g.In.Helps)
	case practice.TooLong:
		return fmt.Sprintf("more than %s", practice.Moves(practice.CleanMoves(g.In.Par)))
	case practice.TooDear:
		return fmt.Sprintf("a move cost %d", g.Dearest)
	case practice.TooStuck:
	}
	return fmt.Sprintf("%d moves in a row came no nearer", practice.CleanStuck)
}
