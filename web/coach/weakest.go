package coach

import (
	"fmt"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/view"
)

// foundWords says a diagnosis in the stage view: why there is none.
func foundWords(d progress.Diagnosis) string {
	switch {
	case d.Missing > 0:
		return "Known after " + game.Count(d.Missing, "more game")
	case d.Weak == nil && d.Habit != "":
		return "None stands out so far; habit: " + string(d.Habit)
	}
	return "None stands out so far"
}

// foundLine says a diagnosis on a student's page, in a whole sentence.
func foundLine(d progress.Diagnosis) string {
	switch {
	case d.Missing > 0:
		return "After " + game.Count(d.Missing, "more game") + " this page says where the games are lost."
	case d.Weak == nil && d.Habit != "":
		return "No stage stands out so far; habit: " + string(d.Habit) + "."
	case d.Weak == nil:
		return "No stage stands out so far."
	}
	s := fmt.Sprintf("%s, %s: %s.", ending.NameOf(d.Weak.Ending), d.Weak.Stage.Place(), wrongMoves(d))
	if d.Habit != "" {
		s += " Habit: " + string(d.Habit) + "."
	}
	return s
}

// wrongMoves is the evidence for a weakness.
func wrongMoves(d progress.Diagnosis) string {
	f := d.Weak.Finding
	return fmt.Sprintf("%d of %s went wrong", f.K, game.Count(f.N, "move"))
}

// weakness is the weakness as the table shows it.
func weakness(d progress.Diagnosis) *Weakness {
	if d.Weak == nil {
		return nil
	}
	return &Weakness{
		Ending: d.Weak.Ending, Stage: string(d.Weak.Stage), Habit: string(d.Habit),
		Line: game.Lower(ending.NameOf(d.Weak.Ending)) + ": " + wrongMoves(d),
	}
}

// mostNames is how many students a finding names one by one.
const mostNames = 6

// thread is the finding that names children, with the drill that fits them and
// its reason.
func thread(same []progress.Overview, what progress.Key) ([]view.Part, *view.Link, string) {
	names, ids := make([]string, len(same)), make([]game.PersonID, len(same))
	all := make([]progress.Diagnosis, len(same))
	for i, o := range same {
		names[i], ids[i], all[i] = o.Student.Name, o.Student.ID, o.Found
	}
	who, lose := game.List(names), " lose the thread "
	if len(same) > mostNames {
		who = game.Count(len(same), "student")
	}
	label := "Set a drill for " + names[0]
	if len(same) > 1 {
		label = fmt.Sprintf("Set a drill for these %d", len(same))
	} else {
		lose = " loses the thread "
	}
	at, where := what.Stage.LostOn()
	next := progress.ShareDrill(what, all)
	return []view.Part{
		{Text: who + lose + at}, {Text: where + " (" + game.Lower(ending.NameOf(what.Ending)) + ")",
			Stage: string(what.Stage)},
	}, &view.Link{Href: builder(next, ids...), Label: label}, next.Why
}
