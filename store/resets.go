package store

import (
	"context"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// ResetWhat is what a link makes anew: one thing of two, so that the other is still asked
// for.
type ResetWhat string

// What can be reset.
const (
	ResetPassword ResetWhat = "password"
	ResetFactor   ResetWhat = "factor"
)

// resetFor is how long such a link works.
const resetFor = time.Hour

// Reset is a link with which a coach makes a password or a second factor anew.
type Reset struct {
	Who   game.PersonID
	What  ResetWhat
	Token club.Secret
}

// Path is the address of the link on the site.
func (r Reset) Path() string { return "/reset/" + string(r.What) + "#" + string(r.Token) }

// ResetCoach ends every session, known browser, earlier link and calendar feed of a coach,
// and makes a link that works once within an hour. A password stops at once. The coach and
// the owners are told. by is an owner of the club, or nobody for whoever holds the machine.
func (s *Store) ResetCoach(ctx context.Context, by game.Actor, who game.PersonID, what ResetWhat, sent ...Sent) (Reset, error) {
	r := Reset{Who: who, What: what}
	_, err := s.once(ctx, by, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if err := mayReset(ctx, tx, by, who); err != nil {
			return 0, err
		}
		r.Token = club.NewSecret(by.Club)
		const end = `delete from keys
			where club_id = $1 and person_id = $2 and kind in ('session', 'half', 'device', 'password', 'factor', 'feed')`
		if _, err := tx.Exec(ctx, end, by.Club, who); err != nil {
			return 0, err
		}
		if what == ResetPassword { // nothing matches an empty one
			if _, err := tx.Exec(ctx, `update people set password = '', short_password = false where club_id = $1 and id = $2`,
				by.Club, who); err != nil {
				return 0, err
			}
		}
		if err := s.keepReset(ctx, tx, by, r, in); err != nil {
			return 0, err
		}
		return int64(who), audit(ctx, tx, by, string(what)+" reset", who, "")
	})
	return r, err
}

// keepReset keeps the link's hash, shows it to the session that asked, and tells.
func (s *Store) keepReset(ctx context.Context, tx pgx.Tx, by game.Actor, r Reset, in Sent) error {
	const key = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
		values (@club, @hash, @kind, @person, @now, @until)`
	if _, err := tx.Exec(ctx, key, args{
		"club": by.Club, "hash": r.Token.Hash(), "kind": string(r.What), "person": r.Who, "now": s.now(),
		"until": s.now().Add(resetFor),
	}); err != nil {
		return err
	}
	if err := s.tellOfReset(ctx, tx, by, r.Who, NoticeWhat(r.What)); err != nil {
		return err
	}
	if err := unshow(ctx, tx, by.Club, ShownReset, r.Who); err != nil {
		return err
	}
	return s.show(ctx, tx, in.Session, ShownReset, int64(r.Who), r)
}

// tellOfReset tells a person and the owners, and of an officer the other officers too.
func (s *Store) tellOfReset(ctx context.Context, tx pgx.Tx, by game.Actor, who game.PersonID, what NoticeWhat) error {
	const tell = `insert into notices (club_id, to_id, about_id, by_id, what, at)
		select @club, p.id, @about, nullif(@by::bigint, 0), @what, @now
		from people p
		join people about on about.club_id = p.club_id and about.id = @about
		where p.club_id = @club and p.archived_at is null and p.barred_at is null
			and (p.owner or p.id = about.id or p.role = 'welfare' and about.role = 'welfare')`
	_, err := tx.Exec(ctx, tell, args{"club": by.Club, "about": who, "by": by.Person, "what": string(what), "now": s.now()})
	return err
}

// mostForgotten is how many mails with a link to a new password somebody gets in an hour.
const mostForgotten = 3

// AskReset puts down a mail with a link to a new password, for the coach or officer with this
// address. A job goes into the queue also where there is nobody, so that neither the answer
// nor the time that it takes says whether there is. Nothing else changes before the link is
// used.
func (s *Store) AskReset(ctx context.Context, email string) error {
	if !s.mails {
		return nil
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `insert into letters (club_id, to_id, kind, at)
			select u.club_id, u.id, 'password', @now
			from people u
			where lower(u.email) = lower(@email) and u.role in ('coach', 'welfare') and u.password is not null
				and u.mail_refused_at is null and ` + isHere + `
				and (select count(*) from letters l
					where l.club_id = u.club_id and l.to_id = u.id and l.kind = 'password' and l.at > @since) < @most
			order by u.id
			limit 1
			returning club_id as club, id as letter`
		found, err := readAll[LetterJob](ctx, tx, q, args{
			"email": strings.TrimSpace(email), "now": s.now(), "since": s.now().Add(-time.Hour), "most": mostForgotten,
		})
		if err != nil {
			return err
		}
		job := LetterJob{}
		if len(found) > 0 {
			job = found[0]
		}
		return s.jobs.put(ctx, tx, job)
	})
}

// mayReset is missing where somebody does not sign in with a password, and where the asker
// is a person: where it is no other coach of the club, or the asker does not own it. An
// officer's account is reset at the server alone, so that no coach opens what children told.
func mayReset(ctx context.Context, tx pgx.Tx, by game.Actor, who game.PersonID) error {
	var ok bool
	const is = `select true from people p
		where p.club_id = @club and p.id = @who and p.role in ('coach', 'welfare') and p.archived_at is null and p.barred_at is null
			and (@by::bigint = 0 or p.role = 'coach' and p.id <> @by and exists (select from people o
				where o.club_id = @club and o.id = @by and o.owner and o.archived_at is null and o.barred_at is null))
		for update`
	return tx.QueryRow(ctx, is, args{"club": by.Club, "who": who, "by": by.Person}).Scan(&ok)
}

// ResetOf finds the coach of a link that works, and the address to sign in with.
func (s *Store) ResetOf(ctx context.Context, token club.Secret, what ResetWhat) (a game.Actor, email string, err error) {
	a, email, err = s.coachOf(ctx, token, string(what))
	if game.KindOf(err) == game.Missing {
		return a, "", resetGone()
	}
	return a, email, err
}

func resetGone() error {
	return game.Fail(game.Gone, "This link does not work any more. It works once and for one hour; ask for a new one.")
}

// useReset uses a link up. Of two that are used at once the second finds it gone.
func (s *Store) useReset(ctx context.Context, tx pgx.Tx, token club.Secret, what ResetWhat) error {
	c, _ := token.Club() // ResetOf has looked
	used, err := tx.Exec(ctx, `delete from keys where club_id = @club and hash = @hash and kind = @what and expires_at > @now`,
		args{"club": c, "hash": token.Hash(), "what": string(what), "now": s.now()})
	if err == nil && used.RowsAffected() == 0 {
		return resetGone()
	}
	return err
}

// NewPassword gives the coach of a link a new password.
func (s *Store) NewPassword(ctx context.Context, token club.Secret, password string) error {
	a, _, err := s.ResetOf(ctx, token, ResetPassword)
	if err != nil {
		return err
	}
	hashed, err := s.checked(ctx, a, password, false)
	if err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := s.useReset(ctx, tx, token, ResetPassword); err != nil {
			return err
		}
		if err := s.endForgotten(ctx, tx, a); err != nil {
			return err
		}
		if err := setPassword(ctx, tx, a, hashed, club.ShortPassword(password)); err != nil {
			return err
		}
		return audit(ctx, tx, a, "password changed", a.Person, "by link")
	})
}

// endForgotten does for a link that came by mail what ResetCoach does when an owner makes one:
// sessions, known browsers and the calendar feed end, and the person and the owners are told. Of
// an owner's link, after which there is no password, all that is done.
func (s *Store) endForgotten(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	var mailed bool
	const q = `select coalesce(password, '') <> '' from people where club_id = $1 and id = $2 and barred_at is null for update`
	if err := tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&mailed); err != nil || !mailed {
		return err
	}
	const end = `delete from keys
		where club_id = $1 and person_id = $2 and kind in ('session', 'half', 'device', 'feed')`
	if _, err := tx.Exec(ctx, end, a.Club, a.Person); err != nil {
		return err
	}
	return s.tellOfReset(ctx, tx, game.Actor{Club: a.Club}, a.Person, Forgotten)
}

// checked holds a new password against its rules and gives its stored form. alone says
// that there will be no second factor.
func (s *Store) checked(ctx context.Context, a game.Actor, password string, alone bool) (string, error) {
	own, err := s.Account(ctx, a)
	if err != nil {
		return "", err
	}
	c, err := s.Club(ctx, a.Club)
	if err != nil {
		return "", err
	}
	if err := club.ValidatePassword(password, own.Factor && !alone, own.Email, c.Name, own.Name); err != nil {
		return "", err
	}
	return club.HashPassword(ctx, club.Known, password)
}

// EndFactor turns off the second factor of a link's coach, who has given the password.
// Where that is a short one, longer takes its place.
func (s *Store) EndFactor(ctx context.Context, token club.Secret, longer string) (game.Actor, error) {
	a, _, err := s.ResetOf(ctx, token, ResetFactor)
	if err != nil {
		return a, err
	}
	hashed := ""
	if longer != "" {
		if hashed, err = s.checked(ctx, a, longer, true); err != nil {
			return a, err
		}
	}
	return a, s.tx(ctx, func(tx pgx.Tx) error {
		if err := s.useReset(ctx, tx, token, ResetFactor); err != nil {
			return err
		}
		if hashed != "" {
			if err := setPassword(ctx, tx, a, hashed, false); err != nil {
				return err
			}
		}
		if err := dropFactor(ctx, tx, a); err != nil {
			return err
		}
		return audit(ctx, tx, a, "second factor off", a.Person, "by link")
	})
}

// NoticeWhat is what a coach or an officer is told of: a ResetWhat, or one of these.
type NoticeWhat string

// What is told of besides resets.
const (
	Barring NoticeWhat = "barred" // a person's access was stopped
	Lifting NoticeWhat = "lifted" // and given back

	Forgotten NoticeWhat = "forgotten" // a password was chosen with a link that came by mail
)

// Notice is what a coach or an officer is told of.
type Notice struct {
	ID      int64
	AboutID game.PersonID
	About   string
	ByID    game.PersonID // 0: somebody at the server
	By      string
	What    NoticeWhat
	At      time.Time
}

// Notices lists what a coach has not put away yet.
func (s *Store) Notices(ctx context.Context, a game.Actor) ([]Notice, error) {
	const q = `select
			n.id,
			n.about_id,
			about.name as about,
			coalesce(n.by_id, 0) as by_id,
			coalesce(by.name, '') as by,
			n.what,
			n.at
		from notices n
		join people about on about.club_id = n.club_id and about.id = n.about_id
		left join people by on by.club_id = n.club_id and by.id = n.by_id
		where n.club_id = $1 and n.to_id = $2
		order by n.id`
	out, err := readAll[Notice](ctx, s.pool, q, a.Club, a.Person)
	return out, translate(err)
}

// ReadNotice puts a notice away; one of somebody else is missing.
func (s *Store) ReadNotice(ctx context.Context, a game.Actor, id int64) error {
	gone, err := s.pool.Exec(ctx, `delete from notices where club_id = $1 and to_id = $2 and id = $3`, a.Club, a.Person, id)
	if err == nil && gone.RowsAffected() == 0 {
		return missing()
	}
	return translate(err)
}
