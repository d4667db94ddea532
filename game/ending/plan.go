// Package ending says what is true of a position: its ending and plan, how far
// it is from mate, the stage it is in, what a move cost and why, how the
// defender answers, and from where to start. Everything rests on the exact
// tables of package solver; nothing here knows a game or a student.
package ending

import "slices"

// Stage is a stage of a plan.
type Stage string

// The stages, in the order in which plans use them.
const (
	Centralise Stage = "centralise"
	Edge       Stage = "edge"
	Corner     Stage = "corner"
	Mate       Stage = "mate"

	// The stages of a pawn's plan.
	Front  Stage = "front"  // the king gets in front: the pawn wins whoever moves
	Escort Stage = "escort" // the pawn is led to the end row
)

// Stages lists the stages of all plans in teaching order: no plan has two of them
// the other way round.
func Stages() []Stage { return []Stage{Centralise, Front, Edge, Escort, Corner, Mate} }

// Step is one stage of a plan.
type Step struct {
	Stage  Stage
	Region int    // the shut-out region, 1 to 3, that completes it; 0: the mate does
	Aim    string // what to try for, one sentence
}

// Plan is what is taught of one ending.
type Plan struct {
	Code  string // material, stronger side first, as in "KBNK"
	Name  string // as a page writes it
	Steps []Step
	Pass  int  // own moves within which a fair student mates from a full start
	Pen   bool // whether his pen serves as help; else the gaps do
	Pawn  bool // a pawn's plan: stages without shut-out regions, judged by result and stage only
}

// plans is data: an ending is added here. Stages and budgets follow the
// teaching plan; regions are the squares that package solver names.
var plans = []Plan{
	{Code: "KQK", Name: "Queen", Pass: 15, Pen: true, Steps: []Step{
		{Edge, 3, "Make his pen smaller until he is on the edge."},
		{Mate, 0, "Bring your king, and leave him a square until it is mate."},
	}},
	{Code: "KRK", Name: "Rook", Pass: 25, Pen: true, Steps: []Step{
		{Centralise, 1, "Bring your king, and shut him out of the centre."},
		{Edge, 3, "Take one more row each time, until he is on the edge."},
		{Mate, 0, "Bring the kings face to face, then give mate with the rook."},
	}},
	{Code: "KRRK", Name: "Two rooks", Pass: 12, Pen: true, Steps: []Step{
		{Edge, 3, "One rook holds a row, the other takes the next."},
		{Mate, 0, "Keep both rooks away from him, and take the last row."},
	}},
	{Code: "KBBK", Name: "Two bishops", Pass: 30, Steps: []Step{
		{Centralise, 1, "Put the bishops side by side. Bring your king to the middle."},
		{Edge, 3, "Use king and bishops together to close the way inside."},
		{Corner, 0, "Drive him to a corner, and mate him there."},
	}},
	{Code: "KBNK", Name: "Bishop and knight", Pass: 45, Steps: []Step{
		{Centralise, 1, "Walk your men to the middle, and shut him out of it."},
		{Edge, 2, "Keep him out of the middle: close every gap."},
		{Corner, 3, "Drive him along the edge, to a corner of the bishop's colour."},
		{Mate, 0, "Hold him in the corner, then bishop and knight give mate."},
	}},
}

// pawnPlan is the plan of king and pawn against king. It stands apart from the
// basic mates: its first stage is complete when the pawn wins whoever moves, its
// second when the pawn is a queen, and the rest is the queen's own plan.
var pawnPlan = Plan{Code: "KPK", Name: "King and pawn", Pass: 25, Pawn: true, Steps: []Step{
	{Front, 0, "King first: get in front of the pawn."},
	{Escort, 0, "Lead the pawn to the last row, with your king beside it."},
	{Mate, 0, "Mate with the queen."},
}}

// Plans lists the plans in teaching order of their code; a copy, steps and all.
func Plans() []Plan {
	list := slices.Clone(plans)
	for i := range list {
		list[i].Steps = slices.Clone(list[i].Steps)
	}
	return list
}

// Taught lists the plans that a drill can be set for: the basic mates, and king
// and pawn; a copy as well.
func Taught() []Plan {
	pawn := pawnPlan
	pawn.Steps = slices.Clone(pawn.Steps)
	return append(Plans(), pawn)
}

// PlanOf finds the plan of an ending by its code. It is the table's own, so that a
// look at a position copies nothing: read it, and change nothing in it.
func PlanOf(code string) (*Plan, bool) {
	for i := range plans {
		if plans[i].Code == code {
			return &plans[i], true
		}
	}
	if code == pawnPlan.Code {
		return &pawnPlan, true
	}
	return nil, false
}

// NameOf is the name of an ending, of one that is won or else of one that is held;
// its code where it has none.
func NameOf(code string) string {
	if plan, ok := PlanOf(code); ok {
		return plan.Name
	}
	if hold, ok := HoldOf(code); ok {
		return hold.Name
	}
	return code
}

// Last is the index of the plan's last stage.
func (p *Plan) Last() int { return len(p.Steps) - 1 }

// Index finds a stage in the plan; -1 if the plan has no such stage.
func (p *Plan) Index(s Stage) int {
	for i, step := range p.Steps {
		if step.Stage == s {
			return i
		}
	}
	return -1
}

// raw is the first stage whose region he is not shut out of.
func (p *Plan) raw(shutOut [3]bool) int {
	for i, step := range p.Steps {
		if step.Region == 0 || !shutOut[step.Region-1] {
			return i
		}
	}
	return p.Last()
}

// entered says whether he is shut out of the region that opens stage i; the first
// stage has none to lose.
func (p *Plan) entered(i int, shutOut [3]bool) bool {
	return i == 0 || shutOut[p.Steps[i-1].Region-1]
}
