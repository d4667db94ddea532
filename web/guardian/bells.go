package guardian

import (
	"fmt"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/site"
	"drover/web/view"
)

// papers are the certificates of the endings that are mastered.
func papers(of progress.Record, child string) []view.Link {
	var out []view.Link
	for _, plan := range ending.Plans() {
		if _, missing := of.CertificateOf(plan); len(missing) == 0 {
			out = append(out, view.Link{Href: "/report/" + child + "/certificate/" + plan.Code, Label: "Certificate: " + game.Lower(site.MateWith(plan.Code))})
		}
	}
	return out
}

// bellSentences say to a guardian what is mastered, and when it is checked again unless
// practice rests.
func bellSentences(standings map[progress.Key]progress.Mastery, today progress.Day, rests bool) []string {
	var out []string
	for _, plan := range ending.Plans() {
		var all []progress.Key
		var next progress.Day
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			s := standings[k]
			if s.Mastered == 0 {
				continue
			}
			all = append(all, k)
			if next == 0 || s.Due < next {
				next = s.Due
			}
		}
		what := site.MateWith(plan.Code)
		switch {
		case len(all) == 0:
			continue
		case len(all) < len(plan.Steps):
			names := make([]string, len(all))
			for i, k := range all {
				names[i] = k.Stage.Place()
			}
			what += ", " + game.List(names) + ":"
		}
		line := what + " mastered; the bell stays."
		if len(all) == len(plan.Steps) {
			line = what + " is mastered; the bell stays."
		}
		switch {
		case rests:
		case next <= today:
			line += " One short game will check it again; it waits on the first page."
		default:
			line += fmt.Sprintf(" We'll ask once more %s.", site.InDays(next-today))
		}
		out = append(out, line)
	}
	return out
}
