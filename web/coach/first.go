package coach

import (
	"fmt"
	"math"
	"strings"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/web/view"
)

// silentWords say in the stage view why nothing is said of a student.
func silentWords(d progress.Diagnosis) string {
	if d.Missing > 0 {
		return "Not yet: " + game.Count(d.Missing, "more game")
	}
	return "Nothing stands out so far"
}

// firstLine says what to teach first on a student's page, in whole sentences.
func firstLine(d progress.Diagnosis) string {
	switch {
	case d.Missing > 0:
		return "After " + game.Count(d.Missing, "more game") + " this page says what to teach first."
	case d.First == nil:
		return "Nothing stands out so far."
	}
	f := *d.First
	say := fmt.Sprintf("%s (%s): %s.", game.Upper(nameOf(f)), inWhich(f), counts(f.Habit, f.K, f.N))
	if f.Shows != "" {
		say += " Habit there: " + f.Shows.Name() + "."
	}
	return say + fmt.Sprintf(" Without it a game would be about %s shorter.", practice.Moves(int(math.Round(f.Gain))))
}

// found fills what to teach first from a diagnosis.
func (m *FirstSaid) found(d progress.Diagnosis) {
	m.Say = firstLine(d)
	if d.Missing > 0 || d.First == nil {
		return
	}
	m.Name = game.Upper(nameOf(*d.First))
	m.Say = strings.TrimPrefix(m.Say, m.Name)
	if d.First.Habit == "" {
		m.Stage = string(d.First.Stage)
	}
}

// nameOf names a thing to teach as a coach calls it.
func nameOf(f progress.First) string {
	if f.Habit != "" {
		return f.Habit.Name()
	}
	return f.Stage.Name()
}

// inWhich says in which ending a thing shows, and where in it.
func inWhich(f progress.First) string {
	say := game.Lower(ending.NameOf(f.Ending))
	if f.Habit != "" && f.Stage != "" {
		say += ", mostly " + f.Stage.Lost()
	}
	return say
}

// counts is the evidence for a habit, or for a stage.
func counts(h practice.Habit, k, n int) string {
	if h != "" {
		return h.Counts(k, n)
	}
	return fmt.Sprintf("%d of %s went wrong", k, game.Count(n, "move"))
}

// firstCell is what to teach first as the table shows it.
func firstCell(d progress.Diagnosis) *FirstCell {
	if d.First == nil {
		return nil
	}
	f := *d.First
	c := &FirstCell{Ending: f.Ending, Name: game.Upper(nameOf(f)), Where: game.Lower(ending.NameOf(f.Ending))}
	if f.Habit == "" {
		c.Stage, c.Counts = string(f.Stage), fmt.Sprintf("%d of %d moves wrong", f.K, f.N)
		if f.Shows != "" {
			c.Where += ", " + f.Shows.Name()
		}
		return c
	}
	c.Counts = fmt.Sprintf("%d of %d chances", f.K, f.N)
	if f.Stage != "" {
		c.Where += ", mostly " + f.Stage.Word()
	}
	return c
}

// mostNames is how many students a finding names one by one.
const mostNames = 6

// thread is a finding that names children, with its evidence and the drill that fits them.
type thread struct {
	what     progress.First
	finding  []view.Part
	evidence string
	why      string // the reason for the drill
	action   view.Link
}

// threadOf is what students are to be taught first who are to be taught the same.
func threadOf(same []progress.Overview) thread {
	names, ids := make([]string, len(same)), make([]game.PersonID, len(same))
	what := *same[0].Found.First
	what.N, what.K = 0, 0
	for i, o := range same {
		f := o.Found.First
		names[i], ids[i] = o.Student.Name, o.Student.ID
		what.N, what.K = what.N+f.N, what.K+f.K
		if f.Stage != what.Stage {
			what.Stage = "" // not the same place for all
		}
		if f.Shows != what.Shows {
			what.Shows = ""
		}
	}
	who := game.List(names)
	if len(same) > mostNames {
		who = game.Count(len(same), "student")
	}
	label := "Set a drill for " + names[0]
	if len(same) > 1 {
		label = fmt.Sprintf("Set a drill for these %d", len(same))
	}
	next := progress.DrillFor(what)
	return thread{
		what: what, finding: saying(who, what, len(same) > 1), why: next.Why,
		evidence: game.Upper(fmt.Sprintf("%s: %s.", inWhich(what), counts(what.Habit, what.K, what.N))),
		action:   view.Link{Href: builder(next, ids...), Label: label},
	}
}

// thread puts a finding at the head of the page.
func (m *StagesPage) thread(same []progress.Overview) {
	t := threadOf(same)
	m.Finding, m.Evidence, m.Why, m.Action = t.finding, t.evidence, t.why, &t.action
}

// saying is the finding as a sentence about one student, or about many.
func saying(who string, f progress.First, many bool) []view.Part {
	if f.Habit != "" {
		return view.Plain(who + " " + f.Habit.Done(many))
	}
	lose := " loses the thread "
	if many {
		lose = " lose the thread "
	}
	at, where := f.Stage.LostOn()
	return []view.Part{{Text: who + lose + at}, {Text: where, Stage: string(f.Stage)}}
}
