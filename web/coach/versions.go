package coach

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// drillFrom opens the builder with a drill that is there: to be changed, or copied.
func (s Pages) drillFrom(w http.ResponseWriter, r *http.Request, a game.Actor, text string) error {
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id <= 0 {
		return site.Missing()
	}
	d, err := s.Store.Drill(r.Context(), a.Club, game.DrillID(id))
	if err != nil {
		return err
	}
	if r.URL.Query().Has("edit") {
		if err := s.mayChange(r, a); err != nil {
			return err
		}
	}
	f := s.formOf(d)
	if r.URL.Query().Has("edit") {
		f.Of = text
	} else {
		f.Name = copyName(d.Name)
	}
	return s.drillPage(w, r, a, http.StatusOK, f, s.build(r.Context(), f), nil)
}

// mayChange is missing for a coach who stands in: the shelf is the club's.
func (s Pages) mayChange(r *http.Request, a game.Actor) error {
	stands, err := s.Store.Substitute(r.Context(), a)
	if err == nil && stands {
		err = site.Missing()
	}
	return err
}

// copyName is the name of a copy, no longer than a name may be.
func copyName(name string) string {
	const most = 80
	letters := []rune("Copy of " + name)
	return string(letters[:min(len(letters), most)])
}

// formOf is the builder's form filled with a drill. Its starts stand as positions, so that a
// change of anything else leaves them as they are.
func (s Pages) formOf(d club.Drill) drillForm {
	f := s.newDrill()
	f.Ending, f.From, f.To, f.Defender, f.Mode, f.Name = d.Ending, string(d.From), string(d.To), d.Defender, string(d.Mode), d.Name
	if d.Hold {
		f.Ending, f.From, f.To = holdMark+d.Ending, "", ""
	}
	f.Kind, f.FENs, f.Count = club.Pasted, strings.Join(d.Starts, "\n"), strconv.Itoa(len(d.Starts))
	f.Help, f.Allowance, f.Backs = d.Rule.Help, strconv.Itoa(d.Rule.Allowance), strconv.Itoa(d.Rule.Backs)
	f.Budget, f.Clock = strconv.Itoa(d.Rule.Budget), strconv.Itoa(d.Rule.Clock/60)
	f.Increment = strconv.Itoa(d.Rule.Increment)
	f.Pass = d.Rule.PassOf(len(d.Starts))
	return f
}

// keepDrill keeps the drill of a form: a new one, or a new version of the one that it names.
// As long as its starts are the same, it trains what it trained.
func (s Pages) keepDrill(r *http.Request, a game.Actor, d club.Drill, f drillForm) (game.DrillID, game.ChangeID, error) {
	if f.Of == "" {
		id, err := s.Store.KeepDrill(r.Context(), a, d, s.Sent(r))
		return id, 0, err
	}
	of, err := strconv.ParseInt(f.Of, 10, 64)
	if err != nil {
		return 0, 0, site.Missing()
	}
	if err := s.mayChange(r, a); err != nil {
		return 0, 0, err
	}
	was, err := s.Store.Drill(r.Context(), a.Club, game.DrillID(of))
	if err != nil {
		return 0, 0, err
	}
	if slices.Equal(was.Starts, d.Starts) {
		d.Kind, d.Trains, d.Level = was.Kind, was.Trains, was.Level
	}
	return s.Store.ChangeDrill(r.Context(), a, game.DrillID(of), d, s.Sent(r))
}
