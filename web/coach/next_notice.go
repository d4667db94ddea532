package coach

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/view"
)

// mostGiven is how many drills the notice of what was given names one by one.
const mostGiven = 3

// nextNotice says what was given to whom, with its undoing, who was left out, and whose line
// was put off.
func (s Pages) nextNotice(r *http.Request, a game.Actor) (*view.Notice, error) {
	q := r.URL.Query()
	if !q.Has("given") && !q.Has("off") {
		return s.doneNotice(r, a)
	}
	n, _ := strconv.ParseInt(q.Get("given"), 10, 64) // no assignment has the number 0
	out, err := s.nextNames(r.Context(), a, game.AssignmentID(n), q.Get("left"))
	if err != nil {
		return nil, err
	}
	off, err := s.nextNames(r.Context(), a, 0, q.Get("off"))
	if err != nil {
		return nil, err
	}
	given, err := s.Store.NextGiven(r.Context(), a, game.AssignmentID(n))
	switch {
	case err != nil:
		return nil, err
	case len(off) > 0:
		return &view.Notice{Say: "Not now: " + game.List(off) + ".", More: "The line comes back in a week."}, nil
	case n == 0 && len(out) > 0:
		return &view.Notice{Say: "Nothing was given.", More: leftOut(out) + " This is how it stands now.", Error: true}, nil
	case len(given) == 0: // or it was undone since
		return nil, nil
	}
	notice := givenSay(given)
	if len(out) > 0 {
		notice.More += " Left out: " + game.Lower(leftOut(out))
	}
	by, err := s.Store.GivenBy(r.Context(), a.Club, game.AssignmentID(n))
	if err != nil {
		return nil, err
	}
	if by.Change > 0 {
		notice.Undo, notice.Back = strconv.FormatInt(int64(by.Change), 10), "next"
	}
	return notice, nil
}

// nextNames are the names of those of some students who got nothing of an assignment.
func (s Pages) nextNames(ctx context.Context, a game.Actor, given game.AssignmentID, ids string) ([]string, error) {
	var of []game.PersonID
	for _, id := range listed(ids) {
		of = append(of, game.PersonID(id))
	}
	if len(of) == 0 {
		return nil, nil
	}
	people, err := s.Store.NotGiven(ctx, a, given, of)
	names := make([]string, len(people))
	for i, p := range people {
		names[i] = p.Name
	}
	return names, err
}

// leftOut says why somebody got nothing.
func leftOut(who []string) string {
	return "Something has changed meanwhile for " + names(who) + "."
}

// givenSay says which drills were given to whom.
func givenSay(given []store.NextGiven) *view.Notice {
	var all, parts []string
	for i, g := range given {
		all = append(all, g.Who...)
		if i < mostGiven {
			has := " have "
			if len(g.Who) == 1 {
				has = " has "
			}
			parts = append(parts, fewNames(g.Who)+has+g.Drill)
		}
	}
	notice := &view.Notice{Say: "Given to " + fewNames(all) + ".", More: given[0].Drill + "."}
	if len(given) > 1 {
		notice.More = game.Upper(strings.Join(parts, "; ")) + "."
	}
	if more := len(given) - mostGiven; more > 0 {
		notice.More += " " + game.Upper(game.Count(more, "more drill")) + " went to the others."
	}
	return notice
}
