package web

import (
	"context"
	"fmt"
	"net/url"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// builder is the address of the drill builder, filled in with a proposal and
// the students that it is for.
func builder(p progress.Proposal, students ...game.PersonID) string {
	ids := make([]string, len(students))
	for i, id := range students {
		ids[i] = fmt.Sprint(id)
	}
	code := p.Ending
	if p.Hold {
		code = holdMark + code
	}
	q := url.Values{
		"ending": {code}, "from": {string(p.From)}, "to": {string(p.To)}, "mode": {string(p.Mode)}, "kind": {p.Kind}, "defender": {p.Defender},
		"for": {strings.Join(ids, ",")},
	}
	return "/drills/new?" + q.Encode()
}

// nextDrill draws a proposal for one student.
func nextDrill(p progress.Proposal, student game.PersonID) *view.NextDrill {
	d := club.Drill{Ending: p.Ending, Hold: p.Hold, From: p.From, To: p.To}
	line := "A verdict after each move"
	if p.Mode == practice.Test {
		line = "A test of five games"
	}
	for _, k := range ending.StartKinds() {
		switch {
		case k.Code != p.Kind:
		case k.Code == ending.AtRandom:
			line += " from random starts"
		default:
			line += ", starts of the kind " + lower(k.Name)
		}
	}
	if who, ok := ending.DefenderOf(p.Defender); ok {
		line += ", against a king that " + who.Does
	}
	return &view.NextDrill{Stage: string(p.From), Title: d.Title(), Line: line + ".", Why: p.Why, Set: view.Link{Href: builder(p, student), Label: "Set this drill"}}
}

// stuckRows are the students who are stuck, with the drill that is proposed for
// each.
func stuckRows(tries []store.TaskTries) []view.StuckRow {
	var out []view.StuckRow
	for _, t := range tries {
		lost, ok := progress.Stuck(t.Tries)
		if !ok {
			continue
		}
		say := fmt.Sprintf("%s: stuck in the %s drill. %s tries in a row were not won.", t.Student.Name, lower(planName(t.Drill.Ending)), numberWord(lost))
		if t.Drill.Hold {
			say = fmt.Sprintf("%s: stuck in holding %s. %s tries in a row were not held.", t.Student.Name, lower(taskName(t.Drill.Ending, true)), numberWord(lost))
		}
		row := view.StuckRow{
			Say:  say,
			Href: fmt.Sprintf("/students/%d", t.Student.ID),
		}
		if p, ok := progress.Propose(progress.Known{Stuck: stuckIn(t)}); ok {
			row.Why, row.Set = p.Why, view.Link{Href: builder(p, t.Student.ID), Label: "Set a drill for " + t.Student.Name}
		}
		out = append(out, row)
	}
	return out
}

func stuckIn(t store.TaskTries) *progress.Key {
	return &progress.Key{Ending: t.Drill.Ending, Stage: t.Drill.From}
}

// plan is what a coach's page says of one student's way on.
type plan struct {
	endings []view.EndingMarks
	stuck   []view.StuckRow
	found   diagnosis
	next    *view.NextDrill
	check   *store.Placement // the starting check, nil: none
}

// planOf weighs all that is known of a student.
func (s *Server) planOf(ctx context.Context, a game.Actor, student game.PersonID) (plan, error) {
	var out plan
	cells, err := s.store.StagesOf(ctx, a.Club, student, s.now())
	if err != nil {
		return out, err
	}
	standings, err := s.store.Standings(ctx, a.Club, student)
	if err != nil {
		return out, err
	}
	habits, err := s.store.HabitsView(ctx, a.Club, student)
	if err != nil {
		return out, err
	}
	tries, err := s.store.OpenTries(ctx, a.Club, student)
	if err != nil {
		return out, err
	}
	out.endings, out.stuck, out.found = endingMarks(cells, standings), stuckRows(tries), diagnose(s.recent(cells), habits[student])
	known := progress.Known{Habit: out.found.habit, HabitIn: out.found.habitIn, Marks: map[progress.Key]progress.Mark{}, Standings: standings}
	for k, clean := range cleanBy(cells) {
		known.Marks[k] = progress.MarkOf(clean, standings[k].Mastered != 0)
	}
	if out.check, err = s.store.LatestPlacement(ctx, a.Club, student); err != nil {
		return out, err
	}
	if out.check != nil && out.check.Ended != nil {
		place := progress.Place(out.check.Passed())
		known.Placed = &place
	}
	if out.found.weakness != nil {
		known.Weakest = out.found.key()
	}
	for _, t := range tries {
		if _, ok := progress.Stuck(t.Tries); ok {
			known.Stuck = stuckIn(t)
		}
	}
	if p, ok := progress.Propose(known); ok {
		out.next = nextDrill(p, student)
	}
	return out, nil
}

// recent are the stages of the weeks that the diagnosis looks back over.
func (s *Server) recent(cells []store.StageCell) []store.StageCell {
	var out []store.StageCell
	for _, c := range cells {
		if c.Ended.After(s.now().Add(-store.Window)) {
			out = append(out, c)
		}
	}
	return out
}

// line says a diagnosis in words.
func (d diagnosis) line() string {
	switch {
	case d.missing > 0:
		return "After " + view.Count(d.missing, "more game") + " this page says where the games are lost."
	case d.weakness == nil:
		return strings.Replace(d.say, "None stands", "No stage stands", 1) + "."
	}
	s := fmt.Sprintf("%s, %s: %d of %s went wrong.", d.plan.Name, place(d.plan.Steps[d.stage].Stage), d.found.K, view.Count(d.found.N, "move"))
	if d.habit != "" {
		s += " Habit: " + string(d.habit) + "."
	}
	return s
}
