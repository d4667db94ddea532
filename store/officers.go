package store

import (
	"context"
	"strings"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// WelfareDesk is whom a child can turn to, as the children read it, and who appoints.
type WelfareDesk struct {
	Name     string
	Contact  string
	Revision int
	Officers []CoachRow // those with an account; none in a club that has not appointed any
	May      bool       // who looks may change it
}

// Welfare reads whom the children of a club can turn to.
func (s *Store) Welfare(ctx context.Context, a game.Actor) (WelfareDesk, error) {
	const q = `select c.welfare as name, c.contact, c.welfare_revision as revision,
			` + mayAppoint + ` as may
		from clubs c
		where c.id = @club`
	type row struct {
		Name, Contact string
		Revision      int
		May           bool
	}
	r, err := readOne[row](ctx, s.pool, q, args{"club": a.Club, "person": a.Person})
	if err != nil {
		return WelfareDesk{}, translate(err)
	}
	out := WelfareDesk{Name: r.Name, Contact: r.Contact, Revision: r.Revision, May: r.May}
	out.Officers, err = s.signIns(ctx, a.Club, game.Welfare)
	return out, err
}

// mayAppoint says whether @person may say whom children turn to: a welfare officer, and an
// owner as long as the club has no officer.
const mayAppoint = `exists (select from people p
			where p.club_id = @club and p.id = @person and p.archived_at is null and p.barred_at is null
				and (p.role = 'welfare' or p.owner and not exists (select from people o
					where o.club_id = @club and o.role = 'welfare' and o.archived_at is null)))`

// mustAppoint refuses whoever may not appoint. It locks the club's row, so that two first
// officers are not appointed at once.
func mustAppoint(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	if err := lockClub(ctx, tx, a.Club); err != nil {
		return err
	}
	var may bool
	err := tx.QueryRow(ctx, `select `+mayAppoint, args{"club": a.Club, "person": a.Person}).Scan(&may)
	if err == nil && !may {
		err = game.Fail(game.Denied, "Only a welfare officer of the club can do this; an owner can as long as there is none.")
	}
	return err
}

// KeepWelfare changes whom children turn to. Where somebody else has changed it since,
// nothing is changed.
func (s *Store) KeepWelfare(ctx context.Context, a game.Actor, name, contact string, revision int) error {
	name, contact, err := club.ValidateWelfare(name, contact)
	if err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		const q = `update clubs set welfare = @name, contact = @contact, welfare_revision = welfare_revision + 1
			where id = @club and welfare_revision = @revision`
		if err := takeTurn(ctx, tx, q, revision, args{"club": a.Club, "name": name, "contact": contact}); err != nil {
			return err
		}
		return audit(ctx, tx, a, "welfare contact changed", 0, "")
	})
}

// InviteOfficer makes a link with which a welfare officer joins. Links that were made
// before and have not been used end.
func (s *Store) InviteOfficer(ctx context.Context, a game.Actor, sent ...Sent) (token club.Secret, err error) {
	token = club.NewSecret(a.Club)
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return 0, err
		}
		if _, err := tx.Exec(ctx, `delete from invites where club_id = $1 and role = 'welfare'`, a.Club); err != nil {
			return 0, err
		}
		if err := s.keepInvite(ctx, tx, a, invite{token: token, role: game.Welfare, groups: []game.GroupID{}}); err != nil {
			return 0, err
		}
		if err := s.show(ctx, tx, in.Session, ShownOfficer, int64(a.Person), token); err != nil {
			return 0, err
		}
		return int64(a.Person), audit(ctx, tx, a, "officer invited", 0, "")
	})
	return token, err
}

// EndOfficer ends a welfare officer's access at once. Only an officer can, and not that of
// the last one.
func (s *Store) EndOfficer(ctx context.Context, a game.Actor, officer game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		var others int
		const left = `select count(*) from people
			where club_id = $1 and role = 'welfare' and archived_at is null and id <> $2`
		if err := tx.QueryRow(ctx, left, a.Club, officer).Scan(&others); err != nil {
			return err
		}
		if a.Role == game.Welfare && others == 0 {
			return game.Fail(game.Conflict, "You are the last welfare officer of the club. Invite the next one first.")
		}
		return s.leave(ctx, tx, a, officer, game.Welfare)
	})
}

// leave ends a person's access at once: sessions, devices, and links to join that the
// person has made.
func (s *Store) leave(ctx context.Context, tx pgx.Tx, a game.Actor, who game.PersonID, role game.Role) error {
	const end = `update people set archived_at = $4, owner = false
		where club_id = $1 and id = $2 and role = $3 and archived_at is null`
	row, err := tx.Exec(ctx, end, a.Club, who, role, s.now())
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return missing()
	}
	for _, q := range []string{`delete from keys where club_id = $1 and person_id = $2`,
		`delete from invites where club_id = $1 and by_id = $2`} {
		if _, err := tx.Exec(ctx, q, a.Club, who); err != nil {
			return err
		}
	}
	if err := dropExportsOf(ctx, tx, a.Club, who); err != nil {
		return err
	}
	what := "coach ended"
	if role == game.Welfare {
		what = "officer ended"
	}
	return audit(ctx, tx, a, what, who, "")
}

// apart refuses a welfare officer who is a coach or a guardian of the club, and a coach who
// is an officer, as far as an address or a name shows it.
func apart(ctx context.Context, tx pgx.Tx, c game.ClubID, role game.Role, n club.NewCoach) error {
	others := []game.Role{game.Welfare}
	if role == game.Welfare {
		others = []game.Role{game.Coach, game.Guardian}
	}
	type row struct{ Name, Email string }
	const q = `select name, coalesce(email, '') as email
		from people
		where club_id = @club and role = any(@others) and archived_at is null`
	rows, err := readAll[row](ctx, tx, q, args{"club": c, "others": others})
	if err != nil {
		return err
	}
	for _, r := range rows {
		switch {
		case strings.EqualFold(r.Email, n.Email):
			return club.Problems{"email": "Somebody in this club has this address already. Nobody is a welfare officer and a coach or " +
				"a guardian at once, so that a child can tell about anybody. The club has to choose somebody else."}.Err()
		case !n.Another && club.SamePerson(r.Name, n.Name):
			return club.Problems{"another": "Somebody of this name has another part in this club. If that is you, please stop here: " +
				"nobody is a welfare officer and a coach or a guardian at once, so that a child can tell about anybody. " +
				"If you are another person, tick the box below."}.Err()
		}
	}
	return nil
}
