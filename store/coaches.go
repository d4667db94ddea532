package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// inScope holds the people p of a query to those whom the coach @reader may deal with: all
// of the club, or the students of a substitute's groups.
const inScope = ` and (not exists (select from people r
			where r.club_id = p.club_id and r.id = @reader and r.until_at is not null)
		or exists (select from substitutes t
			join members m on m.club_id = t.club_id and m.group_id = t.group_id
			where t.club_id = p.club_id and t.coach_id = @reader and m.student_id = p.id))`

// InScope is missing where a coach may not deal with one of these students.
func (s *Store) InScope(ctx context.Context, a game.Actor, students ...game.PersonID) error {
	var n int
	const q = `select count(*) from people p
		where p.club_id = @club and p.id = any(@students) and p.role = 'student'` + inScope
	err := s.quick.QueryRow(ctx, q, args{"club": a.Club, "students": students, "reader": a.Person}).Scan(&n)
	if err == nil && n < len(students) {
		return missing()
	}
	return translate(err)
}

// GameInScope is InScope of the student who plays a game.
func (s *Store) GameInScope(ctx context.Context, a game.Actor, id game.GameID) error {
	var ok bool
	const q = `select true
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = @club and g.id = @game` + inScope
	return translate(s.quick.QueryRow(ctx, q, args{"club": a.Club, "game": id, "reader": a.Person}).Scan(&ok))
}

// Substitute says whether a coach only stands in.
func (s *Store) Substitute(ctx context.Context, a game.Actor) (is bool, err error) {
	const q = `select until_at is not null from people where club_id = $1 and id = $2`
	err = s.quick.QueryRow(ctx, q, a.Club, a.Person).Scan(&is)
	return is, translate(err)
}

// mustOwn refuses whoever does not own the club. It locks the club's row, so that two owners
// cannot end each other at once.
func mustOwn(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	if err := lockClub(ctx, tx, a.Club); err != nil {
		return err
	}
	var is bool
	const q = `select owner from people where club_id = $1 and id = $2 and role = 'coach' and archived_at is null`
	if err := tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&is); err != nil {
		return err
	}
	if !is {
		return game.Fail(game.Denied, "Only an owner of the club can do this.")
	}
	return nil
}

// CoachRow is a coach of the club.
type CoachRow struct {
	Club   game.ClubID
	In     string // the club's name
	ID     game.PersonID
	Name   string
	Email  string
	Owner  bool
	Factor bool       // a second factor is on
	Until  *time.Time // the end of a substitute's time
	Groups []string   // of a substitute
	Seen   *time.Time // last use of a session
}

// Coaches lists a club's coaches, owners first; those of all clubs for none.
func (s *Store) Coaches(ctx context.Context, c game.ClubID) ([]CoachRow, error) {
	const q = `select p.club_id as club, c.name as in, p.id, p.name, coalesce(p.email, '') as email, p.owner, p.until_at as until,
			exists (select from factors f where f.club_id = p.club_id and f.person_id = p.id) as factor,
			coalesce((select array_agg(g.name order by lower(g.name))
				from substitutes t
				join groups g on g.club_id = t.club_id and g.id = t.group_id
				where t.club_id = p.club_id and t.coach_id = p.id), '{}') as groups,
			(select max(k.seen_at) from keys k
				where k.club_id = p.club_id and k.person_id = p.id and k.kind = 'session') as seen
		from people p
		join clubs c on c.id = p.club_id
		where ($1 = 0 or p.club_id = $1) and p.role = 'coach' and p.archived_at is null
		order by p.club_id, p.owner desc, p.until_at is not null, lower(p.name), p.id`
	out, err := readAll[CoachRow](ctx, s.pool, q, c)
	return out, translate(err)
}

// InviteFor is how long a link to join works.
const InviteFor = 7 * 24 * time.Hour

// Invite makes a link with which a coach joins: for good, or as a substitute of some groups
// until the end of a day.
func (s *Store) Invite(ctx context.Context, a game.Actor, until *time.Time, groups []game.GroupID,
	sent ...Sent) (token club.Secret, err error) {
	switch {
	case until == nil && len(groups) > 0:
		return "", club.Problems{"until": "A substitute needs a last day. Choose one, or no group for a coach for good."}.Err()
	case until != nil && len(groups) == 0:
		return "", club.Problems{"group": "Choose the groups that the substitute sees."}.Err()
	case until != nil && !until.After(s.now()):
		return "", club.Problems{"until": "This day is over. Choose a later one."}.Err()
	case groups == nil:
		groups = []game.GroupID{}
	}
	token = club.NewSecret(a.Club)
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if err := mustOwn(ctx, tx, a); err != nil {
			return 0, err
		}
		const q = `insert into invites (club_id, hash, by_id, until_at, groups, expires_at)
			values (@club, @hash, @by, @until, @groups, @expires)`
		if _, err := tx.Exec(ctx, q, args{
			"club": a.Club, "hash": token.Hash(), "by": a.Person, "until": until, "groups": groups,
			"expires": s.now().Add(InviteFor),
		}); err != nil {
			return 0, err
		}
		if err := s.show(ctx, tx, in.Session, ShownInvite, int64(a.Person), token); err != nil {
			return 0, err
		}
		return int64(a.Person), audit(ctx, tx, a, "coach invited", 0, "")
	})
	return token, err
}

// inviteGone is said of a link to join that no longer works.
const inviteGone = "This link has been used or is too old. Ask an owner of the club for a new one."

// Join makes the coach whom a link invites; the link works once, and no longer than whoever
// made it is an owner.
func (s *Store) Join(ctx context.Context, token club.Secret, n club.NewCoach) (game.Actor, error) {
	a := game.Actor{Role: game.Coach}
	c, ok := token.Club()
	if !ok {
		return a, game.Fail(game.Gone, inviteGone)
	}
	at, err := s.Club(ctx, c)
	if game.KindOf(err) == game.Missing {
		return a, game.Fail(game.Gone, inviteGone)
	}
	if err != nil {
		return a, err
	}
	if err := n.Validate(at.Name); err != nil {
		return a, err
	}
	hashed, err := club.HashPassword(ctx, club.Known, n.Password)
	if err != nil {
		return a, err
	}
	a.Club, a.Name = c, n.Name
	err = s.tx(ctx, func(tx pgx.Tx) error { return s.join(ctx, tx, &a, token, n, hashed) })
	return a, err
}

func (s *Store) join(ctx context.Context, tx pgx.Tx, a *game.Actor, token club.Secret, n club.NewCoach, hashed string) error {
	var until *time.Time
	var groups []game.GroupID
	const use = `delete from invites i
		using people o
		where i.club_id = $1 and i.hash = $2 and i.expires_at > $3
			and o.club_id = i.club_id and o.id = i.by_id and o.owner and o.archived_at is null
		returning i.until_at, i.groups`
	if err := tx.QueryRow(ctx, use, a.Club, token.Hash(), s.now()).Scan(&until, &groups); err != nil {
		return game.Wrap(game.Gone, inviteGone, err)
	}
	const q = `insert into people (club_id, role, name, email, password, until_at)
		values (@club, 'coach', @name, @email, @password, @until)
		returning id`
	err := tx.QueryRow(ctx, q, args{
		"club": a.Club, "name": n.Name, "email": n.Email, "password": hashed, "until": until,
	}).Scan(&a.Person)
	if err != nil {
		return err
	}
	const in = `insert into substitutes (club_id, coach_id, group_id)
		select $1, $2, g.id from groups g where g.club_id = $1 and g.id = any($3)`
	if _, err := tx.Exec(ctx, in, a.Club, a.Person, groups); err != nil {
		return err
	}
	return audit(ctx, tx, *a, "coach joined", a.Person, "")
}

// EndCoach ends a coach's access at once: sessions, devices and links to join. Drills and
// what was set go on under the successor. The last owner cannot be ended.
func (s *Store) EndCoach(ctx context.Context, a game.Actor, coach, successor game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustOwn(ctx, tx, a); err != nil {
			return err
		}
		if coach == successor {
			return club.Problems{"successor": "Choose somebody else, who goes on with the drills."}.Err()
		}
		var others int
		const left = `select count(*) from people
			where club_id = $1 and role = 'coach' and owner and archived_at is null and id <> $2`
		if err := tx.QueryRow(ctx, left, a.Club, coach).Scan(&others); err != nil {
			return err
		}
		if others == 0 {
			return game.Fail(game.Conflict, "This is the last owner of the club. Make somebody else an owner first.")
		}
		return s.endCoach(ctx, tx, a, coach, successor)
	})
}

func (s *Store) endCoach(ctx context.Context, tx pgx.Tx, a game.Actor, coach, successor game.PersonID) error {
	const end = `update people set archived_at = $3, owner = false
		where club_id = $1 and id = $2 and role = 'coach' and archived_at is null and exists (select from people n
			where n.club_id = $1 and n.id = $4 and n.role = 'coach' and n.archived_at is null and n.until_at is null)`
	row, err := tx.Exec(ctx, end, a.Club, coach, s.now(), successor)
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return pgx.ErrNoRows
	}
	for _, q := range []string{`delete from keys where club_id = $1 and person_id = $2`,
		`delete from invites where club_id = $1 and by_id = $2`,
		`delete from substitutes where club_id = $1 and coach_id = $2`} {
		if _, err := tx.Exec(ctx, q, a.Club, coach); err != nil {
			return err
		}
	}
	for _, q := range []string{`update drills set made_by = $3 where club_id = $1 and made_by = $2`,
		`update assignments set given_by = $3 where club_id = $1 and given_by = $2`} {
		if _, err := tx.Exec(ctx, q, a.Club, coach, successor); err != nil {
			return err
		}
	}
	return audit(ctx, tx, a, "coach ended", coach, "")
}

// MakeOwner makes a coach an owner of the club too; a substitute cannot be one.
func (s *Store) MakeOwner(ctx context.Context, a game.Actor, coach game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustOwn(ctx, tx, a); err != nil {
			return err
		}
		return makeOwner(ctx, tx, a, coach)
	})
}

// MakeOwnerAt makes a coach an owner of the club, at the server.
func (s *Store) MakeOwnerAt(ctx context.Context, by game.Actor, coach game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error { return makeOwner(ctx, tx, by, coach) })
}

func makeOwner(ctx context.Context, tx pgx.Tx, by game.Actor, coach game.PersonID) error {
	const q = `update people set owner = true
		where club_id = $1 and id = $2 and role = 'coach' and archived_at is null and until_at is null`
	row, err := tx.Exec(ctx, q, by.Club, coach)
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return missing()
	}
	return audit(ctx, tx, by, "owner made", coach, "")
}
