package coach

import (
	"fmt"
	"strings"

	"drover/game/ending"
	"drover/web/view"
)

// wordings are the two ways in which sentences are written for a student.
func wordings(chosen int) []view.Choice {
	return []view.Choice{
		{Value: "8", Label: "Short, for about age eight", Chosen: chosen != 14},
		{Value: "14", Label: "With numbers, for about age fourteen", Chosen: chosen == 14},
	}
}

// wordedFor says which of the two a student has.
func wordedFor(age int) string {
	if age == ending.Fourteen {
		return "for fourteen"
	}
	return "for eight"
}

// names lists up to four names and the number of the others.
func names(who []string) string {
	const most = 4
	if len(who) <= most {
		return strings.Join(who, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(who[:most], ", "), len(who)-most)
}

func firstStarts(starts []StartCard, n int) []StartCard { return starts[:min(n, len(starts))] }

func (m DrillNewPage) startsHead() string {
	switch {
	case len(m.Starts) == 0:
		return "Starts"
	case len(m.Starts) == 1:
		return "The start"
	default:
		return "Two of the " + m.Count + " starts"
	}
}
