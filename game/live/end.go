package live

import (
	"context"
	"slices"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// goneFrame is the panel of a stopped game.
type goneFrame struct {
	Title   string   `json:"title"`
	Say     []string `json:"say"`
	Article string   `json:"article"`
	Back    bool     `json:"back"`
}

// endFrame is the panel of an ended game.
type endFrame struct {
	Kind    string      `json:"kind"`
	Title   string      `json:"title"`
	Say     []string    `json:"say"`
	Article string      `json:"article"`
	Result  string      `json:"result"`
	Next    string      `json:"next"` // what the main button does: next, again
	Stages  []endStage  `json:"stages"`
	Notes   []noteFrame `json:"look"`
	Story   []string    `json:"story,omitempty"` // what was taken back or avoided
}

// endStage is one stage of an ended game, with all stays in it.
type endStage struct {
	ID     string     `json:"id"`
	Moves  int        `json:"moves"` // of all stays
	Par    int        `json:"par"`
	Visits []endVisit `json:"visits"`
}

type endVisit struct {
	Moves int  `json:"moves"`
	Lost  bool `json:"lost,omitempty"`
}

// noteFrame is a move to look at once more.
type noteFrame struct {
	Seq   int    `json:"seq"`
	No    int    `json:"no"`
	Grade string `json:"grade"`
	Say   string `json:"say"`
	Away  bool   `json:"away,omitempty"` // it was taken back

	weight    int // the dearer the move was, the greater
	san       string
	stalemate bool
}

func (h *Hub) goneFrame(ctx context.Context, s practice.State) (*goneFrame, error) {
	last := s.Line[len(s.Line)-1]
	g := &goneFrame{Title: s.Task.Gone(), Back: s.BacksLeft() > 0}
	var err error
	if g.Say, err = s.Why(ctx, h.judge, last, s.Wording); err != nil {
		return nil, err
	}
	g.Article, err = s.Task.Cause(ctx, h.judge, s)
	return g, err
}

func (h *Hub) endFrame(ctx context.Context, s practice.State) (*endFrame, error) {
	if s.Quiet {
		return &endFrame{
			Title: "Thank you", Say: []string{"That is noted. On to the next one."}, Next: string(practice.OnStep),
			Stages: []endStage{}, Notes: []noteFrame{},
		}, nil
	}
	o, err := practice.Summary(ctx, h.judge, s)
	if err != nil {
		return nil, err
	}
	e := &endFrame{
		Kind: string(s.End), Title: s.Title(), Say: o.Sentences(), Article: s.End.Article(),
		Result: string(o.Result), Next: string(o.Next()), Stages: endStages(s),
	}
	notes, err := h.notes(ctx, s)
	e.Story = append(takenBack(notes, s.Wording), avoided(o)...)
	e.Notes = toLookAt(notes, s.Wording)
	return e, err
}

// toLookAt are the moves to look at once more: for the longer wording all of them, for the
// shorter one those that cost most and stand, in the order in which they were made.
func toLookAt(notes []noteFrame, age int) []noteFrame {
	if age >= ending.Fourteen {
		return notes
	}
	return practice.Fewest(notes, func(n noteFrame) (int, bool) { return n.weight, !n.Away })
}

// takenBack tells a child of the shorter wording of the first move that was taken back; for
// the longer one these stand among the moves to look at.
func takenBack(notes []noteFrame, age int) []string {
	i := slices.IndexFunc(notes, func(n noteFrame) bool { return n.Away })
	if i < 0 || age >= ending.Fourteen {
		return nil
	}
	if notes[i].stalemate {
		return []string{"You took one back: " + notes[i].san + " would have been stalemate. He needs one free square."}
	}
	return []string{"You took one back, " + notes[i].san + ": " + notes[i].Say}
}

// avoided says where a move would have been stalemate and none was played.
func avoided(o practice.Outcome) []string {
	all := practice.Habitual{}
	for _, stage := range o.Stages {
		all = all.Add(stage.Habits)
	}
	t := all[practice.Stalemates]
	if t.N == 0 || t.K > 0 || !o.Result.Good() {
		return nil
	}
	return []string{often(t.N) + " a move would have been stalemate, and you played another."}
}

// often says how often something was, at the beginning of a sentence.
func often(n int) string {
	switch n {
	case 1:
		return "Once"
	case 2:
		return "Twice"
	}
	return game.Upper(game.Number(n)) + " times"
}

// endStages are the stages of the line that stands, in the order of first entry.
func endStages(s practice.State) []endStage {
	stages := []endStage{}
	if !s.Task.Staged() {
		return stages
	}
	at := map[ending.Stage]int{}
	for _, v := range s.Visits() {
		i, ok := at[v.Stage]
		if !ok {
			i = len(stages)
			at[v.Stage] = i
			stages = append(stages, endStage{ID: string(v.Stage), Par: practice.ShownPar(v.Stage, v.Par)})
		}
		stages[i].Moves += v.Moves
		stages[i].Visits = append(stages[i].Visits, endVisit{v.Moves, v.Lost})
	}
	return stages
}

// notes are the moves to look at once more: those that were not on course or did
// not hold, taken back or not, and the first that came no nearer.
func (h *Hub) notes(ctx context.Context, s practice.State) ([]noteFrame, error) {
	notes := []noteFrame{}
	story, err := s.Story()
	if err != nil {
		return nil, err
	}
	for _, t := range story {
		if t.Act.Grade == ending.Held || t.Act.Grade == ending.OnCourse && !t.Stuck {
			continue
		}
		n := noteFrame{Seq: t.Act.Seq, No: t.No, Grade: string(t.Act.Grade), Away: t.Away, weight: t.Act.Weight(),
			san: t.Before.SAN(t.Move), stalemate: t.After.Stalemate()}
		if t.Stuck {
			n.Grade, n.Say = string(practice.StuckGrade), ending.NoNearer(t.Nearer)
		} else {
			why, err := s.Why(ctx, h.judge, t.FullMove, s.Wording)
			if err != nil {
				return nil, err
			}
			n.Say = why[0]
		}
		notes = append(notes, n)
	}
	return notes, nil
}
