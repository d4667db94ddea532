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

// GameInScope is InScope of the student who plays a game; a game in which a coach tries a
// drill out is that coach's alone.
func (s *Store) GameInScope(ctx context.Context, a game.Actor, id game.GameID) error {
	var ok bool
	const q = `select true
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = @club and g.id = @game and (g.kind = 'trial' and g.student_id = @reader
			or g.kind <> 'trial'` + inScope + `)`
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
	const q = `select owner from people where club_id = $1 and id = $2 and role = 'coach' and archived_at is null and barred_at is null`
	if err := tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&is); err != nil {
		return err
	}
	if !is {
		return game.Fail(game.Denied, "Only an owner of the club can do this.")
	}
	return nil
}

// CoachRow is a coach or a welfare officer of the club.
type CoachRow struct {
	Role   game.Role
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
	Barred *time.Time // access was stopped then
}

// Coaches lists a club's coaches, owners first.
func (s *Store) Coaches(ctx context.Context, c game.ClubID) ([]CoachRow, error) {
	return s.signIns(ctx, c, game.Coach)
}

// Staff lists a club's coaches and welfare officers.
func (s *Store) Staff(ctx context.Context, c game.ClubID) ([]CoachRow, error) {
	return s.signIns(ctx, c, game.Coach, game.Welfare)
}

// SignIns lists all who sign in with a password, of all clubs: coaches and welfare officers.
func (s *Store) SignIns(ctx context.Context) ([]CoachRow, error) {
	return s.signIns(ctx, 0, game.Coach, game.Welfare)
}

// signIns lists those of some roles; those of all clubs for none.
func (s *Store) signIns(ctx context.Context, c game.ClubID, roles ...game.Role) ([]CoachRow, error) {
	const q = `select p.club_id as club, c.name as in, p.id, p.role, p.name, coalesce(p.email, '') as email, p.owner,
			p.until_at as until, p.barred_at as barred,
			exists (select from factors f where f.club_id = p.club_id and f.person_id = p.id) as factor,
			coalesce((select array_agg(g.name order by lower(g.name))
				from substitutes t
				join groups g on g.club_id = t.club_id and g.id = t.group_id
				where t.club_id = p.club_id and t.coach_id = p.id), '{}') as groups,
			(select max(k.seen_at) from keys k
				where k.club_id = p.club_id and k.person_id = p.id and k.kind = 'session') as seen
		from people p
		join clubs c on c.id = p.club_id
		where ($1 = 0 or p.club_id = $1) and p.role = any($2) and p.archived_at is null
		order by p.club_id, p.role, p.owner desc, p.until_at is not null, lower(p.name), p.id`
	out, err := readAll[CoachRow](ctx, s.pool, q, c, roles)
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
		if err := s.keepInvite(ctx, tx, a, invite{token, game.Coach, until, groups}); err != nil {
			return 0, err
		}
		if err := s.show(ctx, tx, in.Session, ShownInvite, int64(a.Person), token); err != nil {
			return 0, err
		}
		return int64(a.Person), audit(ctx, tx, a, "coach invited", 0, "")
	})
	return token, err
}

// invite is a link to join: in which role, and of a substitute until when and for which
// groups.
type invite struct {
	token  club.Secret
	role   game.Role
	until  *time.Time
	groups []game.GroupID
}

func (s *Store) keepInvite(ctx context.Context, tx pgx.Tx, a game.Actor, i invite) error {
	const q = `insert into invites (club_id, hash, role, by_id, until_at, groups, expires_at)
		values (@club, @hash, @role, @by, @until, @groups, @expires)`
	_, err := tx.Exec(ctx, q, args{
		"club": a.Club, "hash": i.token.Hash(), "role": i.role, "by": a.Person, "until": i.until, "groups": i.groups,
		"expires": s.now().Add(InviteFor),
	})
	return err
}

// inviteGone is said of a link to join that no longer works.
const inviteGone = "This link has been used or is too old. Ask whoever sent it for a new one."

// Join makes the coach or the officer whom a link invites; the link works once, and no
// longer than whoever made it may make one.
func (s *Store) Join(ctx context.Context, token club.Secret, n club.NewCoach) (game.Actor, error) {
	var a game.Actor
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
	i, err := s.useInvite(ctx, tx, a.Club, token)
	if err != nil {
		return err
	}
	if err := apart(ctx, tx, a.Club, i.role, n); err != nil {
		return err
	}
	if a.Person, err = s.addSignIn(ctx, tx, a.Club, i.role, n, hashed); err != nil {
		return err
	}
	a.Role = i.role
	if i.until != nil {
		if _, err := tx.Exec(ctx, `update people set until_at = $3 where club_id = $1 and id = $2`, a.Club, a.Person, i.until); err != nil {
			return err
		}
	}
	const in = `insert into substitutes (club_id, coach_id, group_id)
		select $1, $2, g.id from groups g where g.club_id = $1 and g.id = any($3)`
	if _, err := tx.Exec(ctx, in, a.Club, a.Person, i.groups); err != nil {
		return err
	}
	what := "coach joined"
	if i.role == game.Welfare {
		what = "officer joined"
	}
	return audit(ctx, tx, *a, what, a.Person, "")
}

// useInvite uses a link to join up, if whoever made it may still make one.
func (s *Store) useInvite(ctx context.Context, tx pgx.Tx, c game.ClubID, token club.Secret) (invite, error) {
	if err := lockClub(ctx, tx, c); err != nil {
		return invite{}, err
	}
	i := invite{token: token}
	var by game.PersonID
	const use = `delete from invites
		where club_id = $1 and hash = $2 and expires_at > $3
		returning role, by_id, until_at, groups`
	if err := tx.QueryRow(ctx, use, c, token.Hash(), s.now()).Scan(&i.role, &by, &i.until, &i.groups); err != nil {
		return i, game.Wrap(game.Gone, inviteGone, err)
	}
	may := mustOwn
	if i.role == game.Welfare {
		may = mustAppoint
	}
	err := may(ctx, tx, game.Actor{Club: c, Person: by})
	if game.KindOf(err) == game.Denied {
		return i, game.Wrap(game.Gone, inviteGone, err)
	}
	return i, err
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
			where club_id = $1 and role = 'coach' and owner and archived_at is null and barred_at is null and id <> $2`
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
	var ok bool
	const stays = `select true from people
		where club_id = $1 and id = $2 and role = 'coach' and archived_at is null and barred_at is null and until_at is null`
	if err := tx.QueryRow(ctx, stays, a.Club, successor).Scan(&ok); err != nil {
		return err
	}
	if err := s.leave(ctx, tx, a, coach, game.Coach); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `delete from substitutes where club_id = $1 and coach_id = $2`, a.Club, coach); err != nil {
		return err
	}
	for _, q := range []string{`update drills set made_by = $3 where club_id = $1 and made_by = $2`,
		`update assignments set given_by = $3 where club_id = $1 and given_by = $2`,
		`update plans set made_by = $3 where club_id = $1 and made_by = $2`} {
		if _, err := tx.Exec(ctx, q, a.Club, coach, successor); err != nil {
			return err
		}
	}
	return nil
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
		where club_id = $1 and id = $2 and role = 'coach' and archived_at is null and barred_at is null and until_at is null`
	row, err := tx.Exec(ctx, q, by.Club, coach)
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return missing()
	}
	return audit(ctx, tx, by, "owner made", coach, "")
}
