package coach

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// alike puts lines together that say the same of several students, and have the same action.
// They stand in the order of their kinds, and what is said of most students first.
func alike(lines []store.Line) [][]store.Line {
	type key struct {
		kind  progress.LineKind
		what  string
		stuck stuckKey
		one   int // the number of a line that stands alone, from 1
	}
	at := map[key]int{}
	var out [][]store.Line
	for i, l := range lines {
		k := key{kind: l.Kind, what: l.What}
		switch l.Kind {
		case progress.LineStuck:
			k.stuck = stuckKeyOf(l.Stuck)
		case progress.LineFirst, progress.LineTest, progress.LineSilent, progress.LineCard:
		case progress.LineLink, progress.LineLate, progress.LinePlan, progress.LineNext:
			k.one = i + 1
		}
		n, is := at[k]
		if !is {
			n, at[k] = len(out), len(out)
			out = append(out, nil)
		}
		out[n] = append(out[n], l)
	}
	slices.SortStableFunc(out, func(a, b []store.Line) int {
		return cmp.Or(cmp.Compare(a[0].Kind.Rank(), b[0].Kind.Rank()), cmp.Compare(len(b), len(a)))
	})
	return out
}

// sinceWords is a line about one student or several, with its reason and its one action.
func sinceWords(lines []store.Line, c club.Club, now time.Time) SinceLine {
	out := lineWords(lines[0], c, now)
	if len(lines) > 1 {
		manyWords(&out, lines)
	}
	for _, l := range lines {
		out.Keys = append(out.Keys, fmt.Sprintf("%s %d %d %s", l.Kind, l.Subject, l.Evidence, l.What))
	}
	return out
}

// manyWords say of several students what a line has said of the first.
func manyWords(out *SinceLine, lines []store.Line) {
	who, ids := make([]string, len(lines)), make([]game.PersonID, len(lines))
	said := make([]progress.Overview, len(lines))
	for i, l := range lines {
		who[i], ids[i], said[i] = l.Name, game.PersonID(l.Subject), l.Said
		said[i].Student = club.Person{ID: ids[i], Name: l.Name}
		if l.Kind == progress.LineStuck {
			said[i].Stuck = []progress.StuckAt{l.Stuck}
		}
	}
	switch lines[0].Kind {
	case progress.LineStuck:
		s := stuckAlike(said)[0]
		line := s.line("Set a drill")
		out.Say, out.Why = strings.TrimSuffix(line.Say, "."), s.why
		if line.Do.Href != "" {
			out.Do, out.Stage = line.Do, string(s.drill.From)
		}
	case progress.LineFirst:
		t := threadOf(said)
		out.Say, out.Why, out.Do = sentence(t.finding), t.evidence, t.action
		out.Stage = string(t.what.Stage)
	case progress.LineTest:
		out.Say = "Ready for a test, " + game.Lower(ending.NameOf(lines[0].Said.Test.Ending)) + ": " + names(who)
		out.Do = view.Link{Href: builder(*lines[0].Said.Test, ids...), Label: fmt.Sprintf("Set it for these %d", len(ids))}
	case progress.LineSilent:
		out.Say, out.Why = "Silent for seven days: "+names(who), "A short drill is a good way back."
		out.Do.Href = "/drills?for=" + idList(ids) + "&level=1"
	case progress.LineCard:
		out.Say, out.Why = "No card yet: "+names(who), "Consent is noted, and these children cannot sign in yet."
		out.Do = view.Link{Href: "/cards?for=" + idList(ids), Label: "Make the cards"}
	case progress.LineLink, progress.LineLate, progress.LinePlan, progress.LineNext: // each stands alone
	}
}

// sentence is a finding without its marks.
func sentence(parts []view.Part) string {
	var text strings.Builder
	for _, part := range parts {
		text.WriteString(part.Text)
	}
	return text.String()
}
