package progress

import (
	"cmp"
	"slices"
)

// TermSum is what a student did between two days, the last one included: games that count.
type TermSum struct {
	Games   int
	Days    int // with a game
	Seconds int // of thought
	Alone   int // won or held alone
	Holds   bool
	Bells   []Key // rung in that time, in the order of their days
}

// Term sums up the games of a time.
func (r Record) Term(from, to Day) TermSum {
	var out TermSum
	days := map[Day]bool{}
	for _, p := range r.Played {
		day := DayOf(p.Ended.In(r.Now.Location()))
		if day < from || day > to {
			continue
		}
		days[day] = true
		out.Games++
		out.Seconds += p.Seconds
		out.Holds = out.Holds || p.Hold
		if p.Result.Alone() {
			out.Alone++
		}
	}
	out.Days = len(days)
	for k, m := range r.Mastery {
		if m.Mastered >= from && m.Mastered <= to && m.Mastered != 0 {
			out.Bells = append(out.Bells, k)
		}
	}
	slices.SortFunc(out.Bells, func(a, b Key) int {
		return cmp.Or(cmp.Compare(r.Mastery[a].Mastered, r.Mastery[b].Mastered), cmp.Compare(a.Ending, b.Ending),
			cmp.Compare(a.Stage, b.Stage))
	})
	return out
}
