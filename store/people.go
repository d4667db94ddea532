package store

import (
	"context"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// setupGone is said of a set-up link that no longer works.
const setupGone = "This set-up link has been used or is too old. " +
	"If there is no club yet, start the program again: it prints a new one."

// CreateClub makes a club and its first coach with a one-time set-up link. The
// first link that is used ends all others with it.
func (s *Store) CreateClub(ctx context.Context, token club.Secret, n club.NewClub) (game.Actor, error) {
	if err := n.Validate(); err != nil {
		return game.Actor{}, err
	}
	var there bool // before the costly hash
	const valid = `select true from keys where club_id = 0 and kind = 'setup' and hash = $1 and expires_at > $2`
	if err := translate(s.pool.QueryRow(ctx, valid, token.Hash(), s.now()).Scan(&there)); err != nil {
		if game.KindOf(err) == game.Missing {
			err = game.Fail(game.Gone, setupGone)
		}
		return game.Actor{}, err
	}
	hashed, err := club.HashPassword(ctx, club.Known, n.Password)
	if err != nil {
		return game.Actor{}, err
	}
	var a game.Actor
	err = s.tx(ctx, func(tx pgx.Tx) error {
		err := s.useSetup(ctx, tx, token)
		if err != nil {
			return err
		}
		a, err = s.createClub(ctx, tx, n, hashed)
		return err
	})
	return a, err
}

// useSetup uses a set-up link up and ends all others. Of two that are used at
// once the second waits for the lock, and finds its link gone.
func (s *Store) useSetup(ctx context.Context, tx pgx.Tx, token club.Secret) error {
	if err := lockSetup(ctx, tx); err != nil {
		return err
	}
	var used bool
	const use = `select true from keys where club_id = 0 and kind = 'setup' and hash = $1 and expires_at > $2`
	if err := tx.QueryRow(ctx, use, token.Hash(), s.now()).Scan(&used); err != nil {
		return game.Wrap(game.Gone, setupGone, err)
	}
	_, err := tx.Exec(ctx, `delete from keys where club_id = 0 and kind = 'setup'`)
	return err
}

// lockSetup lets one transaction at a time make or use set-up links.
func lockSetup(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, `select pg_advisory_xact_lock(hashtext('drover set-up'))`)
	return err
}

// NewClub makes a club and its first coach without a link: for the demo, and
// for whoever holds the machine.
func (s *Store) NewClub(ctx context.Context, n club.NewClub) (game.Actor, error) {
	if err := n.Validate(); err != nil {
		return game.Actor{}, err
	}
	hashed, err := club.HashPassword(ctx, club.Known, n.Password)
	if err != nil {
		return game.Actor{}, err
	}
	var a game.Actor
	err = s.tx(ctx, func(tx pgx.Tx) (err error) {
		a, err = s.createClub(ctx, tx, n, hashed)
		return err
	})
	return a, err
}

func (s *Store) createClub(ctx context.Context, tx pgx.Tx, n club.NewClub, hashed string) (game.Actor, error) {
	a := game.Actor{Role: game.Coach, Name: n.Name}
	const c = `insert into clubs (name, zone, welfare, contact)
		values (@name, @zone, @welfare, @contact)
		returning id`
	err := tx.QueryRow(ctx, c, args{
		"name": n.Club, "zone": n.Zone, "welfare": n.Welfare, "contact": n.Contact,
	}).Scan(&a.Club)
	if err != nil {
		return a, err
	}
	const p = `insert into people (club_id, role, name, email, password, owner, created_at)
		values (@club, 'coach', @name, @email, @password, true, @now)
		returning id`
	err = tx.QueryRow(ctx, p, args{
		"club": a.Club, "name": n.Name, "email": n.Email, "password": hashed, "now": s.now(),
	}).Scan(&a.Person)
	if err != nil {
		return a, err
	}
	return a, audit(ctx, tx, a, "club made", a.Person, "")
}

// AddCoach adds a coach to the actor's club.
func (s *Store) AddCoach(ctx context.Context, a game.Actor, n club.NewCoach) (game.Actor, error) {
	c, err := s.Club(ctx, a.Club)
	if err != nil {
		return game.Actor{}, err
	}
	if err := n.Validate(c.Name); err != nil {
		return game.Actor{}, err
	}
	hashed, err := club.HashPassword(ctx, club.Known, n.Password)
	if err != nil {
		return game.Actor{}, err
	}
	added := game.Actor{Club: a.Club, Role: game.Coach, Name: n.Name}
	err = s.tx(ctx, func(tx pgx.Tx) (err error) {
		if added.Person, err = s.addSignIn(ctx, tx, a.Club, game.Coach, n, hashed); err != nil {
			return err
		}
		return audit(ctx, tx, a, "coach added", added.Person, "")
	})
	return added, err
}

// addSignIn adds a person who signs in with an address, which must be nobody's yet, and a
// password.
func (s *Store) addSignIn(ctx context.Context, tx pgx.Tx, c game.ClubID, role game.Role, n club.NewCoach,
	hashed string) (id game.PersonID, err error) {
	if err := freeEmail(ctx, tx, c, 0, n.Email); err != nil {
		return 0, err
	}
	const q = `insert into people (club_id, role, name, email, password, created_at)
		values (@club, @role, @name, @email, @password, @now)
		returning id`
	err = tx.QueryRow(ctx, q, args{
		"club": c, "role": role, "name": n.Name, "email": n.Email, "password": hashed, "now": s.now(),
	}).Scan(&id)
	return id, err
}

// NeedsSetup makes a fresh one-time set-up link if there is no club yet; the
// secret is empty if there is one. Links that other nodes made before stay
// valid until their hour is over.
func (s *Store) NeedsSetup(ctx context.Context) (club.Secret, error) {
	var token club.Secret
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockSetup(ctx, tx); err != nil {
			return err
		}
		var some bool
		if err := tx.QueryRow(ctx, `select exists (select from clubs)`).Scan(&some); err != nil || some {
			return err
		}
		token = club.NewSecret(0)
		const old = `delete from keys where club_id = 0 and kind = 'setup' and expires_at <= $1`
		if _, err := tx.Exec(ctx, old, s.now()); err != nil {
			return err
		}
		const q = `insert into keys (club_id, hash, kind, expires_at) values (0, $1, 'setup', $2)`
		_, err := tx.Exec(ctx, q, token.Hash(), s.now().Add(time.Hour))
		return err
	})
	return token, err
}

// Club reads the actor's club.
func (s *Store) Club(ctx context.Context, id game.ClubID) (club.Club, error) {
	const q = `select
			id,
			name,
			zone,
			welfare,
			contact,
			outside,
			emergency,
			pace
		from clubs
		where id = $1`
	c, err := readOne[club.Club](ctx, s.pool, q, id)
	return c, translate(err)
}

// AddStudent adds a student with the guardian's consent and a first card. If
// the form was sent before, only the student's number is returned.
func (s *Store) AddStudent(ctx context.Context, a game.Actor, n club.NewStudent, sent ...Sent) (club.Card, error) {
	today, err := s.localNow(ctx, s.pool, a.Club)
	if err != nil {
		return club.Card{}, translate(err)
	}
	if err := n.Validate(today); err != nil {
		return club.Card{}, err
	}
	var card club.Card
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if err := askTwice(ctx, tx, a.Club, 0, n.Name, n.Same); err != nil {
			return 0, err
		}
		p, err := s.insertStudent(ctx, tx, a, n)
		if err != nil {
			return 0, err
		}
		card, err = s.newCard(ctx, tx, a, p, in)
		return int64(p.ID), err
	})
	card.Student.ID = game.PersonID(id)
	return card, err
}

// insertStudent adds a student, with the consent if there is one.
func (s *Store) insertStudent(ctx context.Context, tx pgx.Tx, a game.Actor, n club.NewStudent) (club.Person, error) {
	p := club.Person{Club: a.Club, Role: game.Student, Name: n.Name, Wording: n.Wording}
	const q = `insert into people (club_id, role, name, number, wording, created_at)
		values ($1, 'student', $2, nextval('student_numbers'), $3, $4)
		returning id, number`
	if err := tx.QueryRow(ctx, q, a.Club, n.Name, n.Wording, s.now()).Scan(&p.ID, &p.Number); err != nil {
		return p, err
	}
	if n.Consent {
		if err := s.insertConsent(ctx, tx, a, p.ID, n); err != nil {
			return p, err
		}
	}
	return p, audit(ctx, tx, a, "student added", p.ID, "")
}

// askTwice asks about a nickname that the club has already. It locks the club's
// row, so that of two coaches who add one at the same instant the second is asked.
func askTwice(ctx context.Context, tx pgx.Tx, c game.ClubID, own game.PersonID, called string, same bool) error {
	if err := lockClub(ctx, tx, c); err != nil || same {
		return err
	}
	names, err := studentNames(ctx, tx, c, own)
	if err != nil {
		return err
	}
	for _, name := range names {
		if club.SameName(name) == club.SameName(called) {
			return club.Twice(name)
		}
	}
	return nil
}

// ReplaceCard makes a new card for a student. The old one and every session
// opened with it end at once. If the form was sent before, only the student's
// number is returned.
func (s *Store) ReplaceCard(ctx context.Context, a game.Actor, id game.PersonID, sent ...Sent) (club.Card, error) {
	var card club.Card
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		p, err := pupil(ctx, tx, a.Club, id)
		if err != nil {
			return 0, err
		}
		card, err = s.newCard(ctx, tx, a, p, in)
		return int64(p.ID), err
	})
	card.Student.ID = id
	return card, err
}

// newCard makes a card and shows it to the session that asked.
func (s *Store) newCard(ctx context.Context, tx pgx.Tx, a game.Actor, p club.Person, in Sent) (club.Card, error) {
	card, err := s.makeCard(ctx, tx, a, p)
	if err != nil {
		return card, err
	}
	return card, s.show(ctx, tx, in.Session, ShownCard, int64(p.ID), card)
}

// makeCard makes a card for a student with consent, in place of the one that is there.
func (s *Store) makeCard(ctx context.Context, tx pgx.Tx, a game.Actor, p club.Person) (club.Card, error) {
	card := club.NewCard(p)
	is, err := agreed(ctx, tx, a.Club, p.ID)
	if err != nil {
		return card, err
	}
	if !is {
		return card, club.NotAgreed(p.Name)
	}
	const old = `delete from keys
		where club_id = $1 and person_id = $2 and kind in ('card', 'phrase', 'session', 'device')`
	if _, err := tx.Exec(ctx, old, a.Club, p.ID); err != nil {
		return card, err
	}
	const q = `insert into keys (club_id, hash, kind, person_id, made_at)
		values (@club, @card, 'card', @student, @now), (@club, @phrase, 'phrase', @student, @now)`
	phrase, err := club.PhraseHash(ctx, club.Known, strconv.Itoa(p.Number), card.Words)
	if err != nil {
		return card, err
	}
	if _, err := tx.Exec(ctx, q, args{
		"club": a.Club, "card": card.Token.Hash(), "phrase": phrase, "student": p.ID, "now": s.now(),
	}); err != nil {
		return card, err
	}
	for _, kind := range []ShownKind{ShownCard, ShownSheet} {
		if err := unshow(ctx, tx, a.Club, kind, p.ID); err != nil {
			return card, err
		}
	}
	return card, audit(ctx, tx, a, "card made", p.ID, "")
}

// pupil reads a student of the club.
func pupil(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.PersonID) (club.Person, error) {
	p := club.Person{ID: id, Club: c, Role: game.Student}
	const q = `select name, coalesce(number, 0), wording
		from people
		where club_id = $1 and id = $2 and role = $3 and archived_at is null`
	err := tx.QueryRow(ctx, q, c, id, game.Student).Scan(&p.Name, &p.Number, &p.Wording)
	return p, err
}

// LinkDays is how long a guardian's private link works.
const LinkDays = 90

// AddGuardian adds a guardian of a student and makes the private link. If the
// form was sent before, only the guardian's number is returned.
func (s *Store) AddGuardian(ctx context.Context, a game.Actor, student game.PersonID, name string,
	sent ...Sent) (club.Link, error) {
	name, err := club.ValidateName("name", name)
	if err != nil {
		return club.Link{}, err
	}
	var link club.Link
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if _, err := pupil(ctx, tx, a.Club, student); err != nil {
			return 0, err
		}
		var id game.PersonID
		const p = `insert into people (club_id, role, name) values ($1, 'guardian', $2) returning id`
		if err := tx.QueryRow(ctx, p, a.Club, name).Scan(&id); err != nil {
			return 0, err
		}
		const g = `insert into guardians (club_id, guardian_id, student_id) values ($1, $2, $3)`
		if _, err := tx.Exec(ctx, g, a.Club, id, student); err != nil {
			return 0, err
		}
		if err := auditGuardian(ctx, tx, a, student, id); err != nil {
			return 0, err
		}
		link, err = s.newLink(ctx, tx, a, id, in)
		return int64(id), err
	})
	link.Guardian = game.PersonID(id)
	return link, err
}

// ReplaceLink makes a new private link for a guardian of a student. The old one
// and every session opened with it end at once. If the form was sent before,
// only the guardian's number is returned.
func (s *Store) ReplaceLink(ctx context.Context, a game.Actor, student, guardian game.PersonID,
	sent ...Sent) (club.Link, error) {
	var link club.Link
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		if _, err := pupil(ctx, tx, a.Club, student); err != nil {
			return 0, err
		}
		err := guards(ctx, tx, a.Club, student, guardian)
		if err != nil {
			return 0, err
		}
		link, err = s.newLink(ctx, tx, a, guardian, in)
		return int64(guardian), err
	})
	link.Guardian = guardian
	return link, err
}

func (s *Store) newLink(ctx context.Context, tx pgx.Tx, a game.Actor, guardian game.PersonID,
	in Sent) (club.Link, error) {
	link := club.Link{Guardian: guardian, Token: club.NewSecret(a.Club)}
	if err := stopLink(ctx, tx, a.Club, guardian); err != nil {
		return link, err
	}
	const k = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
		values (@club, @hash, 'report', @guardian, @now, @until)`
	if _, err := tx.Exec(ctx, k, args{
		"club": a.Club, "hash": link.Token.Hash(), "guardian": guardian, "now": s.now(),
		"until": s.now().AddDate(0, 0, LinkDays),
	}); err != nil {
		return link, err
	}
	if err := s.show(ctx, tx, in.Session, ShownLink, int64(guardian), link); err != nil {
		return link, err
	}
	return link, audit(ctx, tx, a, "guardian's link made", guardian, "")
}

// holdPerson holds a person's row until the transaction ends, and with it their access and where
// mail to them goes. It comes before their letters, addresses and keys are read.
func holdPerson(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.PersonID) error {
	_, err := tx.Exec(ctx, `select from people where club_id = $1 and id = $2 for no key update`, c, id)
	return err
}

// stopLink ends a guardian's link, sessions and calendar feed, and no longer shows the link.
// A feed that is being made is waited for, so that it ends, too.
func stopLink(ctx context.Context, tx pgx.Tx, c game.ClubID, guardian game.PersonID) error {
	if err := holdPerson(ctx, tx, c, guardian); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `delete from keys where club_id = $1 and person_id = $2`, c, guardian); err != nil {
		return err
	}
	if err := dropExportsOf(ctx, tx, c, guardian); err != nil {
		return err
	}
	return unshow(ctx, tx, c, ShownLink, guardian)
}

// guards is missing where somebody is no guardian of a student.
func guards(ctx context.Context, tx pgx.Tx, c game.ClubID, student, guardian game.PersonID) error {
	var ok bool
	const is = `select true from guardians where club_id = $1 and guardian_id = $2 and student_id = $3`
	return tx.QueryRow(ctx, is, c, guardian, student).Scan(&ok)
}

// RevokeGuardian stops a guardian's link and sessions at once; another
// guardian's go on.
func (s *Store) RevokeGuardian(ctx context.Context, a game.Actor, student, guardian game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := guards(ctx, tx, a.Club, student, guardian); err != nil {
			return err
		}
		if err := stopLink(ctx, tx, a.Club, guardian); err != nil {
			return err
		}
		return audit(ctx, tx, a, "guardian's link stopped", guardian, "")
	})
}
