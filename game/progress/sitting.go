package progress

import (
	"slices"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
)

// Sitting is a test of five games, or what was played of it on one day.
type Sitting struct {
	Day      Day
	Ending   string
	From, To ending.Stage
	Games    []Trial // the oldest first

	last int // the number of the last of them among all trials
}

// Sittings takes a student's trials, oldest first, as tests: a day's trials of one drill
// five by five. What is left of a day begins no test of the next.
func Sittings(trials []Trial) []Sitting {
	type set struct {
		day      Day
		ending   string
		from, to ending.Stage
	}
	var all []Sitting
	at := map[set]int{}
	for i, t := range trials {
		k := set{t.Day, t.Ending, t.From, t.To}
		n, ok := at[k]
		if !ok || all[n].Over() {
			n = len(all)
			all = append(all, Sitting{Day: t.Day, Ending: t.Ending, From: t.From, To: t.To})
		}
		at[k] = n
		all[n].Games, all[n].last = append(all[n].Games, t), i
	}
	return all
}

// SittingOn is the last test of a drill on a day; without games where none was played.
func SittingOn(trials []Trial, code string, from, to ending.Stage, day Day) Sitting {
	all := Sittings(trials)
	for i := len(all) - 1; i >= 0; i-- {
		if s := all[i]; s.Day == day && s.Ending == code && s.From == from && s.To == to {
			return s
		}
	}
	return Sitting{Day: day, Ending: code, From: from, To: to}
}

// SittingWith is the test that a game belongs to, up to that game; without games where it
// belongs to none.
func SittingWith(trials []Trial, id game.GameID) Sitting {
	for _, s := range Sittings(trials) {
		if i := slices.IndexFunc(s.Games, func(t Trial) bool { return t.Game == id }); i >= 0 {
			s.Games = s.Games[:i+1]
			return s
		}
	}
	return Sitting{}
}

// Won is how many of its games are passed.
func (s Sitting) Won() int {
	n := 0
	for _, t := range s.Games {
		if t.Passed() {
			n++
		}
	}
	return n
}

// Over says whether all five games are played.
func (s Sitting) Over() bool { return len(s.Games) == club.TestGames }

// Passed says whether the test is passed.
func (s Sitting) Passed() bool { return s.Over() && s.Won() >= club.TestPassed }

// Next is the number, from 1, of the game that comes next on its day: where the test is over,
// the first of another.
func (s Sitting) Next() int {
	if s.Over() {
		return 1
	}
	return len(s.Games) + 1
}

// Within is the number of moves within which its games are passed; 0: they must be clean.
func (s Sitting) Within() int { return club.Within(s.Ending, s.From, s.To) }

// Covers says whether the test asks for a stage.
func (s Sitting) Covers(k Key) bool {
	return s.Ending == k.Ending && slices.Contains(Trial{Ending: s.Ending, From: s.From, To: s.To}.stages(), k.Stage)
}

// Last is the game with which it ended so far; 0: none.
func (s Sitting) Last() game.GameID {
	if len(s.Games) == 0 {
		return 0
	}
	return s.Games[len(s.Games)-1].Game
}

// Sitting is how far a student is today with the test that a task is; nil where it is none.
func (r Record) Sitting(d club.Drill) *Sitting {
	if !d.OfFive() {
		return nil
	}
	s := SittingOn(r.Trials, d.Ending, d.From, d.To, r.Today())
	return &s
}

// AsksAgain is the day on which the first of the stages that a passed test covers is asked
// for again; 0 where none waits for that.
func (r Record) AsksAgain(s Sitting) Day {
	var first Day
	for k, m := range r.Mastery {
		if s.Covers(k) && m.Mastered == 0 && m.Tested == s.Day && (first == 0 || m.Due < first) {
			first = m.Due
		}
	}
	return first
}

// Rung lists the stages that became mastered with a game, in the order of teaching.
func (r Record) Rung(id game.GameID) []Key {
	i := slices.IndexFunc(r.Trials, func(t Trial) bool { return t.Game == id })
	if i < 0 {
		return nil
	}
	before, after := MasteryOf(r.Trials[:i], nil), MasteryOf(r.Trials[:i+1], nil)
	var out []Key
	for _, s := range r.Trials[i].stages() {
		k := Key{r.Trials[i].Ending, s}
		old := r.Bells[k] != 0 && r.Bells[k] < r.Trials[i].Day
		if after[k].Mastered != 0 && before[k].Mastered == 0 && !old {
			out = append(out, k)
		}
	}
	return out
}

// Certificate is what a club signs for: every stage of an ending mastered.
type Certificate struct {
	Ending string
	Day    Day       // on which the last stage was mastered
	Test   Sitting   // that was passed; without games where several parts were tested, or none is known any more
	Tests  []Sitting // that the stages rest on, as far as they are known: the one, or those of the parts
	Later  int       // days from that test to the re-check that made it mastered; 0: not known
}

// CertificateOf is the certificate of an ending; missing are the stages that are not mastered yet.
func (r Record) CertificateOf(plan ending.Plan) (c Certificate, missing []ending.Stage) {
	c.Ending = plan.Code
	for _, step := range plan.Steps {
		day := r.Mastery[Key{plan.Code, step.Stage}].Mastered
		if day == 0 {
			missing = append(missing, step.Stage)
		}
		c.Day = max(c.Day, day)
	}
	if len(missing) > 0 {
		return Certificate{}, missing
	}
	for _, s := range Sittings(r.Trials) {
		switch n := r.restOn(plan, s); {
		case n == 0:
			continue
		case n == len(plan.Steps) && s.Within() > 0:
			c.Test, c.Later = s, int(c.Day-s.Day)
		}
		c.Tests = append(c.Tests, s)
	}
	return c, nil
}

// restOn is how many stages of an ending rest on a test.
func (r Record) restOn(plan ending.Plan, s Sitting) int {
	n := 0
	for _, step := range plan.Steps {
		k := Key{plan.Code, step.Stage}
		if s.Passed() && s.Covers(k) && r.Mastery[k].Tested == s.Day {
			n++
		}
	}
	return n
}
