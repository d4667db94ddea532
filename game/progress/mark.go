// Package progress looks over many games of one student.
package progress

// Mark says how far a student is with a stage of an ending.
type Mark string

// The marks. A stage is mastered by a test and a check a week later, which
// come with the tests.
const (
	NotBegun Mark = "none"
	InWork   Mark = "half"
	Reached  Mark = "full"
)

// several is how many of the last look games must be clean for a stage to
// count as reached.
const (
	several = 3
	look    = 5
)

// MarkOf weighs a student's games in one stage, oldest first, true for clean:
// reached means done alone three times in the last five.
func MarkOf(clean []bool) Mark {
	if len(clean) == 0 {
		return NotBegun
	}
	n := 0
	for _, c := range clean[max(0, len(clean)-look):] {
		if c {
			n++
		}
	}
	if n >= several {
		return Reached
	}
	return InWork
}
