package coach

import (
	"fmt"
	"net/http"

	"drover/game"
	"drover/web/site"
)

// ErasePost asks that all about a student be erased. The welfare officer decides.
func (s Pages) ErasePost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Store.AskErasure(r.Context(), a, id); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d#erase-head", id), http.StatusSeeOther)
	return nil
}
