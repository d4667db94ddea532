package coach

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/web/site"
	"drover/web/view"
)

// drillFacts are what can be said of a drill's starts before anybody plays them.
func (s Pages) drillFacts(ctx context.Context, d club.Drill, looked int) ([]Fact, error) {
	var facts []Fact
	if looked > 0 {
		facts = append(facts, Fact{Name: "Fits",
			Say: fmt.Sprintf("%s of the %d looked at, with none repeated or mirrored", site.StartsWord(len(d.Starts)), looked)})
	}
	asked, err := progress.AskedOf(ctx, s.Judge, d)
	if err != nil {
		return nil, err
	}
	least, most := 0, 0
	for _, start := range asked {
		if least == 0 || start.Moves < least {
			least = start.Moves
		}
		most = max(most, start.Moves)
	}
	if d.Hold {
		facts = append(facts, Fact{Name: "To hold", Say: practice.Moves(most)})
	} else {
		facts = append(facts, Fact{Name: "Par", Say: fromTo(least, most)})
	}
	return append(facts, Fact{Name: "One start takes", Say: "about " + game.Count(club.MinutesOf(most), "minute")}), nil
}

func fromTo(least, most int) string {
	if least == most {
		return practice.Moves(most)
	}
	return fmt.Sprintf("%d to %s", least, practice.Moves(most))
}

// chooseDrill fills the choices of the builder; what does not fit the chosen ending is
// off.
func chooseDrill(m *DrillNewPage, f drillForm) {
	chooseEnding(m, f)
	for _, d := range ending.Defenders() {
		m.Defenders = append(m.Defenders, view.Choice{Value: d.Code, Label: d.Name, Chosen: d.Code == f.Defender,
			Say: d.Trains})
	}
	labels := []string{"1 His wish", "2 His pen or the gaps", "3 Which man", "4 The move"}
	if m.Hold {
		labels[1], labels[2] = "2 His next step", "3 Moves that hold"
	}
	for step, label := range labels {
		h := ending.Help(step + 1)
		m.Helps = append(m.Helps, view.Choice{Value: strconv.Itoa(step + 1), Label: label,
			Chosen: slices.Contains(f.Help, h)})
	}
	m.Modes = choices(f.Mode, "guided", "Guided: after each move", "practice", "Practice: when something goes wrong",
		"test", "Test: at the end")
	m.Passes = choices(f.Pass, club.PassAll, "each start won or held", club.PassClean, "each start clean",
		club.PassMost, "three in four clean", club.PassHalf, "half of them won or held")
	m.Allowances = choices(f.Allowance, "0", "none", "1", "1 move", "2", "2 moves", "3", "3 moves", "5", "5 moves", "8",
		"8 moves", "12", "12 moves")
	m.Takes = choices(f.Backs, "0", "none", "1", "1 in a try", "2", "2 in a try", "3", "3 in a try")
}

// chooseEnding fills the endings, and of stages and kinds of start offers those that
// the chosen one has.
func chooseEnding(m *DrillNewPage, f drillForm) {
	var chosen EndingChoice
	for _, e := range endings() {
		e.Chosen = e.Value == f.Ending
		if e.Chosen {
			chosen, m.Hold = e, e.hold()
		}
		if e.hold() {
			m.Holds = append(m.Holds, e)
		} else {
			m.Endings = append(m.Endings, e)
		}
	}
	for _, stage := range ending.Stages() {
		id := string(stage)
		m.From = append(m.From, view.Choice{Value: id, Label: stage.Name(), Chosen: id == f.From})
		m.To = append(m.To, view.Choice{Value: id, Label: stage.Name(), Chosen: id == f.To})
	}
	for _, k := range ending.StartKinds() {
		m.Kinds = append(m.Kinds, view.Choice{Value: k.Code, Label: k.Name, Chosen: k.Code == f.Kind, Say: k.Say})
	}
	m.Kinds = append(m.Kinds, view.Choice{Value: pasted, Label: "Pasted", Chosen: f.Kind == pasted,
		Say: "Positions of your own, each checked."})
	if chosen.Value == "" {
		return
	}
	offer(m.Kinds, chosen.Kinds, ending.AtRandom)
	if !m.Hold {
		from := offer(m.From, chosen.From, chosen.From[0])
		last := len(chosen.Stages) - 1
		offer(m.To, chosen.Stages[slices.Index(chosen.Stages, from):], chosen.Stages[last])
	}
}

// offer turns those choices off that are not among some, and gives the one that is
// chosen: another, where that is off.
func offer(choices []view.Choice, some []string, another string) string {
	chosen := another
	for _, c := range choices {
		if c.Chosen && slices.Contains(some, c.Value) {
			chosen = c.Value
		}
	}
	for i := range choices {
		choices[i].Off = !slices.Contains(some, choices[i].Value)
		choices[i].Chosen = choices[i].Value == chosen
	}
	return chosen
}

// fit puts a stage or a kind of start that the chosen ending does not have back to one
// that it has.
func (f *drillForm) fit() {
	var m DrillNewPage
	chooseEnding(&m, *f)
	for field, choices := range map[*string][]view.Choice{&f.From: m.From, &f.To: m.To, &f.Kind: m.Kinds} {
		for _, c := range choices {
			if c.Chosen {
				*field = c.Value
			}
		}
	}
}

// endings are all that can be chosen, with what each has.
func endings() []EndingChoice {
	var all []EndingChoice
	for _, plan := range ending.Taught() {
		e := EndingChoice{Ending: view.Ending{ID: plan.Code, Name: plan.Name}, Value: plan.Code, Men: menOf(plan.Code, false)}
		for _, step := range plan.Steps {
			e.Stages = append(e.Stages, string(step.Stage))
			if !plan.Pawn || step.Stage != ending.Mate { // a pawn has no start there
				e.From = append(e.From, string(step.Stage))
			}
		}
		for _, k := range ending.StartKinds() {
			if k.Only == "" || k.Only == plan.Code {
				e.Kinds = append(e.Kinds, k.Code)
			}
		}
		e.Kinds = append(e.Kinds, pasted)
		all = append(all, e)
	}
	for _, h := range ending.Holds() {
		all = append(all, EndingChoice{Ending: view.Ending{ID: h.Code, Name: h.Name}, Value: holdMark + h.Code,
			Kinds: []string{ending.AtRandom, ending.OnlyMove, pasted}, Men: menOf(h.Code, true)})
	}
	return all
}

// menOf writes the men of an ending as a FEN does. The student has White, who is named
// first in a drill to win, and second in one that holds.
func menOf(code string, hold bool) string {
	second := strings.LastIndex(code, "K")
	if hold {
		return code[second:] + strings.ToLower(code[:second])
	}
	return code[:second] + strings.ToLower(code[second:])
}

// choices pairs values and labels, with one chosen.
func choices(chosen string, pairs ...string) []view.Choice {
	var out []view.Choice
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, view.Choice{Value: pairs[i], Label: pairs[i+1], Chosen: pairs[i] == chosen})
	}
	return out
}
