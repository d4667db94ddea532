package coach

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// mostLines is how many lines the page has; the others are counted.
const mostLines = 20

// Since is a coach's first page: what needs the coach, and what happened since the last
// look.
func (s Pages) Since(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.renewedNotice(r, a); err != nil {
		return err
	}
	before, err := s.Store.Looked(r.Context(), a)
	if err != nil {
		return err
	}
	since, err := s.Store.SinceLooked(r.Context(), a, before)
	if err != nil {
		return err
	}
	resting, err := s.Store.Resting(r.Context(), a.Club)
	if err != nil {
		return err
	}
	since.Lines = slices.DeleteFunc(since.Lines, func(l store.Line) bool {
		return (l.Kind == progress.LineStuck || l.Kind == progress.LineFirst) && resting[game.PersonID(l.Subject)]
	})
	playing, err := s.Store.Playing(r.Context(), a)
	if err != nil {
		return err
	}
	return s.Show(w, r, sincePage(page, c, since, playing, c.Local(s.Now())).View())
}

// sincePage puts what was read into words.
func sincePage(page view.Page, c club.Club, since store.Since, playing []store.PlayingRow, now time.Time) SincePage {
	m := SincePage{Page: page, Next: since.Next, When: "the last seven days"}
	if since.Before != nil {
		at := c.Local(*since.Before)
		m.When = site.Ago(at, now) + " at " + at.Format("15:04")
	}
	lines := alike(since.Lines)
	m.Needs, m.More = len(lines), max(0, len(lines)-mostLines)
	for _, same := range lines[:len(lines)-m.More] {
		m.Lines = append(m.Lines, sinceWords(same, c, now))
	}
	for _, f := range since.Finished {
		m.Finished = append(m.Finished, finishedWords(f))
	}
	for _, b := range since.Bells {
		m.Changed = append(m.Changed, SinceChange{Stage: string(b.Stage), Name: b.Name,
			Say: fmt.Sprintf("mastered %s with %s", game.Lower(b.Stage.Name()), game.Lower(ending.NameOf(b.Ending)))})
	}
	for _, d := range since.Done {
		m.Changed = append(m.Changed, SinceChange{Name: d.By, Say: doneWords(d)})
	}
	for _, d := range since.Family {
		m.Changed = append(m.Changed, SinceChange{Name: d.Name, Say: familyWords[d.Action]})
	}
	for _, p := range playing {
		m.Playing = append(m.Playing, PlayingLine{Name: p.Name, Href: fmt.Sprintf("/watch/%d", p.Game)})
	}
	m.Head = sinceHead(since)
	return m
}

// familyWords say of a child what a guardian has done.
var familyWords = map[string]string{
	"card made":         "has a new card, which a guardian made",
	"consent given":     "has a guardian's consent, given on their own page",
	"consent withdrawn": "rests from practice: a guardian took consent back",
}

// sinceHead says first who is stuck, and how much was played.
func sinceHead(since store.Since) string {
	var stuck []string
	for _, l := range since.Lines {
		if l.Kind == progress.LineStuck && !slices.Contains(stuck, l.Name) {
			stuck = append(stuck, l.Name)
		}
	}
	played := "No games yet."
	if since.Games > 0 {
		played = game.Count(since.Games, "game") + " by " + game.Count(since.Players, "student") + "."
	}
	switch len(stuck) {
	case 0:
		return played
	case 1:
		return stuck[0] + " is stuck. " + played
	}
	return game.Upper(fewNames(stuck)) + " are stuck. " + played
}

// lineWords is a line with its reason and its one action.
func lineWords(l store.Line, c club.Club, now time.Time) SinceLine {
	out := SinceLine{Kind: string(l.Kind)}
	student := game.PersonID(l.Subject)
	switch l.Kind {
	case progress.LineStuck:
		row := stuckRow(club.Person{ID: student, Name: l.Name}, l.Stuck)
		out.Say, out.Why, out.Do = row.Say, row.Why, row.Set
		if out.Do.Href == "" {
			out.Do = view.Link{Href: row.Href, Label: "Look at it"}
		}
		if l.Stuck.Help != nil {
			out.Stage = string(l.Stuck.Help.From)
		}
	case progress.LineFirst:
		f := *l.Said.Found.First
		for _, part := range saying(l.Name, f, false) {
			out.Say += part.Text
		}
		out.Why, out.Stage = firstLine(l.Said.Found), string(f.Stage)
		out.Do = view.Link{Href: builder(progress.DrillFor(f), student), Label: "See the drill"}
	case progress.LineTest:
		out.Say = l.Name + ": ready for a test, " + game.Lower(ending.NameOf(l.Said.Test.Ending))
		out.Why, out.Do = l.Said.Test.Why, view.Link{Href: builder(*l.Said.Test, student), Label: "Set the test"}
	case progress.LineSilent:
		out.Say, out.Why = l.Name+": silent for seven days", "No game yet."
		if l.At != nil {
			out.Why = "The last game was on " + site.ShortDay(c.Local(*l.At), now) + "."
		}
		out.Do = view.Link{Href: "/drills?for=" + idList([]game.PersonID{student}) + "&level=1", Label: "Set a short one"}
	case progress.LineCard:
		out.Say, out.Why = l.Name+": has no card", "Consent is noted, and the child cannot sign in yet."
		out.Do = view.Link{Href: "/cards?for=" + idList([]game.PersonID{student}), Label: "Make the card"}
	case progress.LineLink:
		out.Say, out.Why = linkWords(l, c, now)
		if at := fmt.Sprintf("/students/%d/guardian/%s", student, l.What); l.At.Before(now) {
			out.Do = view.Link{Href: at + "/link", Label: "Make a new link"}
		} else {
			out.Do, out.Posts = view.Link{Href: at + "/renew?back=since", Label: "Renew it"}, true
		}
	case progress.LineLate:
		out.Say = l.Name + " was due on " + site.ShortDay(l.At.UTC(), now)
		out.Why = fmt.Sprintf("%d of %d have done it.", l.N, l.Of)
		out.Do = view.Link{Href: "/set", Label: "See who has not"}
	case progress.LinePlan:
		out.Say, out.Why = fmt.Sprintf("%s: week %d is not given yet", l.Name, l.N+1), "Its Monday has come."
		out.Do = view.Link{Href: fmt.Sprintf("/plans/%d/week?no=%d", l.Subject, l.N), Label: fmt.Sprintf("Give week %d", l.N+1)}
	case progress.LineNext: // it has a page of its own
	}
	return out
}

func linkWords(l store.Line, c club.Club, now time.Time) (say, why string) {
	day := site.ShortDay(c.Local(*l.At), now)
	if l.At.Before(now) {
		return l.Name + ": the guardian's link has ended", l.Guardian + " could open it until " + day + ". A new one is needed."
	}
	return l.Name + ": the guardian's link ends on " + day, l.Guardian + " reads the report with it."
}

func finishedWords(f store.Finished) SinceFinished {
	out := SinceFinished{Name: f.Name, Drill: f.Drill, Say: practice.Moves(f.Moves) + ", " +
		site.GameResult(store.GameInfo{Kind: store.OfDrill, Counts: true, Result: f.Result, End: f.End, Failed: f.Failed})}
	if f.Game > 0 {
		out.Href = fmt.Sprintf("/games/%d", f.Game)
	} else {
		out.Say = "done"
	}
	return out
}

// doneWords say what a coach did about a line.
func doneWords(d store.Attended) string {
	about := map[progress.LineKind]string{
		progress.LineStuck: "the tries that were not won", progress.LineFirst: "what to teach first", progress.LineTest: "the test",
		progress.LineSilent: "the seven days without a game", progress.LineCard: "the card", progress.LineLink: "the guardian's link",
		progress.LineLate: "a drill that was due", progress.LinePlan: "a week of a term plan", progress.LineNext: "what comes next",
	}[d.Kind]
	if d.Name != "" {
		about = d.Name + ": " + about
	}
	if d.Later {
		return "put off for a week: " + about
	}
	return "set a drill for " + about
}

type laterForm struct {
	Lines []string `schema:"line"` // kind, subject, evidence, and what it is about
}

// SinceLater puts lines off for a week.
func (s Pages) SinceLater(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f laterForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	lines := make([]store.Line, len(f.Lines))
	for i, text := range f.Lines {
		part := append(strings.SplitN(text, " ", 4), "", "", "", "")
		var ok bool
		if lines[i], ok = store.LineOf(part[0], part[1], part[3], part[2]); !ok {
			return site.Missing()
		}
		if err := s.lineInScope(r, a, lines[i]); err != nil {
			return err
		}
	}
	if err := s.Store.Later(r.Context(), a, lines...); err != nil {
		return err
	}
	http.Redirect(w, r, "/since", http.StatusSeeOther)
	return nil
}

// lineInScope is missing where a line is not the coach's to deal with.
func (s Pages) lineInScope(r *http.Request, a game.Actor, l store.Line) error {
	switch l.Kind {
	case progress.LineLate:
		return s.Store.TaskInScope(r.Context(), a, game.AssignmentID(l.Subject))
	case progress.LinePlan:
		if stands, err := s.Store.Substitute(r.Context(), a); err != nil || stands {
			return cmp.Or(err, site.Missing())
		}
		_, err := s.Store.TermPlan(r.Context(), a.Club, game.PlanID(l.Subject))
		return err
	default:
		return s.Store.InScope(r.Context(), a, game.PersonID(l.Subject))
	}
}

// renewedNotice says until when the link works that was renewed from this page.
func (s Pages) renewedNotice(r *http.Request, a game.Actor) (*view.Notice, error) {
	n, _ := strconv.ParseInt(r.URL.Query().Get("renewed"), 10, 64) // nobody has the number 0
	if n <= 0 {
		return nil, nil
	}
	err := s.Store.InScope(r.Context(), a, game.PersonID(n))
	if game.KindOf(err) == game.Missing {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &view.Notice{Say: "Renewed.", More: fmt.Sprintf("The guardian's link works for %d more days.", store.LinkDays)}, nil
}

// SincePage is /since.
type SincePage struct {
	view.Page
	When     string // "Monday at 17:40", or the last seven days
	Head     string
	Lines    []SinceLine
	Needs    int
	More     int // lines beside these
	Next     int // students for whom something comes next
	Finished []SinceFinished
	Changed  []SinceChange
	Playing  []PlayingLine
}

// SinceLine is one thing that needs the coach.
type SinceLine struct {
	Kind            string
	Keys            []string // of the lines that it stands for
	Say, Why, Stage string
	Do              view.Link
	Posts           bool // it does the thing, and leads nowhere
}

// SinceFinished is one drill that was passed.
type SinceFinished struct{ Name, Drill, Say, Href string }

// SinceChange is one thing that changed.
type SinceChange struct{ Stage, Name, Say string }

// PlayingLine is one student who plays now.
type PlayingLine struct{ Name, Href string }

// playingNames are those who play now, as a sentence has them.
func (m SincePage) playingNames() string {
	names := make([]string, len(m.Playing))
	for i, p := range m.Playing {
		names[i] = p.Name
	}
	return fewNames(names)
}
