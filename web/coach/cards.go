package coach

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// cardsOnSheet is how many cards one printed sheet has.
const cardsOnSheet = 8

// Cards is the page before a sheet of cards: for whom, and which old cards stop.
func (s Pages) Cards(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	only, err := idsOf(r.URL.Query().Get("for"))
	if err != nil {
		return err
	}
	roster, err := s.Store.Roster(r.Context(), a.Club, store.RosterAsk{NoCard: len(only) == 0})
	if err != nil {
		return err
	}
	m := CardsPage{Page: page, All: len(only) == 0}
	var waits []string
	for _, row := range roster.Rows {
		c := view.Choice{Value: strconv.FormatInt(int64(row.ID), 10), Label: row.Name}
		switch {
		case len(only) > 0 && !slices.Contains(only, row.ID):
		case row.Waits:
			waits = append(waits, row.Name)
		case row.Card == nil:
			c.Chosen = true
			m.Fresh = append(m.Fresh, c)
		default:
			m.Old = append(m.Old, c)
		}
	}
	m.Waits = waitNames(waits)
	return s.Show(w, r, m.View())
}

// waitNames says who gets no card yet.
func waitNames(names []string) string {
	switch {
	case len(names) == 0:
		return ""
	case len(names) == 1:
		return names[0] + " waits for consent, and gets no card yet."
	case len(names) > mostNames:
		return game.Upper(game.Number(len(names))) + " students wait for consent, and get no card yet."
	}
	return game.List(names) + " wait for consent, and get no card yet."
}

type cardsForm struct {
	Fresh   []game.PersonID `schema:"student"`
	Replace []game.PersonID `schema:"replace"`
	site.OnceForm
}

// CardsPost asks for the cards of a sheet, and leads to it.
func (s Pages) CardsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f cardsForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	id, err := s.Store.MakeCards(r.Context(), a, f.Fresh, f.Replace, s.Sent(r))
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/cards/sheet?no=%d", id), http.StatusSeeOther)
	return nil
}

// sheetNo is the number of a sheet in an address; nonsense means the newest.
func sheetNo(r *http.Request) game.SheetID {
	n, _ := strconv.ParseInt(r.URL.Query().Get("no"), 10, 64)
	return game.SheetID(max(n, 0))
}

// Sheet shows a sheet of cards to the session that asked for it: how far it is, then the
// cards for ten minutes.
func (s Pages) Sheet(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	sheet, err := s.Store.SheetOf(r.Context(), s.Token(r), sheetNo(r))
	if err != nil && game.KindOf(err) != game.Missing {
		return err
	}
	m := SheetPage{Page: page, Of: sheet.Of, Done: sheet.Done, No: strconv.FormatInt(int64(sheet.ID), 10),
		Made: c.Local(s.Now()).Format("2 January 2006"), Gone: sheet.Made - len(sheet.Cards)}
	if len(sheet.Not) > 0 {
		m.Not = "No new card was made for " + game.List(sheet.Not) + ": there is one already, or the student has left."
	}
	if sheet.Done < sheet.Of {
		return s.Show(w, r, m.View())
	}
	for chunk := range slices.Chunk(sheet.Cards, cardsOnSheet) {
		var cards []view.PressCard
		for _, card := range chunk {
			press, err := s.Press(card, c.Name)
			if err != nil {
				return err
			}
			cards = append(cards, press)
		}
		m.Sheets = append(m.Sheets, cards)
	}
	return s.Show(w, r, m.View())
}

// CardProgress tells a script how far a sheet is.
func (s Pages) CardProgress(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	done, of, err := s.Store.CardProgress(r.Context(), s.Token(r), sheetNo(r))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(map[string]int{"done": done, "of": of}) // a script that is gone asks no more
	return nil
}
