package site

import (
	"context"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"
)

// told is what a coach is told above every page: whose sign-in was reset, and that a
// second factor is still to be set up.
func (s *Site) told(ctx context.Context, a game.Actor, c club.Club, own store.Account) ([]view.Told, error) {
	rows, err := s.Store.Notices(ctx, a)
	if err != nil {
		return nil, err
	}
	var out []view.Told
	for _, n := range rows {
		out = append(out, view.Told{ID: strconv.FormatInt(n.ID, 10), Say: resetSaid(n, a, c)})
	}
	if own.Needs() && !own.Factor {
		out = append(out, view.Told{
			Say: whyFactor(own) + ", so set up a second factor by " + view.Day(c.Local(own.Until())) + ".",
			Way: &view.Link{Href: "/account/factor", Label: "Set it up now"},
		})
	}
	return out, nil
}

// whyFactor is why an account needs a second factor, as the beginning of a sentence.
func whyFactor(own store.Account) string {
	if own.Owner {
		return "You own this club"
	}
	return "You are a welfare officer"
}

// resetSaid is the sentence about a reset: who, what, when and by whom.
func resetSaid(n store.Notice, a game.Actor, c club.Club) string {
	whose, by := n.About+"'s", "by somebody at the server"
	if n.AboutID == a.Person {
		whose = "Your"
	}
	if n.By != "" {
		by = "by " + n.By
	}
	if n.ByID == a.Person {
		by = "by you"
	}
	what := "password"
	if n.What == store.ResetFactor {
		what = "second factor"
	}
	return whose + " " + what + " was reset on " + view.Day(c.Local(n.At)) + " " + by + "."
}
