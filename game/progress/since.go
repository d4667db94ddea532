package progress

import "slices"

// LineKind is a kind of line of the page 'since you last looked'.
type LineKind string

// The kinds, in the order in which a coach sees them.
const (
	LineStuck  LineKind = "stuck"  // tries in a row that were not won
	LineFirst  LineKind = "first"  // what is to be taught first
	LineTest   LineKind = "test"   // ready for a test
	LineSilent LineKind = "silent" // seven days without a game
	LineCard   LineKind = "card"   // no card, so the child cannot sign in
	LineLink   LineKind = "link"   // a guardian's link that ends, or has ended
	LineLate   LineKind = "late"   // a drill whose day is over
	LinePlan   LineKind = "plan"   // a week of a term plan that is not given yet
	LineNext   LineKind = "next"   // what comes next; it has a page of its own
)

// lineKinds is their order.
var lineKinds = []LineKind{LineStuck, LineFirst, LineTest, LineSilent, LinePlan, LineLate, LineLink, LineCard, LineNext}

// Rank is where a kind stands on the page.
func (k LineKind) Rank() int { return slices.Index(lineKinds, k) }

// Known says whether there is such a kind.
func (k LineKind) Known() bool { return k.Rank() >= 0 }

// Returns says whether a line that was done comes back: with new evidence. What is found in many
// games comes back after as many new ones as a first look takes, so that a drill has time to
// work; of everything else, a later day or another game is new (rules of ours).
func (k LineKind) Returns(then, now int64) bool {
	switch k {
	case LineFirst, LineTest:
		return now >= then+Enough
	case LineStuck, LineSilent, LineCard, LineLink, LineLate, LinePlan, LineNext:
	}
	return now > then
}
