package store

import (
	"context"

	"drover/game"
)

// Resting lists the students of a club whose consent asks for a coach's eye: true where practice
// rests, false where guardians are asked again and practice goes on.
func (s *Store) Resting(ctx context.Context, c game.ClubID) (map[game.PersonID]bool, error) {
	const q = `select p.id as student, not ` + mayPractise + ` as rests
		from people p
		where p.club_id = $1 and p.role = 'student' and p.archived_at is null and ` + hasConsent + `
			and (not ` + mayPractise + ` or exists (select ` + askedFor + `))`
	type row struct {
		Student game.PersonID
		Rests   bool
	}
	rows, err := readAll[row](ctx, s.pool, q, c)
	out := map[game.PersonID]bool{}
	for _, r := range rows {
		out[r.Student] = r.Rests
	}
	return out, translate(err)
}
