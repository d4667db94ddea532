package progress

import (
	"slices"
	"sort"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// mostGames is how many games of an ending the rule looks back over.
const mostGames = 20

// Weakness is the stage that the rule names for one student, with its evidence.
type Weakness struct {
	Key
	Finding Finding
}

// Diagnosis is what the rule says of one student: a weakness or none, and the habit
// that shows.
type Diagnosis struct {
	Weak    *Weakness
	Missing int            // games until the rule says anything; 0: it has spoken
	Habit   practice.Habit // of the weakness' ending; without one, over all endings
	HabitIn string         // the ending in which it shows most
}

// Diagnosis applies the rule to the games of the last weeks, ending by ending; where
// it names several stages, the surest is said.
func (r Record) Diagnosis() Diagnosis {
	var best *Weakness
	missing, all := Enough, []map[practice.Habit]practice.Tally{}
	recent := r.recent()
	plans := ending.Plans()
	for i := range plans {
		plan := &plans[i]
		all = append(all, r.Habits[plan.Code])
		f, left := Named(plan.Code, tallies(plan, recent))
		missing = min(missing, left)
		if f.Stage >= 0 && (best == nil || f.Posterior > best.Finding.Posterior) {
			best = &Weakness{Key{plan.Code, plan.Steps[f.Stage].Stage}, f}
		}
	}
	if best != nil {
		return Diagnosis{Weak: best, Habit: HabitOf(r.Habits[best.Ending]), HabitIn: best.Ending}
	}
	if missing > 0 {
		return Diagnosis{Missing: missing}
	}
	habit := HabitOf(SumHabits(all...))
	return Diagnosis{Habit: habit, HabitIn: r.Habits.oftenIn(habit)}
}

// recent are the stages of the weeks that the diagnosis looks back over.
func (r Record) recent() []StagePlayed {
	since := r.Now.Add(-Window)
	return slices.DeleteFunc(slices.Clone(r.Stages), func(p StagePlayed) bool { return !p.Ended.After(since) })
}

// oftenIn is the ending in which a habit was given in to most often.
func (h Habits) oftenIn(habit practice.Habit) string {
	in, k := "", 0
	for _, plan := range ending.Plans() {
		if n := h[plan.Code][habit].K; n > k {
			in, k = plan.Code, n
		}
	}
	return in
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
			games[i][s] = games[i][s].Add(Tally{N: p.Moves, K: p.Bad, Weights: p.Weights()})
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
