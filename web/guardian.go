package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// report is a guardian's page: one child, two minutes, no chess needed.
func (s *Server) report(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	ctx := r.Context()
	page, c, err := s.frame(ctx, a)
	if err != nil {
		return err
	}
	wards, err := s.store.Wards(ctx, a)
	if err != nil {
		return err
	}
	if len(wards) == 0 {
		return missing()
	}
	child := wards[0]
	file, err := s.store.StudentFile(ctx, a.Club, child.ID)
	if err != nil {
		return err
	}
	played, err := s.store.History(ctx, a.Club, child.ID)
	if err != nil {
		return err
	}
	now := local(c, s.now())
	m := view.ReportPage{
		Page: page, Name: child.Name, Week: c.Name + ", week of " + shortDay(monday(now), now),
		Consent: fmt.Sprintf("A guardian gave consent on %s.", shortDay(file.ConsentOn, now)),
		Kept:    "Drover keeps a nickname, the games and these figures: no birth date, no address.",
	}
	week := thisWeek(c, played, now)
	m.Days = days(week)
	m.Sentence = weekSentence(child.Name, week)
	m.Next, m.Help = nextSteps(child.Name, played)
	standings, err := s.store.Standings(ctx, a.Club, child.ID)
	if err != nil {
		return err
	}
	m.Bells = bellSentences(standings, progress.DayOf(now))
	if m.Rows, m.Stages, err = s.reportRows(r, c, child, standings); err != nil {
		return err
	}
	if m.Set, err = s.setNow(ctx, child, now); err != nil {
		return err
	}
	for _, g := range file.Guardians {
		if g.ID == a.Person && g.Until != nil {
			m.Until = fmt.Sprintf("This link works until %s. Ask the coach for a new one at any time.", shortDay(local(c, *g.Until), now))
		}
	}
	return s.show(w, r, m.View())
}

// setNow lists what is open for a child, each under the name that its coach gave
// it: a text that an adult writes for a child is read by a second adult too.
func (s *Server) setNow(ctx context.Context, child club.Person, now time.Time) ([]view.SetRow, error) {
	tasks, err := s.store.Tasks(ctx, game.Actor{Club: child.Club, Person: child.ID, Role: game.Student, Name: child.Name})
	if err != nil {
		return nil, err
	}
	var rows []view.SetRow
	for _, t := range tasks {
		say := "Set by " + t.Coach
		if d := due(t.Due, now); d != "" {
			say += ", " + d
		}
		rows = append(rows, view.SetRow{Name: t.Drill.Name, Say: say + "."})
	}
	return rows, nil
}

func monday(now time.Time) time.Time {
	return time.Date(now.Year(), now.Month(), now.Day()-(int(now.Weekday())+6)%7, 0, 0, 0, 0, now.Location())
}

// thisWeek takes the games since Monday, in the club's own time.
func thisWeek(c club.Club, played []store.Played, now time.Time) []store.Played {
	var out []store.Played
	for _, p := range played {
		if p.Ended = local(c, p.Ended); !p.Ended.Before(monday(now)) {
			out = append(out, p)
		}
	}
	return out
}

// days adds up the minutes of thought of each day of the week.
func days(week []store.Played) []view.DayMinutes {
	names := []string{"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"}
	out := make([]view.DayMinutes, len(names))
	seconds := make([]int, len(names))
	for _, p := range week {
		seconds[(int(p.Ended.Weekday())+6)%7] += p.Seconds
	}
	for i := range out {
		out[i] = view.DayMinutes{Day: names[i], Minutes: (seconds[i] + 59) / 60}
	}
	return out
}

func weekSentence(name string, week []store.Played) []view.Part {
	on, alone, minutes, how := map[string]bool{}, 0, 0, "won alone"
	for _, p := range week {
		if p.Hold {
			how = "won or held alone"
		}
		on[p.Ended.Format(time.DateOnly)] = true
		minutes += p.Seconds
		if p.Result == practice.Clean || p.Result == practice.OverPar {
			alone++
		}
	}
	if len(week) == 0 {
		return view.Plain(name + " has not practised this week yet.")
	}
	return []view.Part{
		{Text: name + " played "}, {Text: view.Count(len(week), "short game"), Bold: true}, {Text: " on "},
		{Text: view.Count(len(on), "day"), Bold: true},
		{Text: fmt.Sprintf(", %s in all; ", view.Count((minutes+59)/60, "minute"))},
		{Text: fmt.Sprintf("%d %s", alone, how), Bold: true}, {Text: "."},
	}
}

// nextSteps says what comes next and how to help, from the last games.
func nextSteps(name string, played []store.Played) (next, help string) {
	help = "You do not need to know chess. Ask " + name + " where the lone king can still walk, and why. Please don't show moves. Ten minutes, twice a week, is plenty."
	if len(played) == 0 {
		return name + " begins soon: the coach has set the first games.", help
	}
	last := played[len(played)-1]
	lost := 0
	for _, p := range played {
		if p.Ending == last.Ending && !p.Result.Good() && p.Failed == last.Failed && last.Failed != "" {
			lost++
		}
	}
	what := playedWords(last)
	switch {
	case last.Result.Good() && last.Hold:
		return fmt.Sprintf("In the last game, %s, the draw was held. The next one asks for the same from another start.", lower(what)), help
	case last.Result.Good():
		return fmt.Sprintf("The last game, %s, was won. The next one asks for the same from another start.", lower(what)), help
	case last.Hold && last.End != practice.Abandoned && last.End != practice.Restarted && last.End != practice.Resigned:
		return fmt.Sprintf("In the last game, %s, the draw was not held. The same start comes again.", lower(what)), help
	case last.Failed == "":
		return fmt.Sprintf("The last game, %s, was not finished. It waits on the first page.", lower(what)), help
	case lost == 1:
		return fmt.Sprintf("In the last game, %s, %s %s. That part comes again next.", lower(what), endedWords(last.End), lostWords(last.Failed)), help
	}
	return fmt.Sprintf("In the last game, %s, %s %s. It has gone wrong there in %d games so far. That part comes again next.", lower(what), endedWords(last.End), lostWords(last.Failed), lost), help
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
func playedWords(p store.Played) string {
	if p.Hold {
		return taskName(p.Ending, true)
	}
	return mateWith(p.Ending)
}

func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// mateWith names an ending for somebody who does not play.
func mateWith(code string) string {
	names := map[string]string{
		"KQK": "king and queen", "KRK": "king and rook", "KRRK": "two rooks", "KBBK": "two bishops", "KBNK": "bishop and knight", "KPK": "king and pawn",
	}
	if n := names[code]; n != "" {
		return "Mate with " + n
	}
	return "The ending " + code
}

// reportRows draws each ending that was begun, a month ago and now.
func (s *Server) reportRows(r *http.Request, c club.Club, child club.Person, standings map[progress.Key]progress.Standing) ([]view.ReportRow, []string, error) {
	cells, err := s.store.StagesOf(r.Context(), c.ID, child.ID, s.now())
	if err != nil {
		return nil, nil, err
	}
	month := local(c, s.now()).AddDate(0, -1, 0)
	var old []store.StageCell
	for _, c := range cells {
		if c.Ended.Before(month) {
			old = append(old, c)
		}
	}
	was, is := cleanBy(old), cleanBy(cells)
	var rows []view.ReportRow
	seen := map[ending.Stage]bool{}
	for _, plan := range ending.Taught() {
		row := view.ReportRow{Name: mateWith(plan.Code)}
		begun := false
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			begun = begun || len(is[k]) > 0
			on := standings[k].Mastered
			row.Before = append(row.Before, view.Mark{Stage: string(step.Stage), State: view.State(progress.MarkOf(was[k], on != 0 && on <= progress.DayOf(month)))})
			row.Now = append(row.Now, view.Mark{Stage: string(step.Stage), State: view.State(progress.MarkOf(is[k], on != 0))})
		}
		if !begun {
			continue
		}
		row.SayThen, row.SayNow = standing(row.Before, "parts"), standing(row.Now, "parts")
		for _, step := range plan.Steps {
			seen[step.Stage] = true
		}
		rows = append(rows, row)
	}
	var stages []string
	for _, id := range view.StageIDs() {
		if seen[ending.Stage(id)] {
			stages = append(stages, id)
		}
	}
	return rows, stages, nil
}

// standing puts a row of marks into words; what is mastered is named before what is
// done alone.
func standing(marks []view.Mark, parts string) string {
	begun, reached, bells := 0, 0, 0
	for _, m := range marks {
		switch m.State {
		case view.Mastered:
			bells++
			reached++
			begun++
		case view.Reached:
			reached++
			begun++
		case view.InWork, view.LostAgain:
			begun++
		case view.NotBegun:
		}
	}
	switch {
	case begun == 0:
		return "not begun"
	case bells == len(marks):
		return "mastered"
	case bells > 0:
		return fmt.Sprintf("%d of %d %s mastered", bells, len(marks), parts)
	case reached == 0:
		return "in progress"
	case reached == len(marks):
		return "all " + parts + " alone"
	}
	return fmt.Sprintf("%d of %d %s alone", reached, len(marks), parts)
}
