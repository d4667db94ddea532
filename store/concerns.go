package store

import (
	"context"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// What is told to the welfare officers stands in these rows alone. The audit says who of
// them read it, under the concern's own number: no row that names a child says that
// something was told.

// Reach says who reads what is told here.
type Reach struct {
	Officer bool // a welfare officer has an account
	Soon    bool // and hears of it at once
}

// unopenedFor is how long a concern may wait before children are told who else to turn to.
const unopenedFor = 3 * 24 * time.Hour

// OfficerReachable says whether somebody reads what is told now, and soon: not where no
// mail can be sent, nor where a concern has waited for three days, nor where one mail to each
// officer waits to be sent for longer than it takes, or the last one that ended did not arrive.
func (s *Store) OfficerReachable(ctx context.Context, c game.ClubID) (Reach, error) {
	const q = `select exists (select from people
				where club_id = @club and role = 'welfare' and archived_at is null) as officer,
			not exists (select from concerns where club_id = @club and opened_at is null and at <= @since)
			and exists (select from people u
				where u.club_id = @club and u.role = 'welfare' and u.mail_refused_at is null and ` + isHere + `
					and not exists (select from letters l
						where l.club_id = u.club_id and l.to_id = u.id and l.kind = 'concern' and l.outcome is null and l.at <= @fresh)
					and coalesce((select l.outcome = 'sent' from letters l
						where l.club_id = u.club_id and l.to_id = u.id and l.kind = 'concern' and l.outcome <> 'dropped'
						order by l.id desc
						limit 1), true)) as soon`
	now := s.now()
	r, err := readOne[Reach](ctx, s.pool, q, args{
		"club": c, "since": now.Add(-unopenedFor), "now": now, "fresh": now.Add(-underWay),
	})
	r.Soon = r.Soon && r.Officer && s.mails
	return r, translate(err)
}

// Tell keeps what a child, or a guardian about one of the own children, tells the welfare
// officers. Nothing of consent or of practice is asked.
func (s *Store) Tell(ctx context.Context, a game.Actor, student game.PersonID, words string, sent ...Sent) error {
	words, err := club.ValidateTold(words)
	if err != nil {
		return err
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		const q = `insert into concerns (club_id, student_id, by_id, at, words)
			select p.club_id, p.id, @by, @now, @words
			from people p
			where p.club_id = @club and p.id = @student and p.role = 'student' and p.archived_at is null
				and (p.id = @by or exists (select from guardians g
					where g.club_id = @club and g.guardian_id = @by and g.student_id = p.id))
			returning id`
		err = tx.QueryRow(ctx, q, args{
			"club": a.Club, "student": student, "by": a.Person, "now": s.now(), "words": words,
		}).Scan(&id)
		if err != nil {
			return 0, err
		}
		return id, s.tellOfficers(ctx, tx, a.Club)
	})
	return err
}

// toldFor is how long after telling the page says so.
const toldFor = 10 * time.Minute

// ToldLately says whether a child or a guardian has told something a short while ago.
func (s *Store) ToldLately(ctx context.Context, a game.Actor) (is bool, err error) {
	const q = `select exists (select from concerns where club_id = $1 and by_id = $2 and at > $3)`
	err = s.pool.QueryRow(ctx, q, a.Club, a.Person, s.now().Add(-toldFor)).Scan(&is)
	return is, translate(err)
}

// Concern is what a child or a guardian told. Until it is opened nothing but when and from
// whom, a child or a guardian, is read.
type Concern struct {
	ID         game.ConcernID
	At         time.Time
	ByGuardian bool
	Opened     *time.Time
	OpenedBy   string
	Closed     *time.Time
	ClosedBy   string
	Noted      *time.Time // the last note
	Student    game.PersonID
	Name       string // of the child
	Number     int
	By         string // the name of whoever told it; empty: a guardian who was erased
	Words      string
	Notes      []Note `db:"-"`
}

// Note is an officer's note of a concern.
type Note struct {
	By    string
	At    time.Time
	Words string
}

// isOfficer is missing for everybody but a welfare officer: the routes ask, too.
func isOfficer(a game.Actor) error {
	if a.Role != game.Welfare {
		return missing()
	}
	return nil
}

const concernColumns = `select c.id, c.at, coalesce(b.role, 'guardian') = 'guardian' as by_guardian, c.opened_at as opened,
			coalesce(o.name, '') as opened_by, c.closed_at as closed, coalesce(z.name, '') as closed_by,
			(select max(n.at) from concern_notes n where n.club_id = c.club_id and n.concern_id = c.id) as noted,
			case when c.opened_at is null then 0 else c.student_id end as student,
			case when c.opened_at is null then '' else p.name end as name,
			case when c.opened_at is null then 0 else p.number end as number,
			case when c.opened_at is null then '' else coalesce(b.name, '') end as by,
			case when c.opened_at is null then '' else c.words end as words
		from concerns c
		join people p on p.club_id = c.club_id and p.id = c.student_id
		left join people b on b.club_id = c.club_id and b.id = c.by_id -- null: a guardian who was erased
		left join people o on o.club_id = c.club_id and o.id = c.opened_by
		left join people z on z.club_id = c.club_id and z.id = c.closed_by`

// Concerns lists a club's concerns for an officer: the unopened first, those that go on,
// the closed last.
func (s *Store) Concerns(ctx context.Context, a game.Actor) ([]Concern, error) {
	if err := isOfficer(a); err != nil {
		return nil, err
	}
	const q = concernColumns + `
		where c.club_id = $1
		order by c.closed_at is not null, c.opened_at is not null, c.at desc, c.id desc`
	out, err := readAll[Concern](ctx, s.pool, q, a.Club)
	return out, translate(err)
}

// Concern reads one concern with its notes.
func (s *Store) Concern(ctx context.Context, a game.Actor, id game.ConcernID) (Concern, error) {
	if err := isOfficer(a); err != nil {
		return Concern{}, err
	}
	c, err := readOne[Concern](ctx, s.pool, concernColumns+` where c.club_id = $1 and c.id = $2`, a.Club, id)
	if err != nil {
		return c, translate(err)
	}
	const notes = `select p.name as by, n.at, n.words
		from concern_notes n
		join people p on p.club_id = n.club_id and p.id = n.by_id
		where n.club_id = $1 and n.concern_id = $2
		order by n.id`
	c.Notes, err = readAll[Note](ctx, s.pool, notes, a.Club, id)
	return c, translate(err)
}

// OpenConcern notes that an officer opens a concern; one that is open stays as it is.
func (s *Store) OpenConcern(ctx context.Context, a game.Actor, id game.ConcernID) error {
	return s.turn(ctx, a, id, "concern opened", `update concerns set opened_at = @now, opened_by = @by
		where club_id = @club and id = @id and opened_at is null`)
}

// CloseConcern closes a concern that was opened.
func (s *Store) CloseConcern(ctx context.Context, a game.Actor, id game.ConcernID) error {
	return s.turn(ctx, a, id, "concern closed", `update concerns set closed_at = @now, closed_by = @by
		where club_id = @club and id = @id and opened_at is not null and closed_at is null`)
}

// ReopenConcern opens a closed concern again.
func (s *Store) ReopenConcern(ctx context.Context, a game.Actor, id game.ConcernID) error {
	return s.turn(ctx, a, id, "concern reopened", `update concerns set closed_at = null, closed_by = null
		where club_id = @club and id = @id and closed_at is not null`)
}

// turn changes how far a concern is, and audits it. Where it is so already nothing happens.
func (s *Store) turn(ctx context.Context, a game.Actor, id game.ConcernID, action, q string) error {
	if err := isOfficer(a); err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := concernThere(ctx, tx, a.Club, id); err != nil {
			return err
		}
		row, err := tx.Exec(ctx, q, pgx.NamedArgs{"club": a.Club, "id": id, "by": a.Person, "now": s.now()})
		if err != nil || row.RowsAffected() == 0 {
			return err
		}
		return auditConcern(ctx, tx, a, action, id)
	})
}

// concernThere is missing where the club has no such concern.
func concernThere(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.ConcernID) error {
	var ok bool
	return tx.QueryRow(ctx, `select true from concerns where club_id = $1 and id = $2`, c, id).Scan(&ok)
}

func auditConcern(ctx context.Context, tx pgx.Tx, a game.Actor, action string, id game.ConcernID) error {
	return audit(ctx, tx, a, action, 0, fmt.Sprintf("concern %d", id))
}

// NoteConcern adds an officer's note to a concern that was opened.
func (s *Store) NoteConcern(ctx context.Context, a game.Actor, id game.ConcernID, words string, sent ...Sent) error {
	if err := isOfficer(a); err != nil {
		return err
	}
	words, err := club.ValidateNote(words)
	if err != nil {
		return err
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (note int64, err error) {
		const q = `insert into concern_notes (club_id, concern_id, by_id, at, words)
			select club_id, id, @by, @now, @words
			from concerns
			where club_id = @club and id = @id and opened_at is not null
			returning id`
		if err := tx.QueryRow(ctx, q, args{
			"club": a.Club, "id": id, "by": a.Person, "now": s.now(), "words": words,
		}).Scan(&note); err != nil {
			return 0, err
		}
		return note, auditConcern(ctx, tx, a, "concern noted", id)
	})
	return err
}

// ReasonFor is how long a noted reason lets an officer read a child's games.
const ReasonFor = time.Hour

// GiveReason notes why an officer reads the games of the child of an opened concern, and
// returns the child.
func (s *Store) GiveReason(ctx context.Context, a game.Actor, id game.ConcernID, reason string,
	sent ...Sent) (game.PersonID, error) {
	if err := isOfficer(a); err != nil {
		return 0, err
	}
	reason, err := club.ValidateReason(reason)
	if err != nil {
		return 0, err
	}
	student, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		var r struct{ id, student int64 }
		const q = `insert into reasons (club_id, by_id, student_id, at, until_at, words)
			select club_id, @by, student_id, @now, @until, @words
			from concerns
			where club_id = @club and id = @id and opened_at is not null
			returning id, student_id`
		if err := tx.QueryRow(ctx, q, args{
			"club": a.Club, "id": id, "by": a.Person, "now": s.now(), "until": s.now().Add(ReasonFor), "words": reason,
		}).Scan(&r.id, &r.student); err != nil {
			return 0, err
		}
		return r.student, audit(ctx, tx, a, "games opened", game.PersonID(r.student), fmt.Sprintf("reason %d", r.id))
	})
	return game.PersonID(student), err
}

// Reason is why an officer reads a child's games now.
type Reason struct {
	Until  time.Time
	Words  string
	Name   string // of the child
	Number int
}

// noReason is said where an officer asks for games without one.
const noReason = "No games without a noted reason. Note one on the concern's page; it holds for an hour."

// ReasonNow reads the reason that an officer has noted for a child within the hour; without
// one that is refused.
func (s *Store) ReasonNow(ctx context.Context, a game.Actor, student game.PersonID) (Reason, error) {
	if err := isOfficer(a); err != nil {
		return Reason{}, err
	}
	const q = `select r.until_at as until, r.words, p.name, p.number
		from reasons r
		join people p on p.club_id = r.club_id and p.id = r.student_id
		where r.club_id = @club and r.by_id = @by and r.student_id = @student and r.until_at > @now
		order by r.until_at desc
		limit 1`
	r, err := readOne[Reason](ctx, s.pool, q, args{"club": a.Club, "by": a.Person, "student": student, "now": s.now()})
	if err = translate(err); game.KindOf(err) == game.Missing {
		err = game.Wrap(game.Denied, noReason, err)
	}
	return r, err
}

// ReasonForGame is ReasonNow of the child who played a game.
func (s *Store) ReasonForGame(ctx context.Context, a game.Actor, id game.GameID) error {
	var student game.PersonID
	const q = `select student_id from games where club_id = $1 and id = $2 and kind <> 'trial'`
	if err := s.pool.QueryRow(ctx, q, a.Club, id).Scan(&student); err != nil {
		return translate(err)
	}
	_, err := s.ReasonNow(ctx, a, student)
	return err
}
