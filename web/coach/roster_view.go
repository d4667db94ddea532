package coach

import (
	"strconv"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/view"
)

// sum says how many students there are, and what waits.
func (m StudentsPage) sum() string {
	switch {
	case m.Ask.Archived:
		return game.Upper(game.Count(m.Old, "student")) + ", out of all lists. What they did stays."
	case m.All == 0:
		return ""
	}
	say := game.Upper(game.Count(m.All, "student"))
	groups := 0
	for _, g := range m.Groups[1:] {
		if g.Name != "no group" {
			groups++
		}
	}
	if groups > 0 {
		say += " in " + game.Count(groups, "group")
	}
	for _, more := range []struct {
		n         int
		one, many string
	}{{m.Waiting, "One waits for consent.", "wait for consent."},
		{m.NoCard - m.Waiting, "One has no card yet.", "have no card yet."}} {
		switch {
		case more.n == 1:
			say += ". " + strings.TrimSuffix(more.one, ".")
		case more.n > 1:
			say += ". " + game.Upper(game.Number(more.n)) + " " + strings.TrimSuffix(more.many, ".")
		}
	}
	return say + "."
}

// leaving says who leaves at the end of the season.
func (m SeasonPage) leaving() string {
	var names []string
	for _, s := range m.Students {
		if s.Leaves {
			names = append(names, s.Name)
		}
	}
	switch {
	case len(names) == 0:
		return "Nobody leaves."
	case len(names) == 1:
		return names[0] + " leaves and is archived."
	case len(names) > mostNames:
		return game.Upper(game.Count(len(names), "student")) + " leave and are archived."
	}
	return game.List(names) + " leave and are archived."
}

// groupOnly is the part of an address that holds a page to the group that is shown.
func (m StudentsPage) groupOnly() string {
	if m.Ask.Group == 0 {
		return ""
	}
	return "?group=" + strconv.FormatInt(int64(m.Ask.Group), 10)
}

// sorts are the orders of the roster.
func (m StudentsPage) sorts() []view.Choice {
	choices := []view.Choice{{Value: store.ByName, Label: "By name"}, {Value: store.ByLast, Label: "Last game first"},
		{Value: store.BySilent, Label: "Longest silent first"}, {Value: store.ByNumber, Label: "By number"}}
	for i := range choices {
		choices[i].Chosen = choices[i].Value == m.Ask.Sort
	}
	return choices
}
