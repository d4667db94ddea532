package coach

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// drillPick picks other starts for the form of the builder as it is typed, and
// leads to the page that shows them.
func (s Pages) drillPick(w http.ResponseWriter, r *http.Request, a game.Actor, f drillForm) error {
	f.Seed, f.Once = s.seed(), ""
	f.fit()
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
	http.Redirect(w, r, fmt.Sprintf("/drills/new?draft=%d", draft), http.StatusSeeOther)
	return nil
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
