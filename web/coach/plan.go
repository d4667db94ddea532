package coach

import (
	"fmt"
	"net/url"
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

// builder is the address of the drill builder, filled in with a proposal and
// the students that it is for.
func builder(p progress.Proposal, students ...game.PersonID) string {
	code := p.Ending
	if p.Hold {
		code = holdMark + code
	}
	q := url.Values{
		"ending": {code}, "from": {string(p.From)}, "to": {string(p.To)}, "mode": {string(p.Mode)}, "kind": {p.Kind}, "defender": {p.Defender},
		"for": {idList(students)},
	}
	if p.Near {
		q.Set("near", "1")
	}
	return "/drills/new?" + q.Encode()
}

// idList is how an address names students.
func idList[T ~int64](students []T) string {
	ids := make([]string, len(students))
	for i, id := range students {
		ids[i] = strconv.FormatInt(int64(id), 10)
	}
	return strings.Join(ids, ",")
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
func stuckRows(of ...progress.Overview) []StuckRow {
	var out []StuckRow
	for _, o := range of {
		for _, at := range o.Stuck {
			out = append(out, stuckRow(o.Student, at))
		}
	}
	return out
}

func stuckRow(who club.Person, at progress.StuckAt) StuckRow {
	say := fmt.Sprintf("%s: stuck in the %s drill. %s tries in a row were not won.", who.Name,
		game.Lower(ending.NameOf(at.Ending)), game.Upper(game.Number(at.Lost)))
	if at.Hold {
		say = fmt.Sprintf("%s: stuck in holding %s. %s tries in a row were not held.", who.Name,
			game.Lower(site.TaskName(at.Ending, true)), game.Upper(game.Number(at.Lost)))
	}
	row := StuckRow{Say: say, Href: fmt.Sprintf("/students/%d", who.ID)}
	if at.Help != nil {
		row.Why, row.Set = at.Help.Why, view.Link{Href: builder(*at.Help, who.ID), Label: "Set a drill for " + who.Name}
	}
	return row
}
