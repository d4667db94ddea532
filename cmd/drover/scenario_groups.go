package main

import (
	"context"
	"slices"

	"drover/game"
)

// groups are the club's evenings, by nickname; a child may be in several.
var groups = []struct {
	name     string
	children []string
}{
	{"Tuesday", []string{"Juniper", "Otis", "Bea", "Miro", "Runa", "Kit"}},
	{"Thursday", []string{"Sol", "Pim", "Tam", "Dot"}},
	{"First team", []string{"Juniper", "Runa", "Sol"}},
}

// addGroups makes the groups and puts the children in them.
func (s *scenario) addGroups(ctx context.Context) error {
	for _, g := range groups {
		id, err := s.store.KeepGroup(ctx, s.coach, g.name)
		if err != nil {
			return err
		}
		var in []game.PersonID
		for _, p := range s.people {
			if slices.Contains(g.children, p.Name) {
				in = append(in, p.Person)
			}
		}
		if _, err := s.store.PutInGroup(ctx, s.coach, id, in); err != nil {
			return err
		}
	}
	return nil
}
