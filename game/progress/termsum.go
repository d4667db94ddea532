package progress

import (
	"slices"
	"time"

	"drover/game/practice"
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
		if p.Result == practice.Clean || p.Result == practice.OverPar {
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
		if d := r.Mastery[a].Mastered - r.Mastery[b].Mastered; d != 0 {
			return int(d)
		}
		return compareKeys(a, b)
	})
	return out
}

func compareKeys(a, b Key) int {
	if a.Ending != b.Ending {
		return slices.Compare([]byte(a.Ending), []byte(b.Ending))
	}
	return slices.Compare([]byte(a.Stage), []byte(b.Stage))
}

// DayAt is the moment at which a day begins where the record's clock stands.
func (r Record) DayAt(d Day) time.Time { return d.Begins(r.Now.Location()) }
