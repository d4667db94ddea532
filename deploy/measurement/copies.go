package main

import (
	"context"
	"fmt"

	"drover/game"
)

// copies adds students to a club, each with the games of one who is there, at other
// times. Everything that belongs to a student comes with them.
func (f *filling) copies(ctx context.Context, c game.ClubID, n int) error {
	for _, step := range []struct {
		what, sql string
		args      []any
	}{
		{"people", copyPeople, []any{c, n}},
		{"who is copied", fmt.Sprintf(`create temp table copies on commit preserve rows as
			with old as (select id, row_number() over (order by id) - 1 as no from people
					where club_id = %[1]d and role = 'student' and name like 'Seed %%'),
				new as (select id, row_number() over (order by id) - 1 as no from people
					where club_id = %[1]d and role = 'student' and name like 'Child %%'),
				many as (select count(*) as n from old)
			select new.id as student, old.id as seed, new.no / many.n + 1 as copy,
				(new.no * 37 %% 150) * interval '1 hour' as ago,
				(select max(id) from games) as step
			from new, many, old
			where old.no = new.no %% many.n`, c), nil},
		{"guardians", copyGuardians, []any{c}},
		{"consents", copyConsents, []any{c}},
		{"keys", copyKeys, []any{c}},
		{"assignees", copyRows("assignees", ""), []any{c}},
		{"games", copyRows("games", `, 'id', o.id + copy * step, 'started_at', o.started_at - ago,
			'ended_at', o.ended_at - ago`), []any{c}},
		{"stages", copyRows("stage_results", `, 'game_id', o.game_id + copy * step, 'ended_at', o.ended_at - ago`), []any{c}},
		{"bells", copyRows("bells", `, 'rung_on', o.rung_on - ago`), []any{c}},
		{"acts", copyActs, []any{c}},
		{"numbers", `select setval(pg_get_serial_sequence('games', 'id'), max(id)) from games`, nil},
	} {
		if _, err := f.root.Exec(ctx, step.sql, step.args...); err != nil {
			return fmt.Errorf("copy %s: %w", step.what, err)
		}
	}
	return nil
}

const copyPeople = `insert into people (club_id, role, name, number, wording, created_at)
	select $1, 'student', 'Child ' || to_char(n, 'FM0000'), nextval('student_numbers'),
		case when n % 2 = 0 then 8 else 14 end, now() - interval '1 year'
	from generate_series(1, $2::int) n`

const copyGuardians = `with made as (
		insert into people (club_id, role, name) select $1, 'guardian', 'Guardian ' || student from copies returning id, name
	)
	insert into guardians (club_id, guardian_id, student_id)
	select $1, id, substr(name, 10)::bigint from made`

const copyConsents = `insert into consents (club_id, student_id, given_by, given_on, noted_by, version)
	select $1, c.student, o.given_by, o.given_on, o.noted_by, o.version
	from copies c
	join consents o on o.club_id = $1 and o.student_id = c.seed`

// copyKeys gives everybody a card, its phrase and a session, which nobody knows.
const copyKeys = `insert into keys (club_id, hash, kind, person_id, seen_at, expires_at)
	select $1, sha256((kind || student || random())::bytea), kind, student, case when kind = 'session' then now() end,
		case when kind = 'session' then now() + interval '14 days' end
	from copies, unnest(array['card', 'phrase', 'session']) kind`

// copyRows copies a table's rows of the students who are copied; with is what else changes
// in each.
func copyRows(table, with string) string {
	return `insert into ` + table + `
		select r.*
		from copies c
		join ` + table + ` o on o.club_id = $1 and o.student_id = c.seed,
		jsonb_populate_record(o, jsonb_build_object('student_id', c.student` + with + `)) r`
}

const copyActs = `insert into acts (club_id, game_id, seq, kind, by_id, client_id, at, move, reply, grade, cost, plies,
		stage, par, took, "end", help)
	select a.club_id, a.game_id + c.copy * c.step, a.seq, a.kind, c.student, a.client_id, a.at - c.ago, a.move, a.reply,
		a.grade, a.cost, a.plies, a.stage, a.par, a.took, a."end", a.help
	from copies c
	join games g on g.club_id = $1 and g.student_id = c.seed
	join acts a on a.club_id = $1 and a.game_id = g.id
	order by 1, 2, 3`
