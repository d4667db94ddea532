package coach

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
)

// maxText is how many bytes of pasted positions are read: far more than a drill has
// starts.
const maxText = 32 << 10

func tooMuchText(n int) string {
	return fmt.Sprintf("This text has %d characters; up to %d are read, and a drill has up to %d starts. Take some lines out: nothing is lost.", n, maxText, club.MaxStarts)
}

// numbers reads number fields; an empty one is 0.
type numbers struct{ bad club.Problems }

func (n numbers) read(field, text string) int {
	v, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil && strings.TrimSpace(text) != "" {
		n.bad[field] = "Write a number."
	}
	return min(max(v, -1), 1_000_000) // far from the end of the numbers, and still too many
}

// paste takes the coach's own starts; each line that does not fit is said, and
// the text is kept.
func (s Pages) paste(ctx context.Context, d club.Drill, text string) (starts []board.Position, err error) {
	var problems []string
	starts, problems, err = d.Task().Paste(ctx, s.Judge, d.Ending, text)
	switch {
	case err != nil:
		return nil, err
	case len(problems) > 0:
		return nil, club.Problems{"fens": pasteProblems(problems, len(starts))}.Err()
	case len(starts) == 0:
		return nil, club.Problems{"fens": "Paste at least one position, each on a line of its own."}.Err()
	case len(starts) > club.MaxStarts:
		return nil, club.Problems{"fens": fmt.Sprintf("These are %d positions; a drill has up to %d. Make two drills of them.", len(starts), club.MaxStarts)}.Err()
	case d.Hold:
		return starts, nil
	}
	plan, _ := ending.PlanOf(d.Ending)
	for i, p := range starts {
		par, err := s.Judge.ParOf(ctx, p, plan.Index(d.To))
		if err != nil {
			return nil, err
		}
		if par == 0 {
			return nil, club.Problems{"fens": fmt.Sprintf("Position %d is beyond the last stage already. Choose a later stage, or leave it out.", i+1)}.Err()
		}
	}
	return starts, nil
}

// mostProblems is how many lines that do not fit are said one by one.
const mostProblems = 12

// pasteProblems says what does not fit, and how many lines do.
func pasteProblems(problems []string, fit int) string {
	said := slices.Clone(problems[:min(len(problems), mostProblems)])
	switch more := len(problems) - len(said); more {
	case 0:
	case 1:
		said = append(said, "One more line does not fit.")
	default:
		said = append(said, fmt.Sprintf("%d more lines do not fit.", more))
	}
	switch fit {
	case 0:
		said = append(said, "No line fits yet.")
	case 1:
		said = append(said, "The other line fits.")
	default:
		said = append(said, fmt.Sprintf("The other %d lines fit.", fit))
	}
	return strings.Join(said, "\n")
}
