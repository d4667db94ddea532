package coach

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// drillPick picks other starts for the form of the builder as it is typed, and
// leads to the page that shows them.
func (s Pages) drillPick(w http.ResponseWriter, r *http.Request, a game.Actor, f drillForm) error {
	f.Seed = s.seed()
	f.fit()
	return s.drafted(w, r, a, f, func(_ club.Drill, draft int64) error {
		http.Redirect(w, r, fmt.Sprintf("/drills/new?draft=%d", draft), http.StatusSeeOther)
		return nil
	})
}

// drillTry begins a game in which the coach tries out the form as it is typed. Nothing is
// kept on the shelf.
func (s Pages) drillTry(w http.ResponseWriter, r *http.Request, a game.Actor, f drillForm) error {
	return s.drafted(w, r, a, f, func(d club.Drill, draft int64) error {
		g, err := s.Store.Trial(r.Context(), a, d, draft)
		if err != nil {
			return err
		}
		return s.GoPlay(w, r, g)
	})
}

// drafted keeps the form of a drill that can be done as a draft of this session, and goes
// on with both.
func (s Pages) drafted(w http.ResponseWriter, r *http.Request, a game.Actor, f drillForm,
	then func(d club.Drill, draft int64) error) error {
	f.Once = ""
	b := s.build(r.Context(), f)
	marked, err := site.Problems(b.err)
	if marked != nil || game.KindOf(err) == game.Busy {
		return s.drillPage(w, r, a, http.StatusUnprocessableEntity, f, b, marked)
	}
	if err != nil {
		return err
	}
	draft, err := s.Store.KeepDraft(r.Context(), s.Token(r), f)
	if err != nil {
		return err
	}
	return then(b.drill, draft)
}

// drillDraft opens the builder with a form that this session was writing.
func (s Pages) drillDraft(w http.ResponseWriter, r *http.Request, a game.Actor, draft string) error {
	var f drillForm
	no, err := strconv.ParseInt(draft, 10, 64)
	if err != nil {
		err = site.Missing() // nobody has been given such an address
	} else {
		err = s.Store.Shown(r.Context(), s.Token(r), store.ShownDraft, no, &f)
	}
	if game.KindOf(err) == game.Missing {
		fresh := view.Errors{"drill": "What you typed in this form is no longer kept. Here is a fresh one."}
		f = s.newDrill()
		return s.drillPage(w, r, a, http.StatusOK, f, s.build(r.Context(), f), fresh)
	}
	if err != nil {
		return err
	}
	return s.drillPage(w, r, a, http.StatusOK, f, s.build(r.Context(), f), nil)
}
