package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// mayPractise holds the students p to those who may practise: somebody has agreed, nobody has
// taken consent back since without giving it again, and where guardians are asked again, one
// has answered within thirty days. probedPractise says the same in words by which
// the database looks each student up and never gathers all of them: for acts and running games.
const (
	mayPractise    = `(` + hasConsent + ` and not exists (select ` + takenBack + `) and not exists (select ` + unanswered + `))`
	probedPractise = `((select true ` + given + ` limit 1) is not null
				and (select true ` + takenBack + ` limit 1) is null
				and (select true ` + unanswered + ` limit 1) is null)`
	hasConsent = `exists (select ` + given + `)`
)

// The rows that practice stands on, of a student p.
const (
	given = `from consents c
					where c.club_id = p.club_id and c.student_id = p.id and not c.withdraws`
	takenBack = `from consents c
					where c.club_id = p.club_id and c.student_id = p.id and c.withdraws and not exists (select from consents l
						where l.club_id = c.club_id and l.lifts = c.id)`
	askedFor = `from notice_texts n
					where n.club_id = p.club_id and n.audience = 'guardian' and n.again and not exists (select from consents c
						where c.club_id = p.club_id and c.student_id = p.id and not c.withdraws and c.notice_id >= n.id)`
	unanswered = askedFor + ` and n.at <= now() - interval '` + askedForDays + ` days'`
)

// askedForDays is club.AskedFor as the database reads it; a test holds the two together.
const askedForDays = "30"

// ErrRests is what a child reads in place of practice: never why, and never by whom.
var ErrRests = game.Fail(game.Denied, club.Rests)

// mustPractise refuses a student whose practice rests; a coach who tries a drill out has none.
func mustPractise(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	var may bool
	const q = `select p.role <> 'student' or ` + mayPractise + ` from people p where p.club_id = $1 and p.id = $2`
	err := tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&may)
	if err == nil && !may {
		err = ErrRests
	}
	return err
}

// Practises says whether a student's practice stands, or rests.
func (s *Store) Practises(ctx context.Context, c game.ClubID, student game.PersonID) (may bool, err error) {
	const q = `select ` + mayPractise + ` from people p where p.club_id = $1 and p.id = $2 and p.role = 'student'`
	err = translate(s.pool.QueryRow(ctx, q, c, student).Scan(&may))
	return may, err
}

// RestingGames lists up to 200 games that go on though their students' practice rests.
func (s *Store) RestingGames(ctx context.Context) ([]StaleGame, error) {
	const q = `select g.club_id, g.id
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.role = 'student'
		where g.ended_at is null and not ` + probedPractise + `
		order by 1, 2
		limit 200`
	rows, err := s.pool.Query(ctx, q)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[StaleGame])
	return out, translate(err)
}

// OpenGames lists the games of a student that go on.
func (s *Store) OpenGames(ctx context.Context, c game.ClubID, student game.PersonID) ([]game.GameID, error) {
	const q = `select id from games where club_id = $1 and student_id = $2 and ended_at is null order by id`
	rows, err := s.pool.Query(ctx, q, c, student)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[game.GameID])
	return out, translate(err)
}

// ConsentOf reads how the consent to a student's practice stands.
func (s *Store) ConsentOf(ctx context.Context, c game.ClubID, student game.PersonID) (club.Consent, error) {
	var out club.Consent
	err := transact(ctx, s.pool, plain, func(tx pgx.Tx) (err error) {
		out, err = consentOf(ctx, tx, c, student)
		return err
	})
	return out, err
}

func consentOf(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) (club.Consent, error) {
	const q = `select ` + mayPractise + ` as stands,
			coalesce(o.given_by, '') as by, coalesce(o.given_on, '0001-01-01') as "on", coalesce(o.guardian_id, 0) as guardian,
			coalesce(v.version, 0) as version,
			(select min(n.at) ` + askedFor + `) as asked
		from people p
		left join lateral (select * from consents o
			where o.club_id = p.club_id and o.student_id = p.id and not o.withdraws
			order by o.id desc
			limit 1) o on true
		left join notice_texts v on v.club_id = p.club_id and v.id = o.notice_id
		where p.club_id = $1 and p.id = $2 and p.role = 'student'`
	type row struct {
		Stands   bool
		By       string
		On       time.Time
		Guardian game.PersonID
		Version  int
		Asked    *time.Time
	}
	r, err := readOne[row](ctx, tx, q, c, student)
	if err != nil {
		return club.Consent{}, err
	}
	out := club.Consent{Stands: r.Stands, By: r.By, On: r.On, Guardian: r.Guardian, Version: r.Version, Asked: r.Asked}
	const back = `select c.id, coalesce(c.guardian_id, 0) as guardian, c.given_by as by, c.at, c.given_on as "on"
		from consents c
		where c.club_id = $1 and c.student_id = $2 and c.withdraws and not exists (select from consents l
			where l.club_id = c.club_id and l.lifts = c.id)
		order by c.id`
	out.Back, err = readAll[club.Withdrawal](ctx, tx, back, c, student)
	return out, err
}

// consentProblems holds a paper against its rules, by the club's calendar.
func (s *Store) consentProblems(ctx context.Context, a game.Actor, n *club.NewStudent) (club.Problems, error) {
	today, err := s.localNow(ctx, s.pool, a.Club)
	if err != nil {
		return nil, translate(err)
	}
	return club.ConsentProblems(n, today), nil
}

// NoteConsent notes a guardian's consent from paper: for a student who waits for it, and where
// guardians are asked again. What was taken back no coach gives again.
func (s *Store) NoteConsent(ctx context.Context, a game.Actor, id game.PersonID, n club.NewStudent, sent ...Sent) error {
	p, err := s.consentProblems(ctx, a, &n)
	if err != nil {
		return err
	}
	if !n.Consent {
		p["consent"] = "A child may practise only after a guardian has agreed."
	}
	if err := p.Err(); err != nil {
		return err
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		was, err := s.heldConsent(ctx, tx, a.Club, id)
		switch {
		case err != nil:
			return 0, err
		case len(was.Back) > 0:
			return 0, game.Fail(game.Conflict, "A guardian has taken consent back. Only that guardian gives it again, on their own page, "+
				"or the welfare officer notes it from paper.")
		case was.By != "" && was.Asked == nil:
			return 0, game.Fail(game.Conflict, "Somebody else has noted the consent first. Look at the page of the student again.")
		}
		if err := s.insertConsent(ctx, tx, a, id, n); err != nil {
			return 0, err
		}
		return int64(id), audit(ctx, tx, a, "consent noted", id, "")
	})
	return err
}

// heldConsent reads a student's consent and holds it until the transaction ends.
func (s *Store) heldConsent(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) (club.Consent, error) {
	if err := lockClub(ctx, tx, c); err != nil {
		return club.Consent{}, err
	}
	if _, err := pupil(ctx, tx, c, student); err != nil {
		return club.Consent{}, err
	}
	return consentOf(ctx, tx, c, student)
}

// agreed says whether a guardian has agreed to a student's practice.
func agreed(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.PersonID) (is bool, err error) {
	const q = `select ` + hasConsent + ` from people p where p.club_id = $1 and p.id = $2`
	err = tx.QueryRow(ctx, q, c, id).Scan(&is)
	return is, err
}

// insertConsent keeps what was agreed to on paper: the version that was in force on that day,
// or the one that the form names.
func (s *Store) insertConsent(ctx context.Context, tx pgx.Tx, a game.Actor, id game.PersonID, n club.NewStudent) error {
	notice, err := noticeFor(ctx, tx, a.Club, n)
	if err != nil {
		return err
	}
	return keepConsent(ctx, tx, s.now(), a, id, consentRow{By: n.ConsentBy, On: n.ConsentOn, Notice: notice})
}

// consentRow is what is written of a consent.
type consentRow struct {
	By        string
	On        time.Time     // zero: today in the club
	Guardian  game.PersonID // on the own page, or whose consent it is; 0: nobody who is known
	Notice    int64         // 0: the program's own words
	Withdraws bool
	Lifts     int64
	Corrects  int64 // the note that was wrong, 0: none
	Mistake   string
}

func keepConsent(ctx context.Context, tx pgx.Tx, now time.Time, a game.Actor, student game.PersonID, r consentRow) error {
	const q = `insert into consents (club_id, student_id, given_by, given_on, noted_by, version, guardian_id, notice_id, withdraws,
			lifts, corrects, mistake)
		select @club, @student, @by, case when @today then (@now::timestamptz at time zone c.zone)::date else @on::date end, @noter,
			coalesce((select v.version::text from notice_texts v where v.club_id = @club and v.id = @notice), @own),
			nullif(@guardian, 0), nullif(@notice, 0), @withdraws, nullif(@lifts, 0),
			nullif(@corrects, 0), nullif(@mistake, '')
		from clubs c
		where c.id = @club`
	_, err := tx.Exec(ctx, q, args{
		"club": a.Club, "student": student, "by": r.By, "on": r.On, "noter": a.Person, "own": club.ConsentVersion,
		"guardian": int64(r.Guardian), "notice": r.Notice, "withdraws": r.Withdraws, "lifts": r.Lifts,
		"corrects": r.Corrects, "mistake": r.Mistake, "today": r.On.IsZero(), "now": now,
	})
	return err
}

// CorrectConsent notes a consent anew where it was noted wrongly. The old note stays, with
// what was wrong.
func (s *Store) CorrectConsent(ctx context.Context, a game.Actor, id game.PersonID, n club.NewStudent, mistake string,
	sent ...Sent) error {
	mistake = club.Tidy(mistake)
	p, err := s.consentProblems(ctx, a, &n)
	if err != nil {
		return err
	}
	if mistake == "" || len([]rune(mistake)) > 200 {
		p["mistake"] = "Write what was wrong in the old note, in 200 characters or fewer."
	}
	if err := p.Err(); err != nil {
		return err
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		if _, err := pupil(ctx, tx, a.Club, id); err != nil {
			return 0, err
		}
		notice, err := noticeFor(ctx, tx, a.Club, n)
		if err != nil {
			return 0, err
		}
		row := consentRow{By: n.ConsentBy, On: n.ConsentOn, Notice: notice, Mistake: mistake}
		const q = `select id from consents
			where club_id = $1 and student_id = $2 and not withdraws and guardian_id is null
			order by id desc
			limit 1`
		if err := tx.QueryRow(ctx, q, a.Club, id).Scan(&row.Corrects); err != nil {
			return 0, fmt.Errorf("consent of student %d: %w", id, err)
		}
		if err := keepConsent(ctx, tx, s.now(), a, id, row); err != nil {
			return 0, err
		}
		return int64(id), audit(ctx, tx, a, "consent corrected", id, "")
	})
	return err
}

// GiveConsent is a guardian's own consent to the practice of a child, to the version of the
// notice that the page showed. What this guardian took back is given again with it.
func (s *Store) GiveConsent(ctx context.Context, a game.Actor, child game.PersonID, version int, sent ...Sent) error {
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		was, err := s.wardConsent(ctx, tx, a, child)
		if err != nil {
			return 0, err
		}
		notice, current, err := latestNotice(ctx, tx, a.Club, club.ForGuardian)
		switch {
		case err != nil:
			return 0, err
		case current != version:
			return 0, game.Fail(game.Conflict, "There is a newer version of the notice. Please read it, then agree once more.")
		}
		row := consentRow{By: a.Name, Guardian: a.Person, Notice: notice}
		if mine, ok := was.TakenBackBy(a.Person); ok {
			row.Lifts = mine.ID
		}
		if err := keepConsent(ctx, tx, s.now(), a, child, row); err != nil {
			return 0, err
		}
		return int64(child), audit(ctx, tx, a, "consent given", child, "")
	})
	return err
}

// WithdrawConsent takes a guardian's consent back: practice stops at once.
func (s *Store) WithdrawConsent(ctx context.Context, a game.Actor, child game.PersonID, sent ...Sent) error {
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		was, err := s.wardConsent(ctx, tx, a, child)
		if _, twice := was.TakenBackBy(a.Person); err != nil || twice {
			return int64(child), err
		}
		if err := keepConsent(ctx, tx, s.now(), a, child, consentRow{By: a.Name, Guardian: a.Person, Withdraws: true}); err != nil {
			return 0, err
		}
		return int64(child), audit(ctx, tx, a, "consent withdrawn", child, "")
	})
	return err
}

// wardConsent is heldConsent of a guardian's own child.
func (s *Store) wardConsent(ctx context.Context, tx pgx.Tx, a game.Actor, child game.PersonID) (club.Consent, error) {
	was, err := s.heldConsent(ctx, tx, a.Club, child)
	if err == nil {
		err = guards(ctx, tx, a.Club, child, a.Person)
	}
	return was, err
}

// NoteWithdrawal notes from paper, or from a word at the door, that a guardian takes consent
// back. Where the guardian is known, that guardian can give it again.
func (s *Store) NoteWithdrawal(ctx context.Context, a game.Actor, student, guardian game.PersonID, by string, on time.Time,
	sent ...Sent) error {
	n := club.NewStudent{ConsentBy: by, ConsentOn: on}
	p, err := s.consentProblems(ctx, a, &n)
	if err == nil {
		err = p.Err()
	}
	if err != nil {
		return err
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		was, err := s.heldConsent(ctx, tx, a.Club, student)
		if err == nil && guardian != 0 {
			err = guards(ctx, tx, a.Club, student, guardian)
		}
		if _, twice := was.TakenBackBy(guardian); err != nil || twice && guardian != 0 {
			return int64(student), err
		}
		if err := keepConsent(ctx, tx, s.now(), a, student,
			consentRow{By: n.ConsentBy, On: n.ConsentOn, Guardian: guardian, Withdraws: true}); err != nil {
			return 0, err
		}
		return int64(student), audit(ctx, tx, a, "consent withdrawn", student, "")
	})
	return err
}

// GiveAgain notes from paper that a guardian gives consent again who had taken it back. Only a
// welfare officer does.
func (s *Store) GiveAgain(ctx context.Context, a game.Actor, student game.PersonID, back int64, by string, on time.Time,
	sent ...Sent) error {
	n := club.NewStudent{ConsentBy: by, ConsentOn: on}
	p, err := s.consentProblems(ctx, a, &n)
	if err == nil {
		err = p.Err()
	}
	if err != nil {
		return err
	}
	if a.Role != game.Welfare {
		return game.Fail(game.Denied, "Only the guardian who took consent back, or the welfare officer from paper, gives it again.")
	}
	_, err = s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		was, err := s.heldConsent(ctx, tx, a.Club, student)
		if err != nil {
			return 0, err
		}
		of, ok := was.TakenBack(back)
		if !ok {
			return int64(student), nil // given again meanwhile
		}
		if club.CalendarDay(n.ConsentOn).Before(of.On) {
			return 0, club.Problems{"consent_on": "Consent was taken back after this day. Choose the day on which it was given again."}.Err()
		}
		notice, err := noticeFor(ctx, tx, a.Club, n)
		if err != nil {
			return 0, err
		}
		if err := keepConsent(ctx, tx, s.now(), a, student,
			consentRow{By: n.ConsentBy, On: n.ConsentOn, Guardian: of.Guardian, Notice: notice, Lifts: of.ID}); err != nil {
			return 0, err
		}
		return int64(student), audit(ctx, tx, a, "consent given again", student, "")
	})
	return err
}

// noticeFor is the version of the notice that a paper is about: the one that the form names,
// or the one of its day; 0: the program's own words.
func noticeFor(ctx context.Context, tx pgx.Tx, c game.ClubID, n club.NewStudent) (id int64, err error) {
	if n.Version < 0 {
		return 0, nil
	}
	const q = `select v.id, v.at at time zone c.zone
		from notice_texts v
		join clubs c on c.id = v.club_id
		where v.club_id = @club and v.audience = 'guardian'
			and (v.version = @version or @version = 0 and (v.at at time zone c.zone)::date <= @on)
		order by v.id desc
		limit 1`
	var since time.Time
	err = tx.QueryRow(ctx, q, args{"club": c, "version": n.Version, "on": n.ConsentOn}).Scan(&id, &since)
	switch {
	case errors.Is(err, pgx.ErrNoRows) && n.Version == 0:
		return 0, nil
	case err != nil:
		return 0, err
	case n.ConsentOn.Before(club.CalendarDay(since)):
		return 0, club.Problems{"consent_on": "That version of the notice is newer than this day. Look at both once more."}.Err()
	}
	return id, nil
}

// BackRow is a consent that was taken back and not given again, with whose practice rests.
type BackRow struct {
	club.Withdrawal
	Student game.PersonID
	Name    string
	Number  int
}

// TakenBack lists the consents of a club that were taken back and not given again.
func (s *Store) TakenBack(ctx context.Context, c game.ClubID) ([]BackRow, error) {
	const q = `select c.id, coalesce(c.guardian_id, 0) as guardian, c.given_by as by, c.at, p.id as student, p.name,
			coalesce(p.number, 0) as number, c.given_on as "on"
		from consents c
		join people p on p.club_id = c.club_id and p.id = c.student_id and p.archived_at is null
		where c.club_id = $1 and c.withdraws and not exists (select from consents l
			where l.club_id = c.club_id and l.lifts = c.id)
		order by c.id`
	out, err := readAll[BackRow](ctx, s.pool, q, c)
	return out, translate(err)
}
