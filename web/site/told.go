package site

import (
	"context"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"
)

// told is what a coach or an officer is told above every page: whose sign-in was reset or
// stopped, and that a second factor is still to be set up.
func (s *Site) told(ctx context.Context, a game.Actor, c club.Club, own store.Account) ([]view.Told, error) {
	rows, err := s.Store.Notices(ctx, a)
	if err != nil {
		return nil, err
	}
	var out []view.Told
	for _, n := range rows {
		out = append(out, view.Told{ID: strconv.FormatInt(n.ID, 10), Say: noticeSaid(n, a, c)})
	}
	if own.Needs() && !own.Factor {
		out = append(out, view.Told{
			Say: whyFactor(own, c),
			Way: &view.Link{Href: "/account/factor", Label: "Set it up now"},
		})
	}
	return out, nil
}

// whyFactor says that an account needs a second factor, and why.
func whyFactor(own store.Account, c club.Club) string {
	if own.Owner {
		return "You own this club, so set up a second factor by " + view.Day(c.Local(own.Until())) + "."
	}
	return "You are a welfare officer, so set up a second factor first. Until then no other page opens."
}

// noticeSaid is the sentence about a reset, or about somebody who was barred or has the access
// back: who, what, when and by whom.
func noticeSaid(n store.Notice, a game.Actor, c club.Club) string {
	whose, who, by := n.About+"'s", n.About+" was", "by somebody at the server"
	if n.AboutID == a.Person {
		whose, who = "Your", "You were"
	}
	if n.By != "" {
		by = "by " + n.By
	}
	if n.ByID == a.Person {
		by = "by you"
	}
	when := " on " + view.Day(c.Local(n.At)) + " " + by + "."
	switch n.What {
	case store.Barring:
		return who + " barred" + when
	case store.Lifting:
		return whose + " access was given back" + when
	case store.Forgotten:
		return whose + " password was changed on " + view.Day(c.Local(n.At)) + " with a link that came by mail."
	case store.NoticeWhat(store.ResetFactor):
		return whose + " second factor was reset" + when
	}
	return whose + " password was reset" + when
}
