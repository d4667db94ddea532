package student

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// holdMark stands before the code of an ending whose draw is held.
const holdMark = "hold-"

// Free is the page of free practice: any ending that the student has met, from any stage.
func (s Pages) Free(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if may, err := s.Store.Practises(r.Context(), a.Club, a.Person); err != nil || !may {
		return cmp.Or(err, store.ErrRests)
	}
	of, err := s.freeRecord(r.Context(), a)
	if err != nil {
		return err
	}
	m := FreePage{Page: page, Sides: []view.Choice{
		{Value: "w", Label: "White", Chosen: true}, {Value: "b", Label: "Black"},
	}, Kings: []view.Choice{{Label: "As fits the part", Chosen: true}}}
	for _, d := range ending.Defenders() {
		if d.Code != ending.ByHand {
			m.Kings = append(m.Kings, view.Choice{Value: d.Code, Label: "He " + d.Does})
		}
	}
	open, err := s.Store.OpenFree(r.Context(), a)
	if err != nil {
		return err
	}
	if open != 0 {
		m.GoOn = view.Link{Href: fmt.Sprintf("/play/%d", open), Label: "Go on with your game"}
	}
	marks := of.Marks()
	for _, met := range of.Met() {
		m.Rows = append(m.Rows, freeRow(met, marks))
	}
	return s.Show(w, r, m.View())
}

// freeRecord is what free practice is decided from.
func (s Pages) freeRecord(ctx context.Context, a game.Actor) (progress.Record, error) {
	return s.Store.RecordOf(ctx, a.Club, a.Person, store.WithStages, store.WithMastery, store.WithTasks, store.WithHolds,
		store.WithPlacement)
}

func freeRow(met progress.Met, marks progress.Marks) FreeRow {
	row := FreeRow{Ending: site.EndingOf(met.Code), Name: site.TaskName(met.Code, met.Hold)}
	plan, ok := ending.PlanOf(met.Code)
	if met.Hold || !ok {
		row.Stages = []FreeStage{{Value: holdMark + met.Code, Stage: string(ending.HoldStage), State: view.Reached, Word: "hold"}}
		return row
	}
	for _, step := range plan.Steps {
		k := progress.Key{Ending: plan.Code, Stage: step.Stage}
		row.Stages = append(row.Stages, FreeStage{Value: plan.Code + "." + string(step.Stage), Stage: string(step.Stage),
			State: site.Picture(marks[k]), Word: step.Stage.Word()})
	}
	return row
}

type freeForm struct {
	What     string `schema:"what"` // KRK.edge, or hold-KPK
	Side     string `schema:"side"`
	Defender string `schema:"defender"`
}

// FreePost begins free practice.
func (s Pages) FreePost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f freeForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	of, err := s.freeRecord(r.Context(), a)
	if err != nil {
		return err
	}
	d, err := f.drill(of.Met())
	if err != nil {
		return err
	}
	fen, err := s.freeStart(r.Context(), d, f.Side == "b")
	if err != nil {
		return err
	}
	d.Starts = []string{fen}
	g, err := s.Store.FreePractice(r.Context(), a, d)
	if err != nil {
		return err
	}
	return s.GoPlay(w, r, g)
}

// drill is what was chosen, of the endings that are met.
func (f freeForm) drill(met []progress.Met) (club.Drill, error) {
	code, hold := strings.CutPrefix(f.What, holdMark)
	d := club.Drill{Ending: code, Hold: hold, Mode: practice.Guided, From: ending.HoldStage, To: ending.HoldStage,
		Rule: club.RuleOf(practice.Guided)}
	if !hold {
		var stage string
		d.Ending, stage, _ = strings.Cut(f.What, ".")
		plan, ok := ending.PlanOf(d.Ending)
		if !ok || plan.Index(ending.Stage(stage)) < 0 {
			return d, site.Missing()
		}
		d.From, d.To = ending.Stage(stage), plan.Steps[plan.Last()].Stage
		d.Defender = progress.Trainer(progress.Key{Ending: d.Ending, Stage: d.From})
		if king, ok := ending.DefenderOf(f.Defender); ok && king.Code != ending.ByHand {
			d.Defender = king.Code
		}
	}
	for _, m := range met {
		if m == (progress.Met{Code: d.Ending, Hold: d.Hold}) {
			return d, nil
		}
	}
	return d, site.Missing()
}

// freeStart picks a start at random, with the colours exchanged where Black plays.
func (s Pages) freeStart(ctx context.Context, d club.Drill, black bool) (string, error) {
	picked, err := d.Task().Pick(ctx, s.Judge, d.Ending, ending.Wanted{Stage: d.From, To: d.To, Kind: ending.AtRandom, N: 1,
		Seed: rand.Int64()})
	if err != nil {
		return "", err
	}
	p := picked.Starts[0]
	if black {
		if p, err = p.Mirrored(); err != nil {
			return "", err
		}
	}
	return p.FEN(), nil
}

// anotherStart is another start of the same free practice, for the same side.
func (s Pages) anotherStart(ctx context.Context, a game.Actor, info store.GameInfo) (string, error) {
	state, err := s.Hub.State(ctx, a.Club, info.ID)
	if err != nil {
		return "", err
	}
	d := club.Drill{Ending: info.Ending, Hold: info.Hold, From: info.From, To: info.To}
	return s.freeStart(ctx, d, state.Side == board.Black)
}

// firstFree is free practice as a newcomer's first page has it: the stage at which the ladder
// begins for them.
func (s Pages) firstFree(ctx context.Context, a game.Actor, k progress.Key, wording int) (DueCard, error) {
	plan, ok := ending.PlanOf(k.Ending)
	if !ok {
		return DueCard{}, site.Missing()
	}
	starts, err := s.Judge.Starts(ctx, plan, k.Stage, 1, int64(a.Person))
	if err != nil {
		return DueCard{}, err
	}
	return DueCard{
		Post: "/free", Hidden: []view.Hidden{{Name: "what", Value: k.Ending + "." + string(k.Stage)}}, Title: plan.Name,
		Stage: string(k.Stage), State: view.NotBegun, StageSay: k.Stage.For(wording), Line: "Free practice: it counts for nothing.",
		FEN: starts[0].FEN(), Action: "Start",
	}, nil
}
