package store

import (
	"context"
	"errors"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
)

// LetterKind says what a mail is about.
type LetterKind string

// The kinds of mail. Of the weekly ones and those on Monday somebody gets one in a week at
// most, and none twice, whatever happens; the others may come twice rather than not at all.
const (
	LetterConfirm  LetterKind = "confirm"  // is this your address?
	LetterWeekly   LetterKind = "weekly"   // a guardian's report is ready
	LetterMonday   LetterKind = "monday"   // what needs a coach
	LetterConcern  LetterKind = "concern"  // something waits for an officer
	LetterPassword LetterKind = "password" // a link to a new password
)

// Outcome is how a mail ended.
type Outcome string

// The outcomes.
const (
	LetterSent    Outcome = "sent"    // the server has taken it
	LetterRefused Outcome = "refused" // for good: nothing more is sent to that address
	LetterUnknown Outcome = "unknown" // it may have arrived, or not
	LetterLate    Outcome = "late"    // it was put off for a day
	LetterDropped Outcome = "dropped" // nobody is to have it any more
)

// MailQueue is where mail waits. Only a node that can send looks into it.
const MailQueue = "mail"

// LetterJob asks for a mail to be sent. It names neither the address nor what the mail says.
type LetterJob struct {
	Club   game.ClubID `json:"club"`
	Letter int64       `json:"letter"` // 0: none, from a form that does not say whether there is such an address
}

// Kind names the job in the queue.
func (LetterJob) Kind() string { return "letter" }

// mostTries is more than fit into letterTries, so that a mail ends by its time.
const mostTries = 200

// InsertOpts names the queue.
func (LetterJob) InsertOpts() river.InsertOpts {
	return river.InsertOpts{Queue: MailQueue, MaxAttempts: mostTries}
}

// How long a mail is tried, and for how long its links work.
const (
	letterTries = 24 * time.Hour
	confirmFor  = 3 * 24 * time.Hour
	stopFor     = 180 * 24 * time.Hour
)

// SendMail says, before anything else is asked of the store, that mail can be sent.
func (s *Store) SendMail() { s.mails = true }

// SendsMail says whether mail can be sent.
func (s *Store) SendsMail() bool { return s.mails }

// putLetter puts a mail down, and the job that sends it.
func (s *Store) putLetter(ctx context.Context, tx pgx.Tx, c game.ClubID, to game.PersonID, kind LetterKind) error {
	var id int64
	const q = `insert into letters (club_id, to_id, kind, at) values (@club, @to, @kind, @now) returning id`
	if err := tx.QueryRow(ctx, q, args{"club": c, "to": to, "kind": kind, "now": s.now()}).Scan(&id); err != nil {
		return err
	}
	return s.jobs.put(ctx, tx, LetterJob{c, id})
}

// Conditions on a person u of the club. hasWards is a guardian whose private link works, and
// who has a child in the club that may practise.
const (
	isHere  = `u.archived_at is null and u.barred_at is null and (u.until_at is null or u.until_at > @now)`
	hasLink = `exists (select from keys k
				where k.club_id = u.club_id and k.person_id = u.id and k.kind = 'report'
					and (k.expires_at is null or k.expires_at > @now))`
	hasWards = hasLink + ` and exists (select from guardians g
				join people p on p.club_id = g.club_id and p.id = g.student_id
				where g.club_id = u.club_id and g.guardian_id = u.id and ` + practises + `)`
	isConfirmed = `a.wanted and a.confirmed_at is not null and a.refused_at is null`
)

// letterTo finds, for each kind, the address of a mail that somebody is still to have.
var letterTo = map[LetterKind]string{ //nolint:gosec // no password is read
	LetterConfirm: `select a.email from addresses a where a.club_id = u.club_id and a.person_id = u.id
		and a.confirmed_at is null and a.refused_at is null and (u.role <> 'guardian' or ` + hasLink + `)`,
	LetterWeekly: `select a.email from addresses a where a.club_id = u.club_id and a.person_id = u.id
		and ` + isConfirmed + ` and u.role = 'guardian' and ` + hasWards,
	LetterMonday: `select a.email from addresses a where a.club_id = u.club_id and a.person_id = u.id
		and ` + isConfirmed + ` and u.role = 'coach'`,
	LetterConcern: `select u.email where u.role = 'welfare' and u.mail_refused_at is null`,
	LetterPassword: `select u.email where u.role in ('coach', 'welfare') and u.password is not null
		and u.mail_refused_at is null`,
}

// Letter is a mail that is to be sent now.
type Letter struct {
	Kind  LetterKind
	Email string
	Token club.Secret // of the link that it has; empty: none
	Needs int         // how much needs a coach
	Next  int         // how many drills are proposed
}

// letterRow is a mail that has not ended.
type letterRow struct {
	Kind  LetterKind
	To    game.PersonID
	At    time.Time
	Tried *time.Time
	Role  game.Role
	Once  bool // it is never sent twice
}

const openLetter = `select l.kind, l.to_id as "to", l.at, l.tried_at as tried, u.role, l.week is not null as once
	from letters l
	join people u on u.club_id = l.club_id and u.id = l.to_id
	where l.club_id = $1 and l.id = $2 and l.outcome is null`

// TakeLetter notes that a mail begins to be sent, and gives what it takes; nil where none is
// to be sent any more. What it needs is asked for at this moment, so that nothing is sent to
// whose link was stopped a moment ago. Its link is made here, and only its hash is kept. What
// can fail is read first: a weekly mail of which it is noted that it began is not tried again.
func (s *Store) TakeLetter(ctx context.Context, c game.ClubID, id int64) (*Letter, error) {
	row, err := readOne[letterRow](ctx, s.pool, openLetter, c, id)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil //nolint:nilnil // it has ended
	}
	if err != nil {
		return nil, translate(err)
	}
	out := &Letter{Kind: row.Kind}
	if row.Kind == LetterMonday {
		since, err := s.SinceLooked(ctx, game.Actor{Club: c, Person: row.To, Role: row.Role}, nil)
		if err != nil {
			return nil, err
		}
		out.Needs, out.Next = len(since.Lines), since.Next
	}
	err = s.tx(ctx, func(tx pgx.Tx) error { return s.takeLetter(ctx, tx, c, id, row.To, out) })
	if err != nil || out.Email == "" {
		return nil, err
	}
	return out, nil
}

// takeLetter holds the person first, so that an address that changes at this moment has changed
// or changes afterwards: then the link that is made here ends with it.
func (s *Store) takeLetter(ctx context.Context, tx pgx.Tx, c game.ClubID, id int64, to game.PersonID, out *Letter) error {
	if err := holdPerson(ctx, tx, c, to); err != nil {
		return err
	}
	row, err := readOne[letterRow](ctx, tx, openLetter+` for update of l`, c, id)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil // it has ended
	}
	if err != nil {
		return err
	}
	email, ended, err := s.letterEnds(ctx, tx, c, row)
	if err != nil {
		return err
	}
	if ended != "" {
		return endLetter(ctx, tx, c, id, ended)
	}
	const begin = `update letters set tried_at = $3 where club_id = $1 and id = $2`
	if _, err := tx.Exec(ctx, begin, c, id, s.now()); err != nil {
		return err
	}
	out.Email = email
	out.Token, err = s.letterKey(ctx, tx, game.Actor{Club: c, Person: to, Role: row.Role}, row.Kind)
	return err
}

// letterEnds gives the address of a mail, or says how the mail ends unsent.
func (s *Store) letterEnds(ctx context.Context, tx pgx.Tx, c game.ClubID, row letterRow) (email string, _ Outcome, err error) {
	switch {
	case row.Once && row.Tried != nil:
		return "", LetterUnknown, nil // a node was killed, or the line was cut, while it was sent
	case s.now().Sub(row.At) > letterTries:
		return "", LetterLate, nil
	}
	q := `select (` + letterTo[row.Kind] + `)
		from people u
		where u.club_id = @club and u.id = @to and ` + isHere
	var found *string
	err = tx.QueryRow(ctx, q, args{"club": c, "to": row.To, "now": s.now()}).Scan(&found)
	switch {
	case errors.Is(err, pgx.ErrNoRows) || err == nil && found == nil:
		return "", LetterDropped, nil
	case err != nil:
		return "", "", err
	}
	return *found, "", nil
}

// letterKey makes the token of a mail's link and keeps its hash.
func (s *Store) letterKey(ctx context.Context, tx pgx.Tx, who game.Actor, kind LetterKind) (club.Secret, error) {
	of := map[LetterKind]struct {
		kind string
		life time.Duration
	}{LetterConfirm: {"confirm", confirmFor}, LetterPassword: {string(ResetPassword), resetFor},
		LetterWeekly: {"stop", stopFor}, LetterMonday: {"stop", stopFor}}
	made, ok := of[kind]
	if !ok {
		return "", nil
	}
	token := club.NewSecret(who.Club)
	const q = `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
		values (@club, @hash, @kind, @person, @now, @until)`
	_, err := tx.Exec(ctx, q, args{"club": who.Club, "hash": token.Hash(), "kind": made.kind, "person": who.Person,
		"now": s.now(), "until": s.now().Add(made.life)})
	return token, err
}

func endLetter(ctx context.Context, tx pgx.Tx, c game.ClubID, id int64, how Outcome) error {
	_, err := tx.Exec(ctx, `update letters set outcome = $3 where club_id = $1 and id = $2 and outcome is null`, c, id, how)
	return err
}

// EndLetter notes how a mail ended. Where a server refused it for good, nothing more is sent
// to that address until the person gives it anew.
func (s *Store) EndLetter(ctx context.Context, c game.ClubID, id int64, l Letter, how Outcome) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		err := endLetter(ctx, tx, c, id, how)
		switch {
		case err == nil && how == LetterSent && l.Kind == LetterConcern:
			return standsForOthers(ctx, tx, c, id)
		case err != nil || how != LetterRefused:
			return err
		}
		q := `update addresses a set refused_at = @now from letters l
			where l.club_id = @club and l.id = @id and a.club_id = l.club_id and a.person_id = l.to_id and a.email = @email`
		if l.Kind == LetterConcern || l.Kind == LetterPassword {
			q = `update people u set mail_refused_at = @now from letters l
				where l.club_id = @club and l.id = @id and u.club_id = l.club_id and u.id = l.to_id and u.email = @email`
		}
		_, err = tx.Exec(ctx, q, args{"club": c, "id": id, "now": s.now(), "email": l.Email})
		return err
	})
}

// PutOffLetter notes that a mail was not taken this time, so that it can be tried again.
func (s *Store) PutOffLetter(ctx context.Context, c game.ClubID, id int64) error {
	_, err := s.pool.Exec(ctx, `update letters set tried_at = null where club_id = $1 and id = $2 and outcome is null`, c, id)
	return translate(err)
}

// lettersAtOnce is how many mails are put down in one transaction.
const lettersAtOnce = 200

// dueLetters finds who is due a mail that comes once a week: on which day of the week, from
// which hour of the club's day and until which.
var dueLetters = map[LetterKind]string{
	LetterWeekly: hasWards + ` and u.role = 'guardian'
			and extract(isodow from @now::timestamptz at time zone c.zone) = 7
			and extract(hour from @now::timestamptz at time zone c.zone) >= 18`,
	LetterMonday: `u.role = 'coach'
			and extract(isodow from @now::timestamptz at time zone c.zone) = 1
			and extract(hour from @now::timestamptz at time zone c.zone) between 7 and 11`,
}

// PutDueLetters puts down the mails of the week that are due, each once, however often and on
// however many nodes it is called, and once a day those to officers for whom something waits.
func (s *Store) PutDueLetters(ctx context.Context) error {
	for kind, due := range dueLetters {
		for n := lettersAtOnce; n == lettersAtOnce; {
			var err error
			if n, err = s.putDue(ctx, kind, due); err != nil {
				return err
			}
		}
	}
	return s.remindOfficers(ctx)
}

func (s *Store) putDue(ctx context.Context, kind LetterKind, due string) (n int, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		q := `insert into letters (club_id, to_id, kind, week, at)
			select u.club_id, u.id, @kind, date_trunc('week', @now::timestamptz at time zone c.zone)::date, @now
			from addresses a
			join people u on u.club_id = a.club_id and u.id = a.person_id and ` + isHere + `
			join clubs c on c.id = u.club_id
			where ` + isConfirmed + ` and ` + due + ` and not exists (select from letters l
				where l.club_id = u.club_id and l.to_id = u.id and l.kind = @kind
					and l.week = date_trunc('week', @now::timestamptz at time zone c.zone)::date)
			limit @most
			on conflict do nothing
			returning club_id as club, id as letter`
		n, err = s.putLetters(ctx, tx, q, args{"kind": kind, "now": s.now(), "most": lettersAtOnce})
		return err
	})
	return n, err
}

// putLetters puts down the mails that a query inserts, and their jobs.
func (s *Store) putLetters(ctx context.Context, tx pgx.Tx, q string, with args) (int, error) {
	jobs, err := readAll[LetterJob](ctx, tx, q, with)
	if err != nil {
		return 0, err
	}
	for _, job := range jobs {
		if err := s.jobs.put(ctx, tx, job); err != nil {
			return 0, err
		}
	}
	return len(jobs), nil
}

// lettersKept is how long it is known that a mail was sent.
const lettersKept = 60 * 24 * time.Hour

// ForgetLetters deletes what is old of the mails: that they were sent, links that have ended, and
// addresses to which nobody has said yes while their link worked. A mail whose job is lost ends.
func (s *Store) ForgetLetters(ctx context.Context) error {
	const end = `update letters set outcome = ` + lateHow + ` where outcome is null and at < $1`
	if _, err := s.pool.Exec(ctx, end, s.now().Add(-letterTries-time.Hour)); err != nil {
		return translate(err)
	}
	if _, err := s.pool.Exec(ctx, `delete from letters where at < $1`, s.now().Add(-lettersKept)); err != nil {
		return translate(err)
	}
	const unsaid = `delete from addresses where confirmed_at is null and made_at < $1`
	if _, err := s.pool.Exec(ctx, unsaid, s.now().Add(-letterTries-confirmFor)); err != nil {
		return translate(err)
	}
	_, err := s.pool.Exec(ctx, `delete from keys where kind in ('confirm', 'stop') and expires_at <= $1`, s.now())
	return translate(err)
}

// lateHow is how a mail ends that has waited for too long.
const lateHow = `case when week is not null and tried_at is not null then 'unknown' else 'late' end`

// EndLate ends a mail that could not be sent for a day, and says whether it is still to be sent.
func (s *Store) EndLate(ctx context.Context, c game.ClubID, id int64) (open bool, err error) {
	const end = `update letters set outcome = ` + lateHow + `
		where club_id = @club and id = @id and outcome is null and at < @since`
	if _, err := s.pool.Exec(ctx, end, args{"club": c, "id": id, "since": s.now().Add(-letterTries)}); err != nil {
		return false, translate(err)
	}
	const q = `select exists (select from letters where club_id = $1 and id = $2 and outcome is null)`
	err = s.pool.QueryRow(ctx, q, c, id).Scan(&open)
	return open, translate(err)
}
