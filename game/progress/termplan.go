package progress

import (
	"slices"

	"drover/game/ending"
)

// readyPlans are ready term plans by level: the codes of ready drills, one for each week
// (common practice in their order, no source; in their length a rule of ours).
var readyPlans = map[int][]string{
	Beginning: {"KRRK-mate", "KRRK-edge", "KQK-mate", "KQK-starts-trap", "KQK-edge", "KRRK-test", "KRK-mate", "KRK-edge", "KQK-test",
		"KPK-escort", "KPK-hold", "KRK-centralise"},
	GoingOn: {"KQK-starts-king", "KRK-edge", "KRK-starts-king", "KRK-centralise", "KRK-starts-checks", "KRK-test", "KPK-front",
		"KPK-starts-trap", "KPK-hold-only", "KBBK-corner", "KBBK-edge", "KBPK-hold"},
	Sure: {"KRK-test", "KBBK-corner", "KBBK-edge", "KBBK-centralise", "KBNK-mate", "KBNK-corner", "KBNK-starts-corner",
		"KBNK-starts-edge", "KBNK-edge", "KBNK-centralise", "KBBK-test", "KBNK-test"},
}

// ReadyPlan lists the ready drills of a term by its level, one for each week.
func ReadyPlan(level int) []string { return slices.Clone(readyPlans[level]) }

// NextReady is the code of the ready drill of an ending that comes next for a student: from
// the last stage that is not reached yet, since each ending is taught backwards; then the
// test.
func NextReady(code string, marks map[Key]Mark) (string, bool) {
	plan, ok := ending.PlanOf(code)
	if !ok {
		return "", false
	}
	for i := plan.Last(); i >= 0; i-- {
		stage := plan.Steps[i].Stage
		if plan.Pawn && i == plan.Last() {
			continue // the queen's own drill
		}
		if marks[Key{Ending: code, Stage: stage}] < Reached {
			return code + "-" + string(stage), true
		}
	}
	return code + "-test", true
}
