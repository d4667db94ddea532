package store

import (
	"context"
	"encoding/json"
	"time"

	"drover/game"
	"drover/game/export"

	"github.com/jackc/pgx/v5"
)

// DocumentOf reads all that is kept of a student, for somebody: a guardian is told the own name
// and no other guardian's, and no other guardian's visits. What was told to the welfare officer
// is in nobody's.
func (s *Store) DocumentOf(ctx context.Context, c game.ClubID, student, reader game.PersonID) (export.Document, error) {
	out := export.Document{Format: export.Format, Version: export.Version, MadeAt: s.now().UTC()}
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		if err := tx.QueryRow(ctx, `select name, zone from clubs where id = $1`, c).Scan(&out.Club, &out.Zone); err != nil {
			return err
		}
		w := exporting{ctx, tx, args{"club": c, "student": student}}
		if err := w.student(&out.Student); err != nil {
			return err
		}
		w.with["reader"] = reader
		for _, part := range []func(*export.Student) error{w.consents, w.readings} {
			if err := part(&out.Student); err != nil {
				return err
			}
		}
		delete(w.with, "reader")
		for _, part := range []func(*export.Student) error{w.drills, w.games, w.terms, w.rest} {
			if err := part(&out.Student); err != nil {
				return err
			}
		}
		return nil
	})
	return out, err
}

// exporting reads one student's rows.
type exporting struct {
	ctx  context.Context
	tx   pgx.Tx
	with args
}

// into reads rows of a student into a list, which is empty and never null.
func into[T any](w exporting, list *[]T, sql string) error {
	rows, err := readAll[T](w.ctx, w.tx, sql, w.with)
	if rows == nil {
		rows = []T{}
	}
	*list = rows
	return err
}

func (w exporting) student(of *export.Student) error {
	const q = `select coalesce(p.number, 0), p.name, p.wording, p.created_at, p.archived_at,
			coalesce((select array_agg(g.name order by g.name) from members m
				join groups g on g.club_id = m.club_id and g.id = m.group_id
				where m.club_id = p.club_id and m.student_id = p.id), '{}')
		from people p
		where p.club_id = @club and p.id = @student and p.role = 'student'`
	err := w.tx.QueryRow(w.ctx, q, w.with).Scan(&of.Number, &of.Nickname, &of.Wording, &of.AddedAt, &of.LeftAt, &of.Groups)
	if err != nil {
		return err
	}
	const own = `select pace, sounds, turned, big, scheme from own_settings where club_id = @club and person_id = @student`
	settings, err := readAll[export.Settings](w.ctx, w.tx, own, w.with)
	if len(settings) > 0 {
		of.Settings = &settings[0]
	}
	return err
}

func (w exporting) consents(of *export.Student) error {
	type row struct {
		On        time.Time
		By        string
		TakenBack bool
		Version   string
	}
	const q = `select c.given_on as "on",
			case when r.role <> 'guardian' or c.guardian_id = r.id then c.given_by else '' end as by,
			c.withdraws as taken_back, c.version
		from consents c
		join people r on r.club_id = c.club_id and r.id = @reader
		where c.club_id = @club and c.student_id = @student
		order by c.id`
	rows, err := readAll[row](w.ctx, w.tx, q, w.with)
	of.Consents = []export.Consent{}
	for _, r := range rows {
		of.Consents = append(of.Consents, export.Consent{On: export.Date{Time: r.On}, By: r.By, TakenBack: r.TakenBack, Version: r.Version})
	}
	return err
}

// readings are who read or did what of the student; a reading of the whole club is none of one
// child. Another guardian's are a reader's business only where the reader is no guardian.
func (w exporting) readings(of *export.Student) error {
	const q = `select a.at, case when u.id = @student then 'student' when u.role = 'welfare' then 'welfare officer'
				else coalesce(u.role, 'nobody who is known') end as role, a.action as what
		from audit a
		join people r on r.club_id = a.club_id and r.id = @reader
		left join people u on u.club_id = a.club_id and u.id = a.actor_id
		where a.club_id = @club and a.subject_id = @student
			and (r.role <> 'guardian' or u.role is distinct from 'guardian' or u.id = r.id)
			and coalesce(u.role, '') <> 'welfare' and a.action not like '%concern%'
		order by a.id`
	return into(w, &of.Readings, q)
}

func (w exporting) drills(of *export.Student) error {
	type row struct {
		Name, Ending, SetBy string
		OpensAt             time.Time
		DueOn, PassedAt     *time.Time
	}
	const q = `select d.name, d.ending, c.name as set_by, a.opens_at, a.due_on, e.passed_at
		from assignees e
		join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		join people c on c.club_id = a.club_id and c.id = a.given_by
		where e.club_id = @club and e.student_id = @student
		order by a.opens_at, a.id`
	rows, err := readAll[row](w.ctx, w.tx, q, w.with)
	of.Drills = []export.Set{}
	for _, r := range rows {
		set := export.Set{Name: r.Name, Ending: r.Ending, SetBy: r.SetBy, OpensAt: r.OpensAt, PassedAt: r.PassedAt}
		if r.DueOn != nil {
			set.DueOn = &export.Date{Time: *r.DueOn}
		}
		of.Drills = append(of.Drills, set)
	}
	return err
}

func (w exporting) games(of *export.Student) error {
	const games = `select id, kind, ending, hold, mode, defender, start_fen as start, started_at, ended_at, coalesce("end", '') as "end",
			case when "end" = 'stopped' then 'stopped' else coalesce(result, '') end as result, coalesce(failed_stage, '') as failed_stage, coalesce(moves, 0) as moves,
			coalesce(par, 0) as par, counts
		from games
		where club_id = @club and student_id = @student
		order by started_at, id`
	if err := into(w, &of.Games, games); err != nil {
		return err
	}
	const acts = `select a.game_id as game, a.seq, a.kind, a.by_id <> g.student_id and a.by_id > 0 as coach, a.at,
			coalesce(a.move, '') as move, coalesce(a.reply, '') as reply, coalesce(a.grade, '') as grade, coalesce(a.cost, 0) as cost,
			coalesce(a.stage, '') as stage, coalesce(a.par, 0) as par, coalesce(a.took, 0) as took, coalesce(a.help, 0) as help,
			coalesce(a."end", '') as "end"
		from acts a
		join games g on g.club_id = a.club_id and g.id = a.game_id
		where a.club_id = @club and g.student_id = @student
		order by a.game_id, a.seq`
	rows, err := readAll[export.Act](w.ctx, w.tx, acts, w.with)
	at := map[int64]int{}
	for i := range of.Games {
		of.Games[i].Acts, at[of.Games[i].ID] = []export.Act{}, i
	}
	for _, a := range rows {
		g := &of.Games[at[a.Game]]
		g.Acts = append(g.Acts, a)
	}
	return err
}

func (w exporting) terms(of *export.Student) error {
	type row struct {
		Title, By, Remark string
		From, To, Signed  time.Time
		Said              json.RawMessage
	}
	const q = `select t.title, c.name as by, t.remark, t.from_on as "from", t.to_on as "to", t.signed_at as signed, t.said
		from term_reports t
		join people c on c.club_id = t.club_id and c.id = t.by_id
		where t.club_id = @club and t.student_id = @student and t.signed_at is not null
		order by t.id`
	rows, err := readAll[row](w.ctx, w.tx, q, w.with)
	of.Terms = []export.Term{}
	for _, r := range rows {
		of.Terms = append(of.Terms, export.Term{Title: r.Title, By: r.By, Remark: r.Remark, From: export.Date{Time: r.From},
			To: export.Date{Time: r.To}, Signed: r.Signed, Said: r.Said})
	}
	return err
}

// rest reads what has neither names nor games: totals, bells and starting checks.
func (w exporting) rest(of *export.Student) error {
	const stages = `select game_id as game, ending, stage, ended_at, moves, bad, par, slips, helps, seconds, completed, clean
		from stage_results
		where club_id = @club and student_id = @student
		order by ended_at, game_id, stage`
	if err := into(w, &of.Stages, stages); err != nil {
		return err
	}
	type bell struct {
		Ending, Stage string
		On            time.Time
	}
	const bells = `select ending, stage, rung_on as "on" from bells where club_id = @club and student_id = @student order by 3, 1, 2`
	rung, err := readAll[bell](w.ctx, w.tx, bells, w.with)
	if err != nil {
		return err
	}
	of.Bells = []export.Bell{}
	for _, b := range rung {
		of.Bells = append(of.Bells, export.Bell{Ending: b.Ending, Stage: b.Stage, On: export.Date{Time: b.On}})
	}
	const checks = `select p.begun_at, t.no, t.ending, t.fen as start, coalesce(t.answer, '') as answer, t.passed
		from placements p
		join placement_tasks t on t.club_id = p.club_id and t.placement_id = p.id
		where p.club_id = @club and p.student_id = @student
		order by p.begun_at, t.no`
	return into(w, &of.Checks, checks)
}
