package coach

import (
	"fmt"
	"net/url"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/web/site"
	"drover/web/view"
)

// builder is the address of the drill builder, filled in with a proposal and
// the students that it is for.
func builder(p progress.Proposal, students ...game.PersonID) string {
	ids := make([]string, len(students))
	for i, id := range students {
		ids[i] = fmt.Sprint(id)
	}
	code := p.Ending
	if p.Hold {
		code = holdMark + code
	}
	q := url.Values{
		"ending": {code}, "from": {string(p.From)}, "to": {string(p.To)}, "mode": {string(p.Mode)}, "kind": {p.Kind}, "defender": {p.Defender},
		"for": {strings.Join(ids, ",")},
	}
	return "/drills/new?" + q.Encode()
}

// nextDrill draws a proposal for one student.
func nextDrill(p progress.Proposal, student game.PersonID) *NextDrill {
	d := club.Drill{Ending: p.Ending, Hold: p.Hold, From: p.From, To: p.To}
	line := "A verdict after each move"
	if p.Mode == practice.Test {
		line = "A test of five games"
	}
	for _, k := range ending.StartKinds() {
		switch {
		case k.Code != p.Kind:
		case k.Code == ending.AtRandom:
			line += " from random starts"
		default:
			line += ", starts of the kind " + game.Lower(k.Name)
		}
	}
	if who, ok := ending.DefenderOf(p.Defender); ok {
		line += ", against a king that " + who.Does
	}
	return &NextDrill{Stage: string(p.From), Title: d.Title(), Line: line + ".", Why: p.Why,
		Set: view.Link{Href: builder(p, student), Label: "Set this drill"}}
}

// stuckRows say in which drills students are stuck, with the drill that is proposed.
func stuckRows(records ...progress.Record) []StuckRow {
	var out []StuckRow
	for _, r := range records {
		for _, t := range r.Stuck() {
			out = append(out, stuckRow(t))
		}
	}
	return out
}

func stuckRow(t progress.StuckIn) StuckRow {
	say := fmt.Sprintf("%s: stuck in the %s drill. %s tries in a row were not won.", t.Student.Name,
		game.Lower(ending.NameOf(t.Drill.Ending)), game.Upper(game.Number(t.Lost)))
	if t.Drill.Hold {
		say = fmt.Sprintf("%s: stuck in holding %s. %s tries in a row were not held.", t.Student.Name,
			game.Lower(site.TaskName(t.Drill.Ending, true)), game.Upper(game.Number(t.Lost)))
	}
	row := StuckRow{Say: say, Href: fmt.Sprintf("/students/%d", t.Student.ID)}
	if t.Help != nil {
		row.Why, row.Set = t.Help.Why, view.Link{Href: builder(*t.Help, t.Student.ID), Label: "Set a drill for " +
			t.Student.Name}
	}
	return row
}
