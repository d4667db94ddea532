package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"
)

// studentColumns are those of a club.Person who is a student.
const studentColumns = `
		p.id,
		p.club_id as club,
		p.role,
		p.name,
		p.number,
		p.wording`

// RosterRow is one student of the roster.
type RosterRow struct {
	club.Person
	Last  *time.Time // last practice
	Games int
	Card  *time.Time // when the card was made
}

// Roster lists a club's students by name.
func (s *Store) Roster(ctx context.Context, c game.ClubID) ([]RosterRow, error) {
	const q = `select ` + studentColumns + `,
			(select max(g.started_at) from games g where g.club_id = $1 and g.student_id = p.id) as last,
			coalesce(counted.games, 0) as games,
			(select max(k.made_at) from keys k
				where k.club_id = $1 and k.person_id = p.id and k.kind = 'card') as card
		from people p
		left join (select student_id, count(*) as games from games
			where club_id = $1 and ended_at is not null and counts
			group by 1) counted on counted.student_id = p.id
		where p.club_id = $1 and p.role = 'student' and p.archived_at is null
		order by lower(p.name), p.id`
	out, err := readAll[RosterRow](ctx, s.pool, q, c)
	return out, translate(err)
}

// StudentFile is what a coach sees of one student.
type StudentFile struct {
	club.Person
	Card      *time.Time
	ConsentBy string
	ConsentOn time.Time
	Guardians []GuardianRow `db:"-"`
}

// Guardian finds one of the student's guardians.
func (f StudentFile) Guardian(id game.PersonID) (GuardianRow, bool) {
	for _, g := range f.Guardians {
		if g.ID == id {
			return g, true
		}
	}
	return GuardianRow{}, false
}

// GuardianRow is a guardian with the state of the link.
type GuardianRow struct {
	ID    game.PersonID
	Name  string
	Until *time.Time // nil: stopped
}

// StudentFile reads one student with guardians.
func (s *Store) StudentFile(ctx context.Context, c game.ClubID, id game.PersonID) (StudentFile, error) {
	const q = `select ` + studentColumns + `,
			(select max(made_at) from keys k where k.club_id = $1 and k.person_id = p.id and k.kind = 'card') as card,
			c.given_by as consent_by,
			c.given_on as consent_on
		from people p
		join lateral (select given_by, given_on from consents c
			where c.club_id = $1 and c.student_id = p.id
			order by c.id desc
			limit 1) c on true
		where p.club_id = $1 and p.id = $2 and p.role = 'student' and p.archived_at is null`
	f, err := readOne[StudentFile](ctx, s.pool, q, c, id)
	if err != nil {
		return f, translate(err)
	}
	const g = `select p.id, p.name, (select max(expires_at) from keys k
			where k.club_id = $1 and k.person_id = p.id and k.kind = 'report') as until
		from guardians g
		join people p on p.club_id = g.club_id and p.id = g.guardian_id
		where g.club_id = $1 and g.student_id = $2
		order by p.id`
	f.Guardians, err = readAll[GuardianRow](ctx, s.pool, g, c, id)
	return f, translate(err)
}

// Wards lists the students of a guardian.
func (s *Store) Wards(ctx context.Context, a game.Actor) ([]club.Person, error) {
	const q = `select ` + studentColumns + `
		from guardians g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = $1 and g.guardian_id = $2 and p.archived_at is null
		order by p.id`
	out, err := readAll[club.Person](ctx, s.pool, q, a.Club, a.Person)
	return out, translate(err)
}
