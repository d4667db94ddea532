package store

import (
	"context"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
)

// Subject says whose data a page shows to an adult.
type Subject int

// The subjects of a reading.
const (
	OfClub    Subject = iota // several students of the club
	OfStudent                // the student of that number
	OfGame                   // the student who played the game of that number
	OfWard                   // the guardian's own child
	OfConcern                // nobody: no row that names a child says that something was told
)

// whose finds a reading's subject and what else is noted: @club is the club, @id the
// number that the page has, @reader the person who reads. Each names all three.
var whose = map[Subject]string{
	OfClub: `select null::bigint, '' where @id::bigint >= 0 and @reader::bigint > 0`,
	OfStudent: `select id, '' from people
		where club_id = @club and id = @id and role = 'student' and @reader::bigint > 0`,
	OfGame: `select case when kind <> 'trial' then student_id end, 'game ' || id from games
		where club_id = @club and id = @id and @reader::bigint > 0`,
	OfWard: `select p.id, '' from guardians g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = @club and g.guardian_id = @reader and @id::bigint in (0, p.id)
		order by p.archived_at is not null, p.id
		limit 1`,
	OfConcern: `select null::bigint, 'concern ' || id from concerns
		where club_id = @club and id = @id and @reader::bigint > 0`,
}

// HasRead says whether an adult has read something since.
func (s *Store) HasRead(ctx context.Context, a game.Actor, what string, since time.Time) (is bool, err error) {
	const q = `select exists (select from audit where club_id = $1 and actor_id = $2 and action = $3 and at > $4)`
	err = s.pool.QueryRow(ctx, q, a.Club, a.Person, what, since).Scan(&is)
	return is, translate(err)
}

// Read notes that a page with a child's data is about to be shown to an adult.
// No page is shown without that note, so any failure says that our records
// cannot be reached.
func (s *Store) Read(ctx context.Context, a game.Actor, what string, of Subject, id int64) error {
	q := `insert into audit (club_id, actor_id, action, subject_id, detail)
		select @club, @reader, @what, t.subject, t.detail from (` + whose[of] + `) t(subject, detail)`
	row, err := s.pool.Exec(ctx, q, args{"club": a.Club, "reader": a.Person, "what": what, "id": id})
	if err != nil {
		return away(err)
	}
	if row.RowsAffected() == 0 {
		return missing()
	}
	return nil
}

// Tried is what somebody tried to sign in with. Nothing of it is kept: it finds the
// person, where there is one, whose number is then noted.
type Tried struct {
	Number string      // of a card
	Email  string      // a coach's
	Token  club.Secret // of a card's pattern or a link
}

// TurnedAway notes a sign-in that failed or was refused, and which way of
// signing in it was. If often is set, one row may stand for several: nothing is
// written where the club's last rows say the same within a minute, so that a
// flood of tries does not fill the disk.
func (s *Store) TurnedAway(ctx context.Context, action, way string, by Tried, often bool) error {
	const q = `with p as (
			select club_id, id from people
			where number = @number and role = 'student' and archived_at is null
			union all
			select club_id, id from people
			where lower(email) = lower(@email) and password is not null and archived_at is null
			union all
			select club_id, person_id from keys
			where club_id = @club and hash = @hash and kind in ('card', 'report')
			union all
			select 0, null
			order by id nulls last
			limit 1)
		insert into audit (club_id, action, subject_id, detail)
		select p.club_id, @action, p.id, @way
		from p
		where not @often or not exists (
			select from (select * from audit a where a.club_id = p.club_id order by a.id desc limit 20) l
			where l.action = @action and l.detail = @way and l.subject_id is not distinct from p.id
				and l.at > now() - interval '1 minute')`
	number, err := strconv.ParseInt(strings.TrimSpace(by.Number), 10, 32)
	if err != nil {
		number = 0 // no student has it
	}
	of, _ := by.Token.Club() // without a token the hash finds nothing
	_, err = s.pool.Exec(ctx, q, args{
		"action": action, "way": way, "number": number, "email": strings.TrimSpace(by.Email), "club": of,
		"hash": by.Token.Hash(), "often": often,
	})
	if err != nil {
		return away(err)
	}
	return nil
}
