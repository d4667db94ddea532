package guardian

import (
	"fmt"
	"net/http"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Report is a guardian's page: one child, two minutes, no chess needed.
func (s Pages) Report(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	ctx := r.Context()
	page, c, err := s.Frame(ctx, a)
	if err != nil {
		return err
	}
	wards, err := s.Store.Wards(ctx, a)
	if err != nil {
		return err
	}
	if len(wards) == 0 {
		return site.Missing()
	}
	child := wards[0]
	file, err := s.Store.StudentFile(ctx, a.Club, child.ID)
	if err != nil {
		return err
	}
	of, err := s.Store.RecordOf(ctx, a.Club, child.ID,
		store.WithStages, store.WithMastery, store.WithTasks, store.WithPlayed, store.WithSpent)
	if err != nil {
		return err
	}
	now := of.Now
	m := ReportPage{
		Page: page, Name: child.Name, Week: c.Name + ", week of " + site.ShortDay(progress.Monday(now), now),
		Consent: "No guardian's consent is noted yet: ask the coach.",
		Kept:    "Drover keeps a nickname, the games and these figures: no birth date, no address.",
	}
	if !file.Waits() {
		m.Consent = fmt.Sprintf("A guardian gave consent on %s.", site.ShortDay(file.ConsentOn, now))
	}
	week := of.Week()
	m.Days = days(week)
	m.Sentence = weekSentence(child.Name, week)
	m.Next, m.Help = firstStep(child.Name, of.Diagnosis().First), howToHelp(child.Name)
	if m.Next == "" {
		m.Next = nextSteps(child.Name, of.LastPlayed())
	}
	m.Bells, m.Papers = bellSentences(of.Mastery, of.Today()), papers(of)
	m.Rows, m.Stages = reportRows(of)
	m.Set = setNow(of)
	for _, g := range file.Guardians {
		if g.ID == a.Person && g.Until != nil {
			m.Until = fmt.Sprintf("This link works until %s. Ask the coach for a new one at any time.",
				site.ShortDay(c.Local(*g.Until), now))
		}
	}
	return s.Show(w, r, m.View())
}

// setNow lists what is open for a child, each under the name that its coach gave
// it: a text that an adult writes for a child is read by a second adult too.
func setNow(of progress.Record) []SetRow {
	var rows []SetRow
	for _, t := range of.Tasks {
		say := "Set by " + t.Coach
		if d := site.Due(t.Due, of.Now); d != "" {
			say += ", " + d
		}
		rows = append(rows, SetRow{Name: t.Drill.Name, Say: say + "."})
	}
	return rows
}

// days are the minutes of thought of each day of the week.
func days(week progress.Week) []DayMinutes {
	var out []DayMinutes
	for i, name := range []string{"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"} {
		out = append(out, DayMinutes{Day: name, Minutes: (week.Days[i] + 59) / 60})
	}
	return out
}

func weekSentence(name string, week progress.Week) []view.Part {
	switch {
	case week.Games == 0 && week.Free > 0:
		return view.Plain(fmt.Sprintf("%s had %s of free practice this week.", name, game.Count((week.Free+59)/60, "minute")))
	case week.Games == 0:
		return view.Plain(name + " has not practised this week yet.")
	}
	minutes := game.Count((week.Seconds+59)/60, "minute") + " in all"
	if week.Free > 0 {
		minutes += fmt.Sprintf(", %d of them free practice", (week.Free+59)/60)
	}
	how := "won alone"
	if week.Holds {
		how = "won or held alone"
	}
	return []view.Part{
		{Text: name + " played "}, {Text: game.Count(week.Games, "short game"), Bold: true}, {Text: " on "},
		{Text: game.Count(week.On, "day"), Bold: true},
		{Text: ", " + minutes + "; "},
		{Text: fmt.Sprintf("%d %s", week.Alone, how), Bold: true}, {Text: "."},
	}
}

// howToHelp is for somebody who does not play.
func howToHelp(name string) string {
	return "You do not need to know chess. Ask " + name +
		" where the lone king can still walk, and why. Please don't show moves. Ten minutes, twice a week, is plenty."
}

// firstStep says what the child is to learn first, empty where nothing stands out.
func firstStep(name string, first *progress.First) string {
	if first == nil {
		return ""
	}
	what := first.Stage.Plain()
	if first.Habit != "" {
		what = first.Habit.Plain()
	}
	return fmt.Sprintf("One thing helps %s most now: to %s (%s). Practice begins there.", name, what, game.Lower(site.MateWith(first.Ending)))
}

// nextSteps says what comes next, from how the last game went.
func nextSteps(name string, last progress.LastPlayed) string {
	if last.Kind == progress.NothingYet {
		return name + " begins soon: the coach has set the first games."
	}
	what := game.Lower(playedWords(last.Played))
	switch last.Kind {
	case progress.DrawHeld:
		return fmt.Sprintf("In the last game, %s, the draw was held. The next one asks for the same from another start.", what)
	case progress.GameWon:
		return fmt.Sprintf("The last game, %s, was won. The next one asks for the same from another start.", what)
	case progress.DrawNotHeld:
		return fmt.Sprintf("In the last game, %s, the draw was not held. The same start comes again.", what)
	case progress.Unfinished:
		return fmt.Sprintf("The last game, %s, was not finished. It waits on the first page.", what)
	case progress.Lost, progress.NothingYet:
	}
	say := fmt.Sprintf("In the last game, %s, %s %s.", what, endedWords(last.End), last.Failed.Lost())
	if last.Times > 1 {
		say += fmt.Sprintf(" It has gone wrong there in %d games so far.", last.Times)
	}
	return say + " That part comes again next."
}

// endedWords says for somebody who does not play how a game that was not won
// ended, before the part in which it did.
func endedWords(end practice.End) string {
	switch end {
	case practice.Resigned:
		return "the game stopped"
	case practice.OverMoves:
		return "the moves ran out"
	case practice.Time:
		return "the time ran out"
	}
	return "the win was lost"
}

// playedWords names what a game was about for somebody who does not play.
func playedWords(p progress.Played) string {
	if p.Hold {
		return site.TaskName(p.Ending, true)
	}
	return site.MateWith(p.Ending)
}

// reportRows draws each ending that was begun, a month ago and now, and lists the
// stages in it.
func reportRows(of progress.Record) ([]ReportRow, []string) {
	month := of.Now.AddDate(0, -1, 0)
	was, is, played := of.MarksAt(month), of.Marks(), of.Clean()
	var rows []ReportRow
	seen := map[ending.Stage]bool{}
	for _, plan := range ending.Taught() {
		row := ReportRow{Name: site.MateWith(plan.Code), Guide: site.GuidePath(plan.Code, false)}
		begun := false
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			begun = begun || len(played[k]) > 0
			row.Before = append(row.Before, view.Mark{Stage: string(step.Stage), State: site.Picture(was[k])})
			row.Now = append(row.Now, view.Mark{Stage: string(step.Stage), State: site.Picture(is[k])})
		}
		if !begun {
			continue
		}
		row.SayThen, row.SayNow = site.Standing(row.Before, "parts"), site.Standing(row.Now, "parts")
		for _, step := range plan.Steps {
			seen[step.Stage] = true
		}
		rows = append(rows, row)
	}
	var stages []string
	for _, stage := range ending.Stages() {
		if seen[stage] {
			stages = append(stages, string(stage))
		}
	}
	return rows, stages
}
