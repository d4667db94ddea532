package progress

import (
	"slices"
	"sort"
	"time"

	"drover/game"
	"drover/game/ending"
)

// mostGames is how many games of an ending the rule looks back over.
const mostGames = 20

// Diagnosis is what the rule says of one student.
type Diagnosis struct {
	First   *First // what to teach first; nil: nothing stands out
	Fails   []Key  // the stages that stand out, one of an ending at most
	Missing int    // games until the rule says anything; 0: it has spoken
}

// FailsAt says whether a stage stands out.
func (d Diagnosis) FailsAt(k Key) bool {
	return slices.Contains(d.Fails, k) || d.First != nil && d.First.Habit == "" && k == Key{d.First.Ending, d.First.Stage}
}

// Diagnosis applies the rule to the games of the last weeks, ending by ending. What is to
// be taught first is what saves most in a game of any of them.
func (r Record) Diagnosis() Diagnosis {
	d := Diagnosis{Missing: Enough}
	recent := r.recent()
	plans := ending.Plans()
	for i := range plans {
		plan := &plans[i]
		games := tallies(plan, recent)
		f, left := Named(plan.Code, games)
		d.Missing = min(d.Missing, left)
		if f.Stage >= 0 {
			d.Fails = append(d.Fails, Key{plan.Code, plan.Steps[f.Stage].Stage})
		}
		if left > 0 {
			continue
		}
		if first, ok := FirstOf(plan.Code, games); ok && (d.First == nil || first.Gain > d.First.Gain) {
			d.First = &first
		}
	}
	return d
}

// recent are the stages of the weeks that the diagnosis looks back over.
func (r Record) recent() []StagePlayed {
	since := r.Now.Add(-Window)
	return slices.DeleteFunc(slices.Clone(r.Stages), func(p StagePlayed) bool { return !p.Ended.After(since) })
}

// tallies groups a student's stages of one ending game by game, oldest first.
func tallies(plan *ending.Plan, played []StagePlayed) [][]Tally {
	var games [][]Tally
	at := map[game.GameID]int{}
	for _, p := range byEnd(plan.Code, played) {
		i, ok := at[p.Game]
		if !ok {
			i = len(games)
			at[p.Game] = i
			games = append(games, make([]Tally, len(plan.Steps)))
		}
		if s := plan.Index(p.Stage); s >= 0 {
			games[i][s] = games[i][s].Add(Tally{N: p.Moves, K: p.Bad, Weights: p.Weights(), Habits: p.Habits})
		}
	}
	return games[max(0, len(games)-mostGames):]
}

// byEnd takes the stages of one ending by the time their games ended.
func byEnd(code string, played []StagePlayed) []StagePlayed {
	var out []StagePlayed
	for _, p := range played {
		if p.Ending == code {
			out = append(out, p)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Ended.Before(out[j].Ended) })
	return out
}

// Clean lists, for each stage that a page draws, whether it was clean in each game,
// the oldest first.
func (r Record) Clean() map[Key][]bool { return r.cleanUntil(r.Now) }

func (r Record) cleanUntil(at time.Time) map[Key][]bool {
	by := map[Key][]bool{}
	for _, p := range r.Stages {
		if p.Shown() && !p.Ended.After(at) {
			k := Key{p.Ending, p.Stage}
			by[k] = append(by[k], p.Clean)
		}
	}
	return by
}

// Marks say how far a student is with each stage; a stage without a row is not begun.
type Marks map[Key]Mark

// Marks are how far the student is now.
func (r Record) Marks() Marks { return r.MarksAt(r.Now) }

// MarksAt are the marks as they stood at a time.
func (r Record) MarksAt(at time.Time) Marks {
	marks := Marks{}
	for k, clean := range r.cleanUntil(at) {
		marks[k] = MarkOf(clean, false)
	}
	for k, s := range r.Mastery {
		if s.Mastered != 0 && s.Mastered <= DayOf(at) {
			marks[k] = Mastered
		}
	}
	return marks
}
