package progress

import (
	"context"
	_ "embed" // the starts of the ready drills
	"encoding/json"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// The levels of a ready drill.
const (
	Beginning = 1 // the last part, which is taught first
	GoingOn   = 2 // earlier parts, and what goes wrong most
	Sure      = 3 // the whole, without help
)

// Ready is a drill that Drover brings for a club's shelf.
type Ready struct {
	Code   string // its name for ever, as in "KRK-edge"
	Drill  club.Drill
	wanted ending.Wanted
}

// readyStarts are the starts of each ready drill by its code, as pickStarts picks them: the
// seeds are fixed, so every club has the same, and a test holds the file against them.
//
//go:embed shelf.json
var readyStarts []byte

// Shelf lists the ready drills: ending after ending, each taught backwards, then what is
// held.
func Shelf() ([]Ready, error) {
	var starts map[string][]string
	if err := json.Unmarshal(readyStarts, &starts); err != nil {
		return nil, fmt.Errorf("read the starts of the ready drills: %w", err)
	}
	out := readyRows()
	for i := range out {
		d := &out[i].Drill
		if d.Starts = starts[out[i].Code]; len(d.Starts) == 0 {
			return nil, fmt.Errorf("the ready drill %s has no starts", out[i].Code)
		}
		d.Rule.Pass(out[i].passes(), len(d.Starts))
		if err := d.Validate(); err != nil {
			return nil, fmt.Errorf("the ready drill %s: %w", out[i].Code, err)
		}
	}
	return out, nil
}

// pickStarts picks the starts of all ready drills anew.
func pickStarts(ctx context.Context, judge *ending.Judge) (map[string][]string, error) {
	all := map[string][]string{}
	for _, r := range readyRows() {
		picked, err := r.Drill.Task().Pick(ctx, judge, r.Drill.Ending, r.wanted)
		if err != nil {
			return nil, fmt.Errorf("pick starts of the ready drill %s: %w", r.Code, err)
		}
		for _, p := range picked.Starts {
			all[r.Code] = append(all[r.Code], p.FEN())
		}
	}
	return all, nil
}

// ReadyDrills is how many ready drills there are.
func ReadyDrills() int { return len(readyRows()) }

// ReadyAgainst is the ready drill that trains a stage of an ending, or draws that are
// held, with starts of a kind; without its starts.
func ReadyAgainst(code string, stage ending.Stage, kind string) (club.Drill, bool) {
	for _, r := range readyRows() {
		d := r.Drill
		at := kind != ending.AtRandom || d.From == stage && d.Mode != practice.Test
		if d.Ending == code && d.Hold == (stage == ending.HoldStage) && d.Kind == kind && at {
			return d, true
		}
	}
	return club.Drill{}, false
}

// passes is the way of passing: of a test four in five are to be clean.
func (r Ready) passes() string {
	if r.Drill.Mode == practice.Test {
		return club.PassMost
	}
	return club.PassAll
}

// readyRows lists the ready drills without their starts.
func readyRows() []Ready {
	var out []Ready
	for _, plan := range ending.Taught() {
		out = append(out, stepwise(plan)...)
		for _, k := range readyKinds {
			if k.has(plan.Code) {
				out = append(out, k.ready(plan))
			}
		}
		out = append(out, readyTest(plan))
	}
	for _, h := range ending.Holds() {
		out = append(out, readyHold(h, ending.AtRandom, GoingOn, h.Aim), readyHold(h, ending.OnlyMove, Sure,
			"Find the one move that holds the draw."))
	}
	return out
}

// stepwise are the drills from each stage to the end, the last stage first.
func stepwise(plan ending.Plan) []Ready {
	var out []Ready
	for i := plan.Last(); i >= 0; i-- {
		step, level := plan.Steps[i], GoingOn
		switch {
		case plan.Pawn && i == plan.Last(): // the queen's own drill
			continue
		case i == plan.Last() || plan.Pawn && i == plan.Last()-1:
			level = Beginning
		case i == 0 && len(plan.Steps) > 2 && !plan.Pawn:
			level = Sure
		}
		d := attack(plan, step.Stage, practice.Guided)
		d.Level, d.Trains = level, step.Aim
		out = append(out, ready(string(step.Stage), d, ending.AtRandom, 4))
	}
	return out
}

// attack is a drill from a stage to the end of its ending, without starts.
func attack(plan ending.Plan, from ending.Stage, mode practice.Mode) club.Drill {
	return club.Drill{Ending: plan.Code, Mode: mode, From: from, To: plan.Steps[plan.Last()].Stage,
		Defender: Trainer(Key{Ending: plan.Code, Stage: from}), Rule: club.RuleOf(mode)}
}

// readyKind is a kind of start for which there are ready drills.
type readyKind struct {
	kind   string
	of     string // the endings that have one
	from   ending.Stage
	level  int
	trains string
}

func (k readyKind) has(code string) bool { return slices.Contains(strings.Fields(k.of), code) }

// readyKinds is data: another kind, or another ending of a kind, is added here.
var readyKinds = []readyKind{
	{ending.Traps, "KQK", ending.Mate, GoingOn, "Leave him a square: many a natural move is stalemate."},
	{ending.Traps, "KRRK KRK", ending.Mate, GoingOn, "See what he attacks, and do not leave a rook to him."},
	{ending.Traps, "KBBK", ending.Corner, GoingOn, "Leave him a square near the corner, and guard both bishops."},
	{ending.Traps, "KBNK", ending.Mate, GoingOn, "Leave him a square in the corner, until it is mate."},
	{ending.Traps, "KPK", ending.Escort, GoingOn, "See which pawn move gives the win away before you make it."},
	{ending.KingMoves, "KQK KRK KRRK", ending.Edge, GoingOn, "See when your king must come and help."},
	{ending.ChecksCost, "KQK KRK", ending.Edge, GoingOn, "Let the check wait where it only drives him back."},
	{ending.WrongCorner, "KBNK", ending.Corner, GoingOn, "Drive him out of the corner in which he cannot be mated."},
	{ending.AlongEdge, "KBNK", ending.Corner, Sure, "Drive him along the edge without letting him out."},
	{ending.OnlyMove, "KQK KRRK KRK KBNK", ending.Edge, Sure, "Find the one move that is on course."},
	{ending.OnlyMove, "KBBK", ending.Edge, Sure, "Find the one move that is on course."},
	{ending.OnlyMove, "KPK", ending.Front, Sure, "Find the one move that wins."},
}

func (k readyKind) ready(plan ending.Plan) Ready {
	d := attack(plan, k.from, practice.Practice)
	d.Level, d.Trains = k.level, k.trains
	for _, kind := range ending.StartKinds() {
		if kind.Code == k.kind {
			d.Name = plan.Name + ": " + strings.ToLower(kind.Name[:1]) + kind.Name[1:]
		}
	}
	return ready("starts-"+k.kind, d, k.kind, 4)
}

func readyTest(plan ending.Plan) Ready {
	d := attack(plan, plan.Steps[0].Stage, practice.Test)
	d.Name, d.Defender = plan.Name+": test", Tester(plan.Code)
	d.Level, d.Trains = Sure, "Show that the whole of it goes without help."
	return ready("test", d, ending.AtRandom, 5)
}

func readyHold(h ending.Hold, kind string, level int, trains string) Ready {
	d := club.Drill{Ending: h.Code, Hold: true, Mode: practice.Guided, From: ending.HoldStage, To: ending.HoldStage,
		Rule: club.RuleOf(practice.Guided), Level: level, Trains: trains, Name: h.Name}
	code := "hold"
	if kind == ending.OnlyMove {
		d.Name, code = h.Name+": only move", "hold-only"
		d.Mode, d.Rule = practice.Practice, club.RuleOf(practice.Practice)
	}
	return ready(code, d, kind, 4)
}

// ready names a drill, and says which starts it wants. The seed follows from the name, so
// that another drill changes nothing of this one.
func ready(code string, d club.Drill, kind string, n int) Ready {
	d.Kind = kind
	if d.Name == "" {
		d.Name = d.Title()
	}
	code = d.Ending + "-" + code
	h := fnv.New32a()
	_, _ = h.Write([]byte(code)) // never fails
	return Ready{Code: code, Drill: d, wanted: ending.Wanted{Stage: d.From, To: d.To, Kind: kind, N: n, Seed: int64(h.Sum32())}}
}
