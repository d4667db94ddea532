package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// studentColumns are those of a club.Person who is a student.
const studentColumns = `
		p.id,
		p.club_id as club,
		p.role,
		p.name,
		p.number,
		p.wording`

// RosterRow is one student of the roster.
type RosterRow struct {
	club.Person
	Groups    []string   // by name
	Last      *time.Time // last practice
	Ending    string     // of the last game
	Stage     string     // from which it was
	Hold      bool
	Games     int
	Card      *time.Time // when the card was made
	Guardians int
	Waits     bool // for consent
}

// The orders of the roster, as they are asked for.
const (
	ByName   = "name"
	ByLast   = "last"   // who practised last stands first
	BySilent = "silent" // who has not practised for longest stands first
	ByNumber = "number"
)

// orders say how each sorts.
var orders = map[string]string{
	ByName: "lower(p.name)", ByLast: "last.started_at desc nulls last", BySilent: "last.started_at nulls first", ByNumber: "p.number",
}

// RosterAsk says which students of the roster are asked for.
type RosterAsk struct {
	Reader   game.PersonID // a substitute sees the own groups only; 0: all
	Find     string        // part of a name, or a number; empty: all
	Group    game.GroupID  // 0: of all groups
	NoGroup  bool          // only those who are in none
	NoCard   bool          // only those who have none
	Archived bool          // the archived ones in place of the others
	Sort     string
	Page     int // from 1; 0: all
}

// Roster is a page of the roster.
type Roster struct {
	Rows    []RosterRow
	Total   int // of those asked for
	All     int // in the club
	NoGroup int
	Old     int // archived
	NoCard  int
	Waiting int // for consent, so they have no card either
}

// StudentsPerPage is how many students one page of the roster has.
const StudentsPerPage = 50

// stillListed leaves out who left longer ago than the club keeps them, whether or not they are
// erased yet: what holds an erasure is the officer's alone to know.
const stillListed = `(p.archived_at is null
				or p.archived_at >= now() - (select make_interval(months => keep_left) from clubs where id = p.club_id))`

// rosterWhere holds the students who are asked for.
const rosterWhere = `p.club_id = @club and p.role = 'student' and (p.archived_at is not null) = @archived and ` + stillListed + `
			and ` + isFound + `
			and (@group = 0 or exists (select from members m
				where m.club_id = p.club_id and m.group_id = @group and m.student_id = p.id))
			and (not @nogroup or ` + inNoGroup + `)
			and (not @nocard or ` + hasNoCard + `)` + inScope

// lastBegun is the last game that the student p has begun.
const lastBegun = `(select g.id, g.started_at, g.ending, g.stage_from, g.hold
				from games g
				where g.club_id = p.club_id and g.student_id = p.id
				order by g.started_at desc
				limit 1)`

const (
	// isFound holds the students to those whose name or number is looked for.
	isFound   = `(@find = '' or position(lower(@find) in lower(p.name)) > 0 or p.number::text = @find)`
	inNoGroup = `not exists (select from members m
				join groups g on g.club_id = m.club_id and g.id = m.group_id and g.archived_at is null
				where m.club_id = p.club_id and m.student_id = p.id)`
	hasNoCard = `not exists (select from keys k
				where k.club_id = p.club_id and k.person_id = p.id and k.kind = 'card')`
)

// Roster reads the students who are asked for, and how many there are.
func (s *Store) Roster(ctx context.Context, c game.ClubID, ask RosterAsk) (Roster, error) {
	if ask.Sort = orders[ask.Sort]; ask.Sort == "" {
		ask.Sort = orders[ByName]
	}
	with := args{"club": c, "find": ask.Find, "group": ask.Group, "nogroup": ask.NoGroup, "nocard": ask.NoCard, "reader": ask.Reader,
		"archived": ask.Archived, "most": nil, "from": 0}
	if ask.Page > 0 {
		with["most"], with["from"] = StudentsPerPage, (ask.Page-1)*StudentsPerPage
	}
	var out Roster
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) (err error) {
		const rows = `select ` + studentColumns + `,
				coalesce((select array_agg(g.name order by lower(g.name))
					from members m
					join groups g on g.club_id = m.club_id and g.id = m.group_id and g.archived_at is null
					where m.club_id = p.club_id and m.student_id = p.id), '{}') as groups,
				last.started_at as last,
				coalesce(last.ending, '') as ending,
				coalesce(last.stage_from, '') as stage,
				coalesce(last.hold, false) as hold,
				(select count(*) from games g
					where g.club_id = p.club_id and g.student_id = p.id and g.ended_at is not null and g.counts) as games,
				(select max(k.made_at) from keys k
					where k.club_id = p.club_id and k.person_id = p.id and k.kind = 'card') as card,
				(select count(*) from guardians g where g.club_id = p.club_id and g.student_id = p.id) as guardians,
				not ` + hasConsent + ` as waits
			from people p
			left join lateral ` + lastBegun + ` last on true
			where ` + rosterWhere
		out.Rows, err = readAll[RosterRow](ctx, tx, rows+` order by `+ask.Sort+`, lower(p.name), p.id limit @most offset @from`, with)
		if err != nil {
			return err
		}
		return out.count(ctx, tx, c, with)
	})
	return out, err
}

func (r *Roster) count(ctx context.Context, tx pgx.Tx, c game.ClubID, with args) error {
	count := args{}
	for k, v := range with {
		if k != "most" && k != "from" {
			count[k] = v
		}
	}
	if err := tx.QueryRow(ctx, `select count(*) from people p where `+rosterWhere, count).Scan(&r.Total); err != nil {
		return err
	}
	const all = `select count(*) filter (where p.archived_at is null),
			count(*) filter (where p.archived_at is null and ` + inNoGroup + `),
			count(*) filter (where p.archived_at is not null and ` + stillListed + `),
			count(*) filter (where p.archived_at is null and ` + hasNoCard + `),
			count(*) filter (where p.archived_at is null and not ` + hasConsent + `)
		from people p
		where p.club_id = @club and p.role = 'student'` + inScope
	return tx.QueryRow(ctx, all, args{"club": c, "reader": with["reader"]}).Scan(&r.All, &r.NoGroup, &r.Old, &r.NoCard, &r.Waiting)
}

// PlayingRow is a game that is being played now.
type PlayingRow struct {
	Game   game.GameID
	Name   string
	Ending string
	Stage  string
	Hold   bool
	Moves  int
	Grade  string // of the last move
}

// playingFor is how long after the last act a game counts as being played.
const playingFor = 10 * time.Minute

// Playing lists the games that are being played now, the one with the latest act first.
func (s *Store) Playing(ctx context.Context, a game.Actor) ([]PlayingRow, error) {
	const q = `select g.id as game, p.name, g.ending, coalesce(g.stage_from, '') as stage, g.hold,
			coalesce(last.moves, 0) as moves, coalesce(last.grade, '') as grade
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null
		left join lateral (select max(a.at) as at, count(*) filter (where a.kind = 'move') as moves,
				(array_agg(a.grade order by a.seq desc) filter (where a.kind = 'move'))[1] as grade
			from acts a
			where a.club_id = g.club_id and a.game_id = g.id) last on true
		where g.club_id = @club and g.kind <> 'trial' and g.ended_at is null and g.started_at > @begun
			and coalesce(last.at, g.started_at) > @since` + inScope + `
		order by coalesce(last.at, g.started_at) desc, g.id`
	out, err := readAll[PlayingRow](ctx, s.pool, q, args{
		"club": a.Club, "reader": a.Person, "begun": s.now().Add(-24 * time.Hour), "since": s.now().Add(-playingFor),
	})
	return out, translate(err)
}

// StudentFile is what a coach sees of one student.
type StudentFile struct {
	club.Person
	Card      *time.Time
	ConsentBy string // empty: the student waits for consent
	ConsentOn time.Time
	Revision  int
	Archived  bool
	Groups    []game.GroupID
	Guardians []GuardianRow `db:"-"`
}

// Waits says whether the student waits for consent.
func (f StudentFile) Waits() bool { return f.ConsentBy == "" }

// Guardian finds one of the student's guardians.
func (f StudentFile) Guardian(id game.PersonID) (GuardianRow, bool) {
	for _, g := range f.Guardians {
		if g.ID == id {
			return g, true
		}
	}
	return GuardianRow{}, false
}

// GuardianRow is a guardian with the state of the link.
type GuardianRow struct {
	ID    game.PersonID
	Name  string
	Until *time.Time // nil: stopped
	Also  bool       // a guardian of another child, too
}

// StudentFile reads one student with guardians, an archived one too.
func (s *Store) StudentFile(ctx context.Context, c game.ClubID, id game.PersonID) (StudentFile, error) {
	const q = `select ` + studentColumns + `,
			(select max(made_at) from keys k where k.club_id = $1 and k.person_id = p.id and k.kind = 'card') as card,
			coalesce(c.given_by, '') as consent_by,
			coalesce(c.given_on, '0001-01-01') as consent_on,
			p.revision,
			p.archived_at is not null as archived,
			coalesce((select array_agg(m.group_id order by m.group_id) from members m
				where m.club_id = p.club_id and m.student_id = p.id), '{}') as groups
		from people p
		left join lateral (select given_by, given_on from consents c
			where c.club_id = $1 and c.student_id = p.id and not c.withdraws
			order by c.id desc
			limit 1) c on true
		where p.club_id = $1 and p.id = $2 and p.role = 'student'`
	f, err := readOne[StudentFile](ctx, s.pool, q, c, id)
	if err != nil {
		return f, translate(err)
	}
	const g = `select p.id, p.name, (select max(expires_at) from keys k
			where k.club_id = $1 and k.person_id = p.id and k.kind = 'report') as until,
			exists (select from guardians o
				where o.club_id = $1 and o.guardian_id = p.id and o.student_id <> $2) as also
		from guardians g
		join people p on p.club_id = g.club_id and p.id = g.guardian_id
		where g.club_id = $1 and g.student_id = $2
		order by p.id`
	f.Guardians, err = readAll[GuardianRow](ctx, s.pool, g, c, id)
	return f, translate(err)
}

// wardsOf are the students of a guardian.
const wardsOf = `
		from guardians g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = $1 and g.guardian_id = $2`

// LeftWard is a guardian's child who has left the club and is still kept.
type LeftWard struct {
	club.Person
	Left time.Time
}

// LeftWards lists the students of a guardian who have left the club and are still listed.
func (s *Store) LeftWards(ctx context.Context, a game.Actor) ([]LeftWard, error) {
	const q = `select ` + studentColumns + `, p.archived_at as "left"` + wardsOf + ` and p.archived_at is not null and ` + stillListed + `
		order by p.id`
	out, err := readAll[LeftWard](ctx, s.pool, q, a.Club, a.Person)
	return out, translate(err)
}

// Wards lists the students of a guardian.
func (s *Store) Wards(ctx context.Context, a game.Actor) ([]club.Person, error) {
	const q = `select ` + studentColumns + wardsOf + ` and p.archived_at is null order by p.id`
	out, err := readAll[club.Person](ctx, s.pool, q, a.Club, a.Person)
	return out, translate(err)
}
