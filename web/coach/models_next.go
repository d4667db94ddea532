package coach

import (
	"fmt"
	"strings"

	"drover/game"
	"drover/game/progress"
	"drover/web/view"
)

// NextPage is /next.
type NextPage struct {
	view.Page
	At           nextAt
	Groups       []GroupPill
	Blocks       []NextBlock
	Shown, Total int // students here, and on all pages
	Full         []string
	Have, Off    int // who have theirs already; whose line is put off or done
	Check        int // who have the starting check to do first
	Leaf         Leaf
}

// NextBlock is one drill with those for whom it comes next.
type NextBlock struct {
	Drill      string // empty: it is not on the shelf yet
	Ending     view.Ending
	Name, Line string
	New        string // what becomes of a drill that is not on the shelf yet
	Why        string // that all have in common; empty: each has a reason
	Items      []NextItem
	All        int // with those on other pages
}

// NextItem is one student.
type NextItem struct {
	ID, Name, Stage, Why string
	Seen                 string // what the form says of the line
}

// head says for how many something comes next.
func (m NextPage) head() string {
	switch {
	case m.Total == 0:
		return "Nothing comes next just now."
	case m.Total == 1 && len(m.Blocks) == 1:
		return "What comes next for " + m.Blocks[0].Items[0].Name
	}
	return "What comes next for " + game.Count(m.Total, "student")
}

// giveAll is the label of the main button.
func (m NextPage) giveAll() string {
	switch {
	case m.Shown == 1:
		return "Give it to " + m.Blocks[0].Items[0].Name
	case m.Shown < m.Total:
		return fmt.Sprintf("Give these %d", m.Shown)
	}
	return fmt.Sprintf("Give all %d", m.Shown)
}

// full says who has enough open.
func (m NextPage) full() string {
	have := "Have "
	if len(m.Full) == 1 {
		have = "Has "
	}
	return have + game.Number(progress.MostOpen) + " open drills or more: " + names(m.Full) + "."
}

// others says of how many nothing stands here.
func (m NextPage) others() string {
	var say []string
	if m.Have > 0 {
		have := " has theirs already."
		if m.Have > 1 {
			have = " have theirs already."
		}
		say = append(say, game.Upper(game.Count(m.Have, "student"))+have)
	}
	if m.Check > 0 {
		is := " is in the starting check, which says what comes next."
		if m.Check > 1 {
			is = " are in the starting check, which says what comes next."
		}
		say = append(say, game.Upper(game.Count(m.Check, "student"))+is)
	}
	if m.Off > 0 {
		is := " is put off, or waits for another game."
		if m.Off > 1 {
			is = " are put off, or wait for another game."
		}
		say = append(say, game.Upper(game.Count(m.Off, "line"))+is)
	}
	return strings.Join(say, " ")
}

// single says whether a drill has one student on all pages; those stand together.
func (b NextBlock) single() bool { return b.All == 1 }

// singles counts the drills of one student.
func (m NextPage) singles() int {
	n := 0
	for _, b := range m.Blocks {
		if b.single() {
			n++
		}
	}
	return n
}

// give is the label of the button of a block.
func (b NextBlock) give() string {
	return fmt.Sprintf("Give it to these %d", len(b.Items))
}
