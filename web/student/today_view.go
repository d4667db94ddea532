package student

import (
	"drover/game/ending"
	"drover/web/view"
)

// mostDue is how many things a day shows at most.
const mostDue = 3

func firstDue(due []DueCard) []DueCard { return due[:min(mostDue, len(due))] }

// main is the first card with something to do, which has the main action.
func (m TodayPage) main() int {
	for i, card := range m.Due {
		if card.Waits() {
			return i
		}
	}
	return -1
}

// hasBell tells whether any stage is mastered, so that the bell is explained.
func (m TodayPage) hasBell() bool {
	for _, e := range m.Endings {
		for _, k := range e.Marks {
			if k.State == view.Mastered {
				return true
			}
		}
	}
	return false
}

func (c DueCard) state() view.State {
	if c.State == "" {
		return view.Reached
	}
	return c.State
}

func (c DueCard) stageSay() string {
	if c.StageSay == "" {
		return ending.Stage(c.Stage).Name()
	}
	return c.StageSay
}
