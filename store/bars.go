package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// isBarred is what somebody reads whose access is stopped.
func isBarred() error {
	return game.Fail(game.Denied, "A welfare officer has barred you from coming in. Ask the club.")
}

// Barred is a person whose access is stopped.
type Barred struct {
	ID     game.PersonID
	Name   string
	Role   game.Role
	Reason string
	At     time.Time
	ByID   game.PersonID
	By     string
}

// Barred lists a club's barred people, the last first, for officers and owners.
func (s *Store) Barred(ctx context.Context, a game.Actor) ([]Barred, error) {
	const q = `select p.id, p.name, p.role, b.reason, b.at, b.by_id, y.name as by
		from bars b
		join people p on p.club_id = b.club_id and p.id = b.person_id and p.archived_at is null
		join people y on y.club_id = b.club_id and y.id = b.by_id
		where b.club_id = @club and b.lifted_at is null and exists (select from people w
			where w.club_id = @club and w.id = @who and (w.owner or w.role = 'welfare') and w.barred_at is null)
		order by b.id desc`
	out, err := readAll[Barred](ctx, s.pool, q, args{"club": a.Club, "who": a.Person})
	return out, translate(err)
}

// Barrable is somebody whose access an officer may stop.
type Barrable struct {
	ID     game.PersonID
	Name   string
	Role   game.Role
	Last   bool       // the last owner who can act
	Barred *time.Time // access is stopped already
}

// Barrable reads a coach or a guardian of the club.
func (s *Store) Barrable(ctx context.Context, a game.Actor, who game.PersonID) (Barrable, error) {
	if err := isOfficer(a); err != nil {
		return Barrable{}, err
	}
	const q = `select id, name, role, barred_at as barred, owner and not exists (select from people o
				where o.club_id = p.club_id and o.id <> p.id and o.role = 'coach' and o.owner and o.archived_at is null
					and o.barred_at is null) as last
		from people p
		where club_id = $1 and id = $2 and role in ('coach', 'guardian') and archived_at is null`
	out, err := readOne[Barrable](ctx, s.pool, q, a.Club, who)
	return out, translate(err)
}

// Bar stops a person's access at once: sessions and with them sockets, what is half signed
// in, a calendar's address and links to join that the person has made. A guardian's link
// stays and opens nothing. Owners and officers are told.
func (s *Store) Bar(ctx context.Context, a game.Actor, who game.PersonID, reason string) error {
	if err := isOfficer(a); err != nil {
		return err
	}
	reason, err := club.ValidateReason(reason)
	if err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mayBar(ctx, tx, a, who); err != nil {
			return err
		}
		const stop = `update people set barred_at = @now where club_id = @club and id = @who and barred_at is null`
		row, err := tx.Exec(ctx, stop, args{"club": a.Club, "who": who, "now": s.now()})
		if err != nil || row.RowsAffected() == 0 {
			return err // it is so already
		}
		const why = `insert into bars (club_id, person_id, by_id, at, reason) values (@club, @who, @by, @now, @reason)`
		if _, err := tx.Exec(ctx, why, args{
			"club": a.Club, "who": who, "by": a.Person, "now": s.now(), "reason": reason,
		}); err != nil {
			return err
		}
		for _, q := range []string{`delete from keys where club_id = $1 and person_id = $2 and kind in ('session', 'half', 'feed')`,
			`delete from invites where club_id = $1 and by_id = $2`} {
			if _, err := tx.Exec(ctx, q, a.Club, who); err != nil {
				return err
			}
		}
		if err := dropExportsOf(ctx, tx, a.Club, who); err != nil {
			return err
		}
		if err := s.tellOfBar(ctx, tx, a, who, Barring); err != nil {
			return err
		}
		return audit(ctx, tx, a, "access barred", who, "")
	})
}

// mayBar holds the club, and refuses whom an officer cannot bar.
func mayBar(ctx context.Context, tx pgx.Tx, a game.Actor, who game.PersonID) error {
	if err := lockClub(ctx, tx, a.Club); err != nil {
		return err
	}
	var by, role game.Role
	const q = `select coalesce((select o.role from people o
				where o.club_id = @club and o.id = @by and o.role = 'welfare' and o.archived_at is null), ''), role
		from people
		where club_id = @club and id = @who and role <> 'student' and archived_at is null`
	if err := tx.QueryRow(ctx, q, args{"club": a.Club, "by": a.Person, "who": who}).Scan(&by, &role); err != nil {
		return err
	}
	switch {
	case by != game.Welfare:
		return missing()
	case role == game.Welfare:
		return game.Fail(game.Denied, "No officer bars an officer. Another officer can end the access on the page Access.")
	}
	return nil
}

// tellOfBar tells all owners and officers but the person whom it is about.
func (s *Store) tellOfBar(ctx context.Context, tx pgx.Tx, a game.Actor, who game.PersonID, what NoticeWhat) error {
	const tell = `insert into notices (club_id, to_id, about_id, by_id, what, at)
		select @club, p.id, @about, nullif(@by::bigint, 0), @what, @now
		from people p
		where p.club_id = @club and p.archived_at is null and p.barred_at is null and p.id <> @about
			and (p.owner or p.role = 'welfare')`
	_, err := tx.Exec(ctx, tell, args{"club": a.Club, "about": who, "by": a.Person, "what": string(what), "now": s.now()})
	return err
}

// Lift gives a person's access back: by another officer than the one who stopped it, or by
// an owner who is not barred.
func (s *Store) Lift(ctx context.Context, a game.Actor, who game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockClub(ctx, tx, a.Club); err != nil {
			return err
		}
		var by game.PersonID
		const q = `select b.by_id
			from bars b
			where b.club_id = @club and b.person_id = @who and b.lifted_at is null and exists (select from people p
				where p.club_id = @club and p.id = @a and (p.owner or p.role = 'welfare') and p.archived_at is null
					and p.barred_at is null)`
		if err := tx.QueryRow(ctx, q, args{"club": a.Club, "who": who, "a": a.Person}).Scan(&by); err != nil {
			return err
		}
		if by == a.Person {
			return game.Fail(game.Denied, "You stopped this access yourself. Another officer or an owner of the club gives it back.")
		}
		return s.lift(ctx, tx, a, who)
	})
}

// LiftAt gives a person's access back, at the server.
func (s *Store) LiftAt(ctx context.Context, by game.Actor, who game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockClub(ctx, tx, by.Club); err != nil {
			return err
		}
		return s.lift(ctx, tx, by, who)
	})
}

func (s *Store) lift(ctx context.Context, tx pgx.Tx, a game.Actor, who game.PersonID) error {
	const q = `update bars set lifted_at = @now, lifted_by = nullif(@by::bigint, 0)
		where club_id = @club and person_id = @who and lifted_at is null`
	row, err := tx.Exec(ctx, q, args{"club": a.Club, "who": who, "by": a.Person, "now": s.now()})
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return missing()
	}
	if _, err := tx.Exec(ctx, `update people set barred_at = null where club_id = $1 and id = $2`, a.Club, who); err != nil {
		return err
	}
	if err := s.tellOfBar(ctx, tx, a, who, Lifting); err != nil {
		return err
	}
	return audit(ctx, tx, a, "access given back", who, "")
}

// Linked is a guardian of the club, who comes by a private link.
type Linked struct {
	ID       game.PersonID
	Name     string
	Children []string   // each with its number
	Until    *time.Time // the end of the link; nil: there is none
	Seen     *time.Time
	Barred   *time.Time
}

// Linked lists a club's guardians for an officer.
func (s *Store) Linked(ctx context.Context, a game.Actor) ([]Linked, error) {
	if err := isOfficer(a); err != nil {
		return nil, err
	}
	const q = `select p.id, p.name, p.barred_at as barred,
			array(select c.name || ', number ' || c.number
				from guardians g
				join people c on c.club_id = g.club_id and c.id = g.student_id
				where g.club_id = p.club_id and g.guardian_id = p.id
				order by c.number) as children,
			(select max(k.expires_at) from keys k
				where k.club_id = p.club_id and k.person_id = p.id and k.kind = 'report') as until,
			(select max(k.seen_at) from keys k
				where k.club_id = p.club_id and k.person_id = p.id and k.kind = 'session') as seen
		from people p
		where p.club_id = $1 and p.role = 'guardian' and p.archived_at is null
		order by lower(p.name), p.id`
	out, err := readAll[Linked](ctx, s.pool, q, a.Club)
	return out, translate(err)
}
