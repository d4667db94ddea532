package main

import (
	"context"
	"fmt"

	"drover/game"
	"drover/game/club"

	"github.com/pquerna/otp/totp"
)

// addOfficer makes the club's welfare officer, with a second factor whose phone nobody has,
// and one thing that a child has told and nobody has opened yet.
func (s *scenario) addOfficer(ctx context.Context) error {
	token, err := s.store.InviteOfficer(ctx, s.coach)
	if err != nil {
		return err
	}
	n := club.NewCoach{Name: "Marten", Email: "marten@ferrylane.example", Password: string(club.NewSecret(0))}
	if s.officer, err = s.store.Join(ctx, token, n); err != nil {
		return err
	}
	session, _, err := s.store.SignIn(ctx, s.officer)
	if err != nil {
		return err
	}
	f, err := s.store.BeginFactor(ctx, s.officer, session)
	if err != nil {
		return err
	}
	code, err := totp.GenerateCode(f.Secret, s.now())
	if err != nil {
		return fmt.Errorf("a code of the officer's second factor: %w", err)
	}
	if err := s.store.ConfirmFactor(ctx, s.officer, session, code); err != nil {
		return err
	}
	if err := s.store.SignOut(ctx, session); err != nil {
		return err
	}
	var who game.Actor
	for i, c := range children {
		if c.Name == "Tam" {
			who = s.people[i]
		}
	}
	return s.store.Tell(ctx, who, who.Person, "Two of the older ones laugh when I lose. I do not want them to know that I told.")
}
