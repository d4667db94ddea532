package certificate

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Page is /certificate/{code}.
type Page struct {
	view.Page
	Up      view.Link
	Club    string
	Name    string // of the child
	Own     bool   // the child reads it
	Ending  view.Ending
	What    string // "Mate with king and rook"
	Can     string // what that is, for somebody who does not play chess
	Test    string // how it was tested
	Day     string // "24 November 2026"
	Watched string // "Watched by Coach Ines."; empty: nobody did
	Stages  []Stage
	ToCome  string // what is not mastered yet; empty: nothing, and the page can be signed
}

// Stage is one part of the ending.
type Stage struct {
	ID    string
	State view.State
	Word  string
}

// watchedAll are the coaches who watched every test that an ending rests on.
func watchedAll(tests []progress.Sitting, by map[game.GameID][]store.Watcher) []store.Watcher {
	if len(tests) == 0 {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(by[tests[0].Last()]), func(w store.Watcher) bool {
		return slices.ContainsFunc(tests, func(t progress.Sitting) bool { return !slices.Contains(by[t.Last()], w) })
	})
}

// long says whether the name is so long that the sheet needs smaller letters.
func (m Page) long() bool { return utf8.RuneCountInString(m.Name) > 16 || len(m.Watched) > 80 }

// fill says what is signed for.
func (m *Page) fill(plan ending.Plan, c progress.Certificate, by []store.Watcher) {
	var parts []string
	for _, step := range plan.Steps {
		parts = append(parts, step.Stage.Plain())
		m.Stages = append(m.Stages, Stage{string(step.Stage), view.Mastered, step.Stage.Name()})
	}
	m.Can = can(plan, m.Name, parts)
	m.Test, m.Day = tested(c), c.Day.Date().Format("2 January 2006")
	var who []string
	for _, w := range by {
		who = append(who, w.Name)
	}
	if len(who) > 0 {
		m.Watched = "Watched by " + game.List(who) + "."
	}
}

// can says what the child can do. The lone king is 'him' in the words of the stages.
func can(plan ending.Plan, name string, parts []string) string {
	switch {
	case plan.Pawn:
		return fmt.Sprintf("%s can %s, however well the other side defends.", name, game.List(parts))
	case plan.Steps[0].Stage == ending.Centralise: // which names him
		return fmt.Sprintf("%s can %s, however well he defends.", name, game.List(parts))
	}
	return fmt.Sprintf("Against a lone king, %s can %s, however well he defends.", name, game.List(parts))
}

// tested says how the ending was tested.
func tested(c progress.Certificate) string {
	if !c.Test.Over() {
		return "Tested in five games alone on one day, and asked again a week later or more."
	}
	won := game.Number(c.Test.Won())
	if c.Test.Won() == club.TestGames {
		won = "all of them"
	}
	return fmt.Sprintf("Tested in %s games alone on one day, %s %s, and asked again %s.", game.Number(club.TestGames), won, club.Measure(c.Test.Within()), later(c.Later))
}

// later writes how long after the test it was asked again.
func later(days int) string {
	switch {
	case days == 7:
		return "a week later"
	case days%7 == 0:
		return game.Count(days/7, "week") + " later"
	}
	return game.Count(days, "day") + " later"
}

// toCome says what is missing.
func (m *Page) toCome(of progress.Record, plan ending.Plan, missing []ending.Stage) {
	marks := of.Marks()
	var names []string
	for _, step := range plan.Steps {
		m.Stages = append(m.Stages, Stage{string(step.Stage), site.Picture(marks[progress.Key{Ending: plan.Code, Stage: step.Stage}]),
			step.Stage.Name()})
	}
	for _, s := range missing {
		names = append(names, game.Lower(s.Name()))
	}
	who := m.Name + " has"
	if m.Own {
		who = "you have"
	}
	m.ToCome = fmt.Sprintf("The certificate comes when %s mastered every part of it. Still to come: %s.", who, game.List(names))
}

// hurdle draws a row of hurdles of so many panels, as the board has them: two rails with posts.
func hurdle(panels int) string {
	var b strings.Builder
	for i := range panels + 1 {
		fmt.Fprintf(&b, "M%d 2v14", 4+40*i)
	}
	fmt.Fprintf(&b, "M4 6h%dM4 12h%d", 40*panels, 40*panels)
	return b.String()
}

// panels is how many there are.
const panels = 18

func hurdleBox() string { return fmt.Sprintf("0 0 %d 18", 8+40*panels) }
