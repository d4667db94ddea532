package club

import "fmt"

// Keeping is for how many months a club keeps things.
type Keeping struct {
	Games    int // games with every move; what is mastered stays until the child is erased
	Left     int // students who have left
	Audit    int // who read and did what
	Revision int
}

// The limits of what may be kept: less is allowed, more is not.
var keepingLimits = map[string]struct{ least, most int }{"games": {3, 24}, "left": {1, 12}, "audit": {12, 24}}

// Validate holds the months against their limits.
func (k Keeping) Validate() error {
	p := Problems{}
	for field, months := range map[string]int{"games": k.Games, "left": k.Left, "audit": k.Audit} {
		if of := keepingLimits[field]; months < of.least || months > of.most {
			p[field] = fmt.Sprintf("Choose between %d and %d months.", of.least, of.most)
		}
	}
	return p.Err()
}
