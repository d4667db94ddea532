package guardian

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// Report is a guardian's page: one child, two minutes, no chess needed. Without a number in
// the address it is the first child's.
func (s Pages) Report(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	child, wards, err := s.ward(r, a)
	if game.KindOf(err) == game.Missing {
		return s.left(w, r, a, page, c, wards)
	}
	if err != nil {
		return err
	}
	of, err := s.Store.ConsentOf(r.Context(), a.Club, child.ID)
	if err != nil {
		return err
	}
	m, err := s.reportOf(r.Context(), page, c, child, !of.Stands)
	if err != nil {
		return err
	}
	if m.Siblings, err = s.siblings(r.Context(), a, c, wards, child.ID); err != nil {
		return err
	}
	box := boxOf(of, a.Person, child, c.Local(s.Now()))
	if err := s.tellOfNotice(r.Context(), a, c, of, &box); err != nil {
		return err
	}
	m.Consent = &box
	if err := s.own(r.Context(), a, c, child, &m); err != nil {
		return err
	}
	m.Notice = m.said(r.URL.Query().Get("said"))
	return s.Show(w, r, m.View())
}

// OfStudent is the report as the guardians read it, for a coach.
func (s Pages) OfStudent(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	of, err := s.Store.ConsentOf(r.Context(), a.Club, file.Person.ID)
	if err != nil {
		return err
	}
	m, err := s.reportOf(r.Context(), page, c, file.Person, !of.Stands)
	if err != nil {
		return err
	}
	m.Coach = "/students/" + m.ID
	return s.Show(w, r, m.View())
}

// ward is the child that an address is about, among a guardian's children, who are given also
// where it is none of them.
func (s Pages) ward(r *http.Request, a game.Actor) (club.Person, []club.Person, error) {
	wards, err := s.Store.Wards(r.Context(), a)
	if err != nil {
		return club.Person{}, nil, err
	}
	var id game.PersonID
	if chi.URLParam(r, "id") != "" {
		if id, err = site.ID[game.PersonID](r, "id"); err != nil {
			return club.Person{}, nil, err
		}
	}
	for _, w := range wards {
		if id == 0 || w.ID == id {
			return w, wards, nil
		}
	}
	return club.Person{}, wards, site.Missing()
}

// reportOf is what the report says of a child: the same to a guardian and to a coach. While
// practice rests nothing is asked of the child.
func (s Pages) reportOf(ctx context.Context, page view.Page, c club.Club, child club.Person, rests bool) (ReportPage, error) {
	of, err := s.Store.RecordOf(ctx, c.ID, child.ID,
		store.WithStages, store.WithMastery, store.WithTasks, store.WithTries, store.WithPlayed, store.WithSpent)
	if err != nil {
		return ReportPage{}, err
	}
	m := ReportPage{Page: page, ID: strconv.FormatInt(int64(child.ID), 10), Name: child.Name, Rests: rests,
		Week: c.Name + ", week of " + site.ShortDay(progress.Monday(of.Now), of.Now)}
	week := of.Week()
	m.Days = days(week)
	m.Sentence = weekSentence(child.Name, week)
	first := of.Diagnosis().First
	m.Next, m.Help = firstStep(child.Name, first), howToHelp(child.Name, first)
	switch {
	case rests:
		m.Next = "Practice rests just now, so nothing is asked of " + child.Name + ". What was learned stays here."
	case m.Next == "" && stuck(of) != "":
		m.Next = stuck(of)
	case m.Next == "":
		m.Next = nextSteps(child.Name, of.LastPlayed(), len(of.Clean()) > 0)
	}
	m.Bells, m.Papers = bellSentences(of.Mastery, of.Today(), rests), papers(of, m.ID)
	m.Rows, m.Stages = reportRows(of)
	m.Weeks = weekRows(of)
	m.Set = setNow(of)
	signed, err := s.Store.TermReports(ctx, game.Actor{Club: c.ID, Role: game.Guardian}, child.ID)
	if err != nil {
		return ReportPage{}, err
	}
	at := "/report/" + m.ID
	if page.Who.Role == view.Coach {
		at = "/students/" + m.ID
	}
	m.Terms = termRows(signed, at, of.Now)
	if len(signed) > 0 {
		m.RemarkBy, m.Remark = signed[0].By, signed[0].Remark
	}
	return m, nil
}

// own fills what is the guardian's alone: data, mail and the link.
func (s Pages) own(ctx context.Context, a game.Actor, c club.Club, child club.Person, m *ReportPage) error {
	erase, err := s.eraseBox(ctx, c, child)
	if err != nil {
		return err
	}
	m.Erase = &erase
	if m.Mails = s.Store.SendsMail(); !m.Mails {
		address, err := s.Store.Address(ctx, a)
		if err != nil {
			return err
		}
		m.Mails = address != nil // which can be taken away
	}
	file, err := s.Store.StudentFile(ctx, a.Club, child.ID)
	if err != nil {
		return err
	}
	if g, ok := file.Guardian(a.Person); ok && g.Until != nil {
		m.Until = fmt.Sprintf("This link works until %s. Ask the coach for a new one at any time.",
			site.ShortDay(c.Local(*g.Until), c.Local(s.Now())))
	}
	return nil
}

// weekRows are the last weeks of each ending that was played in them: stage by stage, and how
// many parts of its games were done alone.
func weekRows(of progress.Record) WeeksPicture {
	var out WeeksPicture
	mondays := of.Mondays()
	for _, d := range mondays[len(mondays)-shownWeeks:] {
		out.Heads = append(out.Heads, d.Date().Format("2 Jan"))
	}
	for _, e := range of.StagesByWeek() {
		row, any := WeeksRow{Name: site.MateWith(e.Ending)}, false
		row.Cells = make([]WeekCell, shownWeeks)
		for _, stage := range e.Stages {
			for i, week := range stage.Weeks[len(stage.Weeks)-shownWeeks:] {
				row.Cells[i].add(stage.Stage, week)
				any = any || len(week) > 0
			}
		}
		if any {
			out.Rows = append(out.Rows, row)
		}
	}
	return out
}

// shownWeeks is how many weeks the report has.
const shownWeeks = 4

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
	case week.Games == 0 && week.Seconds > 0:
		return view.Plain(fmt.Sprintf("%s practised for %s on %s this week; no game is finished yet.", name,
			game.Count((week.Seconds+59)/60, "minute"), game.Count(week.On, "day")))
	case week.Games == 0:
		return view.Plain(name + " has not practised this week yet.")
	}
	minutes := game.Count((week.Seconds+59)/60, "minute") + " in all"
	if week.Free > 0 {
		minutes += fmt.Sprintf(", %d of them free practice", (week.Free+59)/60)
	}
	how := "won"
	if week.Holds {
		how = "won or held"
	}
	return []view.Part{
		{Text: "This week " + name + " played "}, {Text: game.Count(week.Games, "short game"), Bold: true}, {Text: " on "},
		{Text: game.Count(week.On, "day"), Bold: true},
		{Text: ", " + minutes + ", and " + how + " "},
		{Text: aloneOf(week), Bold: true}, {Text: "."},
	}
}

// aloneOf says how many games of a week were won or held alone.
func aloneOf(week progress.Week) string {
	switch {
	case week.Alone == 0:
		return "none alone yet"
	case week.Games == 1:
		return "it alone"
	}
	return fmt.Sprintf("%d of them alone", week.Alone)
}

// howToHelp is for somebody who does not play: what to ask, by what is to be learned first.
func howToHelp(name string, first *progress.First) string {
	ask := "Where can the lone king still walk, and why?"
	switch {
	case first == nil:
	case first.Habit != "":
		ask = first.Habit.Ask()
	case askFor[first.Stage] != "":
		ask = askFor[first.Stage]
	}
	return "You do not need to know chess. Before a move ask " + name + ": \"" + ask +
		"\" Please don't show moves. Ten minutes, twice a week, is plenty."
}

// askFor is what can be asked in a stage.
var askFor = map[ending.Stage]string{
	ending.Edge:   "To which edge does he go, and what keeps him from coming back?",
	ending.Corner: "To which corner must he go, and why that one?",
	ending.Mate:   "What does the board look like when it is mate?",
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
	if first.Habit == "" && first.Stage == ending.Mate {
		what = "give the mate itself"
	}
	why := fmt.Sprintf("So far %d of the %d moves in that part did not work.", first.K, first.N)
	if first.Habit != "" {
		why = fmt.Sprintf("So far that failed %d times in %d.", first.K, first.N)
	}
	one := "One thing"
	if strings.Contains(what, "him") {
		one = "Against the lone king one thing"
	}
	return fmt.Sprintf("%s helps %s most now: to %s (%s). %s Practice begins there.", one, name, what,
		game.Lower(site.MateWith(first.Ending)), why)
}

// stuck says that a drill is too hard just now, and what is done about it; empty: none is.
func stuck(of progress.Record) string {
	for _, t := range of.Tries {
		if _, ok := progress.Stuck(t.Tries); ok {
			return fmt.Sprintf("The drill \"%s\" did not work three times in a row, so its last part is practised alone until it goes well.", t.Drill.Name)
		}
	}
	return ""
}

// nextSteps says what comes next, from how the last game went; before says that there were games.
func nextSteps(name string, last progress.LastPlayed, before bool) string {
	if last.Kind == progress.NothingYet && before { // the games are older than the club keeps them
		return name + " has not played for a long time. What was learned stays here; the coach sets what comes next."
	}
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
