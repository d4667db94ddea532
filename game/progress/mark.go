// Package progress judges a student over many games: the weakest stage, the
// habit that shows, which stages are mastered and when they are checked again,
// and which drill comes next.
package progress

// Mark says how far a student is with a stage of an ending.
type Mark int

// The marks, in order. A stage is mastered by a test and a re-check a week later: see
// MasteryOf.
const (
	NotBegun Mark = iota
	InWork
	Reached
	Mastered
)

// several is how many of the most recent games must be clean for a stage to
// count as reached.
const (
	several = 3
	recent  = 5
)

// MarkOf weighs a student's games in one stage, oldest first, true for clean:
// reached means done alone three times in the last five. A bell stays for ever.
func MarkOf(clean []bool, bell bool) Mark {
	if bell {
		return Mastered
	}
	if len(clean) == 0 {
		return NotBegun
	}
	n := 0
	for _, c := range clean[max(0, len(clean)-recent):] {
		if c {
			n++
		}
	}
	if n >= several {
		return Reached
	}
	return InWork
}
