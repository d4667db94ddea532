package student

import (
	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/view"
)

// first are the things that a day shows at once, and more are those behind them.
func (m TodayPage) first() []DueCard { return m.Due[:min(progress.MostItems, len(m.Due))] }

func (m TodayPage) more() []DueCard { return m.Due[min(progress.MostItems, len(m.Due)):] }

// moreWords says how many more there are.
func (m TodayPage) moreWords() string {
	return game.Upper(game.Number(len(m.more()))) + " more"
}

// enough says whether there is nothing but free practice today, which then stays small.
func (m TodayPage) enough() bool { return m.main() < 0 && (m.Rested || len(m.Due) > 0) }

// main is the first card with something to do, which has the main action.
func (m TodayPage) main() int {
	for i, card := range m.first() {
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
