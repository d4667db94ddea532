package store

import (
	"context"
	"encoding/json"
	"fmt"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

const termColumns = `t.id, t.student_id as student, t.title, t.from_on as "from", t.to_on as "to", t.remark, t.said, c.name as by,
	t.signed_at as signed`

const termsOf = `
	from term_reports t
	join people c on c.club_id = t.club_id and c.id = t.by_id
	where t.club_id = @club and t.student_id = @student`

// TermReports lists the reports on a student's terms, the latest first; to a guardian only those
// that are signed.
func (s *Store) TermReports(ctx context.Context, a game.Actor, student game.PersonID) ([]club.TermReport, error) {
	const q = `select ` + termColumns + termsOf + ` and (@all or t.signed_at is not null) order by t.to_on desc, t.id desc`
	out, err := readAll[club.TermReport](ctx, s.pool, q, args{"club": a.Club, "student": student, "all": a.Role == game.Coach})
	return out, translate(err)
}

// TermReport reads one; to a guardian one that is not signed is missing.
func (s *Store) TermReport(ctx context.Context, a game.Actor, student game.PersonID, id int64) (club.TermReport, error) {
	const q = `select ` + termColumns + termsOf + ` and t.id = @id and (@all or t.signed_at is not null)`
	out, err := readOne[club.TermReport](ctx, s.pool, q, args{"club": a.Club, "student": student, "id": id, "all": a.Role == game.Coach})
	return out, translate(err)
}

// DraftTerm begins a report.
func (s *Store) DraftTerm(ctx context.Context, a game.Actor, r club.TermReport, sent ...Sent) (int64, error) {
	if err := r.Validate(); err != nil {
		return 0, err
	}
	return s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		if _, err := pupil(ctx, tx, a.Club, r.Student); err != nil {
			return 0, err
		}
		const q = `insert into term_reports (club_id, student_id, title, from_on, to_on, remark, by_id, at)
			values (@club, @student, @title, @from, @to, @remark, @by, @now)
			returning id`
		err = tx.QueryRow(ctx, q, args{"club": a.Club, "student": r.Student, "title": r.Title, "from": day(r.From), "to": day(r.To),
			"remark": r.Remark, "by": a.Person, "now": s.now()}).Scan(&id)
		if err != nil {
			return 0, err
		}
		return id, audit(ctx, tx, a, "term report begun", r.Student, fmt.Sprintf("report %d", id))
	})
}

// errSigned is said of a report that a guardian may have read.
func errSigned() error {
	return game.Fail(game.Conflict, "This report is signed, so it stays as it is. Begin another one.")
}

// KeepTerm changes a draft; what is signed stays.
func (s *Store) KeepTerm(ctx context.Context, a game.Actor, r club.TermReport) error {
	if err := r.Validate(); err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `update term_reports set title = @title, from_on = @from, to_on = @to, remark = @remark, by_id = @by, at = @now
			where club_id = @club and student_id = @student and id = @id and signed_at is null`
		return draftOnly(ctx, tx, a, r, q, args{"club": a.Club, "student": r.Student, "id": r.ID, "title": r.Title, "from": day(r.From),
			"to": day(r.To), "remark": r.Remark, "by": a.Person, "now": s.now()}, "term report changed")
	})
}

// SignTerm signs a draft that says what its coach has read: from now on its guardians read it.
func (s *Store) SignTerm(ctx context.Context, a game.Actor, r club.TermReport, said json.RawMessage) error {
	r.Tidy()
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `update term_reports set said = @said, signed_at = @now, by_id = @by
			where club_id = @club and student_id = @student and id = @id and signed_at is null
				and title = @title and from_on = @from and to_on = @to and remark = @remark`
		return draftOnly(ctx, tx, a, r, q, args{"club": a.Club, "student": r.Student, "id": r.ID, "said": said, "by": a.Person,
			"now": s.now(), "title": r.Title, "from": day(r.From), "to": day(r.To), "remark": r.Remark}, "term report signed")
	})
}

// DropTerm throws a draft away.
func (s *Store) DropTerm(ctx context.Context, a game.Actor, r club.TermReport) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `delete from term_reports where club_id = @club and student_id = @student and id = @id and signed_at is null`
		return draftOnly(ctx, tx, a, r, q, args{"club": a.Club, "student": r.Student, "id": r.ID}, "term report dropped")
	})
}

// draftOnly changes a draft and notes it.
func draftOnly(ctx context.Context, tx pgx.Tx, a game.Actor, r club.TermReport, q string, with args, what string) error {
	row, err := tx.Exec(ctx, q, with)
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return whyNot(ctx, tx, a, r)
	}
	return audit(ctx, tx, a, what, r.Student, fmt.Sprintf("report %d", r.ID))
}

// whyNot says why a draft was not changed: it is not there, it is signed, or it says something
// else than what was read.
func whyNot(ctx context.Context, tx pgx.Tx, a game.Actor, r club.TermReport) error {
	var signed bool
	const q = `select signed_at is not null from term_reports where club_id = $1 and id = $2 and student_id = $3`
	if err := tx.QueryRow(ctx, q, a.Club, r.ID, r.Student).Scan(&signed); err != nil {
		return err // none: it is missing
	}
	if signed {
		return errSigned()
	}
	return game.Fail(game.Conflict, "Somebody has changed this report since you read it. Please read it once more, then sign.")
}
