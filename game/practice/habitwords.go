package practice

import "fmt"

// habitWords are the words for a habit, in one place.
type habitWords struct {
	name   string // as a coach calls it
	verb   string // what many do, as 'leave'
	what   string // and the rest of it, as 'the king at home'
	counts string // the evidence, from how often it struck and its chances
	plain  string // what is practised against it, for somebody who does not play chess
	aim    string // what a child keeps in mind, in eight words or fewer
	ask    string // what somebody who does not play chess can ask before a move
}

var wordsOf = map[Habit]habitWords{
	Stalemates: {"stalemates", "stalemate", "him too soon",
		"%d of %d chances to stalemate were taken",
		"leave the lone king a move until the mate comes", "Leave him a free square until the mate.",
		"If you move there, has he still a move?"},
	Hanging: {"men left hanging", "leave", "men hanging",
		"a man went in %d of %d positions where one could",
		"keep every man safe", "Is each man safe? Look before you move.",
		"Can he take anything there?"},
	Checks: {"useless checks", "give", "useless checks",
		"%d of %d chances for a useless check were taken",
		"give check only where it helps", "Check only where it takes squares from him.",
		"Which squares does this check take from him?"},
	KingHome: {"king left at home", "leave", "the king at home",
		"another man moved in %d of %d positions that asked for the king",
		"bring their own king along to help", "Bring your king along. It has to help.",
		"Where is your own king, and how can it help?"},
	WrongCorner: {"wrong corner", "go", "wrong near the wrong corner",
		"%d of %d moves near the wrong corner went wrong",
		"lead the lone king away from the wrong corner", "Drive him to the corner of your bishop.",
		"To which corner must he go, and why that one?"},
	Shuffling: {"moves that come no nearer", "come", "no nearer for many moves",
		"%d of %d chances for a move that comes no nearer were taken",
		"make each move bring the end closer", "Each move takes something away from him.",
		"What can he not do any more after this move?"},
	Hurry: {"haste", "go", "wrong when time is short",
		"%d of %d moves with little time left went wrong",
		"keep time for the last moves", "Keep some time for the last moves.",
		"Do you know your plan, so that the last moves go fast?"},
}

// Name is what a coach calls the habit.
func (h Habit) Name() string { return wordsOf[h].name }

// Counts is the evidence for the habit, from how often it struck and its chances.
func (h Habit) Counts(k, n int) string { return fmt.Sprintf(wordsOf[h].counts, k, n) }

// Plain says what is practised against the habit to somebody who does not play chess.
func (h Habit) Plain() string { return wordsOf[h].plain }

// Ask is what somebody who does not play chess can ask a child before a move.
func (h Habit) Ask() string { return wordsOf[h].ask }

// Aim is what a child keeps in mind against the habit, in eight words or fewer.
func (h Habit) Aim() string { return wordsOf[h].aim }

// Done says what one student does, or many do, as 'leaves the king at home'.
func (h Habit) Done(many bool) string {
	w := wordsOf[h]
	switch {
	case many:
		return w.verb + " " + w.what
	case w.verb == "go":
		return "goes " + w.what
	}
	return w.verb + "s " + w.what
}
