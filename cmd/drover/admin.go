package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"

	"drover/game"
	"drover/store"
)

// adminCommand is for whoever holds the machine. It works while the site runs.
type adminCommand struct {
	Coaches  coachesCommand  `cmd:"" help:"List the coaches and welfare officers of each club."`
	Password passwordCommand `cmd:"" help:"Stop the password of a coach or officer, and print a link with which they choose a new one."`
	Factor   factorCommand   `cmd:"" help:"Print a link with which a coach or officer sets up another second factor. The password is still asked for."`
	Owner    ownerCommand    `cmd:"" help:"Make a coach an owner of the club."`
	Lift     liftCommand     `cmd:"" help:"Give a coach the access back that a welfare officer has stopped."`
}

type coachesCommand struct{}

// whom names the coach that a command is about.
type whom struct {
	Email string `arg:"" help:"The address that the coach signs in with."`
}

type (
	passwordCommand struct{ whom }
	factorCommand   struct{ whom }
	ownerCommand    struct{ whom }
	liftCommand     struct{ whom }
)

// Run lists the coaches.
func (coachesCommand) Run(ctx context.Context, std streams) error {
	return administer(ctx, std, func(a *app) error {
		rows, err := a.store.SignIns(ctx)
		if err != nil {
			return err
		}
		w := tabwriter.NewWriter(std.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "CLUB\tID\tNAME\tE-MAIL\tWHO\tSECOND FACTOR\tLAST SEEN")
		for _, c := range rows {
			seen := "-"
			if c.Seen != nil {
				seen = c.Seen.UTC().Format("2006-01-02 15:04 UTC")
			}
			fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%s\t%s\t%s\n", c.In, c.ID, c.Name, c.Email, who(c), yes(c.Factor), seen)
		}
		if err := w.Flush(); err != nil {
			return fmt.Errorf("print the list: %w", err)
		}
		return nil
	})
}

// who says what somebody is in the club.
func who(c store.CoachRow) string {
	switch {
	case c.Barred != nil:
		return "barred"
	case c.Role == game.Welfare:
		return "welfare officer"
	case c.Owner:
		return "owner"
	case c.Until != nil:
		return "stands in"
	}
	return "coach"
}

func yes(is bool) string {
	if is {
		return "yes"
	}
	return "no"
}

// Run stops the password and prints a link.
func (c passwordCommand) Run(ctx context.Context, std streams) error {
	return c.reset(ctx, std, store.ResetPassword)
}

// Run prints a link.
func (c factorCommand) Run(ctx context.Context, std streams) error {
	return c.reset(ctx, std, store.ResetFactor)
}

// reset makes a link and prints it, here alone: no log ever holds it.
func (c whom) reset(ctx context.Context, std streams, what store.ResetWhat) error {
	return administer(ctx, std, func(a *app) error {
		coach, err := c.find(ctx, a.store)
		if err != nil {
			return err
		}
		r, err := a.store.ResetCoach(ctx, game.Actor{Club: coach.Club}, coach.ID, what)
		if err != nil {
			return err
		}
		fmt.Fprintf(std.out, "%s of %s is signed out everywhere. This link works once, within an hour; give it to nobody else:\n%s%s\n",
			coach.Name, coach.In, a.settings.URL, r.Path())
		return nil
	})
}

// Run makes an owner.
func (c ownerCommand) Run(ctx context.Context, std streams) error {
	return administer(ctx, std, func(a *app) error {
		coach, err := c.find(ctx, a.store)
		if err != nil {
			return err
		}
		if coach.Role != game.Coach {
			return fmt.Errorf("%s is a welfare officer, so cannot own the club. Choose a coach", coach.Name)
		}
		if coach.Until != nil {
			return fmt.Errorf("%s only stands in, so cannot be an owner. Invite a coach for good on the page Coaches", coach.Name)
		}
		if coach.Barred != nil {
			return fmt.Errorf("%s is barred, so cannot act as an owner. See drover admin lift", coach.Name)
		}
		if err := a.store.MakeOwnerAt(ctx, game.Actor{Club: coach.Club}, coach.ID); err != nil {
			return err
		}
		fmt.Fprintf(std.out, "%s is an owner of %s.\n", coach.Name, coach.In)
		return nil
	})
}

// Run gives an access back.
func (c liftCommand) Run(ctx context.Context, std streams) error {
	return administer(ctx, std, func(a *app) error {
		coach, err := c.find(ctx, a.store)
		if err != nil {
			return err
		}
		if coach.Barred == nil {
			return fmt.Errorf("the access of %s is not stopped", coach.Name)
		}
		if err := a.store.LiftAt(ctx, game.Actor{Club: coach.Club}, coach.ID); err != nil {
			return err
		}
		fmt.Fprintf(std.out, "%s of %s may come in again. Owners and welfare officers are told.\n", coach.Name, coach.In)
		return nil
	})
}

// find finds the coach who signs in with an address: of two clubs', the one whom the
// address lets in.
func (c whom) find(ctx context.Context, st *store.Store) (store.CoachRow, error) {
	rows, err := st.SignIns(ctx)
	if err != nil {
		return store.CoachRow{}, err
	}
	var found store.CoachRow
	for _, row := range rows {
		if strings.EqualFold(row.Email, strings.TrimSpace(c.Email)) && (found.ID == 0 || row.ID < found.ID) {
			found = row
		}
	}
	if found.ID == 0 {
		return found, fmt.Errorf("nobody signs in with %s. drover admin coaches lists them", c.Email)
	}
	return found, nil
}

// administer opens the store beside a site that runs, or by itself, and does one thing.
func administer(ctx context.Context, std streams, do func(*app) error) error {
	a, err := beside(std)
	if err != nil {
		return err
	}
	defer a.close()
	at, _, err := a.reach(ctx)
	if err != nil {
		return err
	}
	if a.pg != nil {
		if err := store.Migrate(ctx, at.Owner); err != nil {
			return err
		}
		if err := store.Grant(ctx, at.Owner, at.App); err != nil {
			return err
		}
	}
	if err := a.openAt(ctx, at.App); err != nil {
		return err
	}
	return do(a)
}
