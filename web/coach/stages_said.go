package coach

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// saidLines is what else is said above the table: who is stuck, who is ready for a test, and
// which games are not counted. Students who are stuck in the same drill and to whom the same kind
// of drill is proposed, or who are ready for the same test, share a line and its action.
func saidLines(t store.StageTable) []SaidLine {
	out := stuckLines(t.Stuck)
	if t.More > 0 {
		are := " are"
		if t.More == 1 {
			are = " is"
		}
		out = append(out, SaidLine{Say: game.Upper(game.Count(t.More, "more student")) + are + " stuck."})
	}
	out = append(out, testLines(t.Tests)...)
	if t.Uncounted > 0 {
		are := " are"
		if t.Uncounted == 1 {
			are = " is"
		}
		out = append(out, SaidLine{Say: game.Upper(game.Count(t.Uncounted, "game")) + " with a coach's own moves" + are + " not counted."})
	}
	return out
}

// shared are students to whom the same drill is proposed.
type shared struct {
	who   []string
	ids   []game.PersonID
	say   string // what they have in common
	drill *progress.Proposal
	why   string // the reason for the drill
}

// line is what is said of them, with the drill that is proposed.
func (s *shared) line(label string) SaidLine {
	l := SaidLine{Say: s.say + ": " + strings.Join(s.who, ", ") + ".", About: game.Lower(s.say)}
	if s.drill != nil {
		l.Do = view.Link{Href: builder(*s.drill, s.ids...), Label: label}
		if len(s.ids) > 1 {
			l.Do.Label += fmt.Sprintf(" for these %d", len(s.ids))
		}
	}
	return l
}

func stuckLines(stuck []progress.Overview) []SaidLine {
	all := stuckAlike(stuck)
	out := make([]SaidLine, len(all))
	for i, s := range all {
		out[i] = s.line("Set a drill")
	}
	return out
}

// stuckKey is what those have in common who share a line.
type stuckKey struct {
	ending string
	hold   bool
	habit  string // against which a drill is proposed: it does nothing for others
}

func stuckKeyOf(at progress.StuckAt) stuckKey {
	k := stuckKey{at.Ending, at.Hold, ""}
	if h := at.Help; h != nil && (h.Kind != ending.AtRandom || h.Near) {
		k.habit = fmt.Sprint(h.Ending, " ", h.Kind, h.Near)
	}
	return k
}

// stuckAlike puts students together who are stuck in the same drill, that of most students
// first.
func stuckAlike(stuck []progress.Overview) []*shared {
	var all []*shared
	by := map[stuckKey]*shared{}
	for _, o := range stuck {
		for _, at := range o.Stuck {
			k := stuckKeyOf(at)
			if by[k] == nil {
				by[k] = &shared{say: stuckIn(at), drill: at.Help}
				all = append(all, by[k])
			}
			by[k].add(o.Student, at)
		}
	}
	slices.SortStableFunc(all, func(a, b *shared) int { return cmp.Compare(len(b.ids), len(a.ids)) })
	return all
}

// add adds a student who is stuck. The easier drill fits them all, and what is said of it is
// said of all of them.
func (s *shared) add(p club.Person, at progress.StuckAt) {
	first := len(s.who) == 0
	if !slices.Contains(s.ids, p.ID) { // who is stuck in two drills of the ending stands there once
		s.who, s.ids = append(s.who, fmt.Sprintf("%s (%s)", p.Name, s.times(at))), append(s.ids, p.ID)
	}
	if at.Help == nil || s.drill == nil {
		return
	}
	if earlier(*at.Help, *s.drill) {
		s.drill = at.Help
	}
	switch {
	case first:
		s.why = at.Help.Why
	case s.why != at.Help.Why:
		s.why = "The easiest part that is proposed for any of them, with a verdict after each move, fits them all."
	}
}

// times is how often it went wrong; the first of a line says what the number means.
func (s *shared) times(at progress.StuckAt) string {
	if len(s.who) > 0 {
		return game.Number(at.Lost)
	}
	won := "won"
	if at.Hold {
		won = "held"
	}
	return game.Number(at.Lost) + " tries in a row not " + won
}

// earlier says whether a drill begins with a later stage of the ending, which is learned
// earlier.
func earlier(a, b progress.Proposal) bool {
	plan, ok := ending.PlanOf(a.Ending)
	return ok && a.Ending == b.Ending && plan.Index(a.From) > plan.Index(b.From)
}

// stuckIn says in which drill a student is stuck.
func stuckIn(at progress.StuckAt) string {
	if at.Hold {
		return "Stuck in holding " + game.Lower(site.TaskName(at.Ending, true))
	}
	return "Stuck in the " + game.Lower(ending.NameOf(at.Ending)) + " drill"
}

func testLines(ready []progress.Overview) []SaidLine {
	var all []*shared
	by := map[string]*shared{}
	for _, o := range ready {
		if o.Test == nil {
			continue
		}
		code := o.Test.Ending
		if by[code] == nil {
			by[code] = &shared{say: "Ready for a test, " + game.Lower(ending.NameOf(code)), drill: o.Test}
			all = append(all, by[code])
		}
		by[code].who, by[code].ids = append(by[code].who, o.Student.Name), append(by[code].ids, o.Student.ID)
	}
	out := make([]SaidLine, len(all))
	for i, s := range all {
		out[i] = s.line("Set it")
	}
	return out
}
