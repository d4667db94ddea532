package store

import (
	"context"
	"slices"

	"drover/game"
	"drover/game/club"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

const insertDrill = `insert into drills (
		club_id,
		shelf_id,
		version,
		name,
		ending,
		side,
		mode,
		stage_from,
		stage_to,
		defender,
		starts,
		rule,
		kind,
		trains,
		level,
		ready,
		made_by
	)
	values (
		@club,
		coalesce(nullif(@shelf::bigint, 0), currval(pg_get_serial_sequence('drills', 'id'))),
		@version,
		@name,
		@ending,
		case when @hold then 'hold' else 'attack' end,
		@mode,
		@from,
		@to,
		@defender,
		@starts,
		@rule,
		@kind,
		@trains,
		@level,
		nullif(@ready, ''),
		@by
	)
	returning id`

// place is where on the shelf a drill is put: a place of its own, or as the next version at
// the place of another; and the code of one that Drover brings.
type place struct {
	shelf   int64 // 0: a new place
	version int
	ready   string
}

// putOnShelf inserts a version of a drill.
func putOnShelf(ctx context.Context, tx pgx.Tx, a game.Actor, d club.Drill, at place) (id int64, err error) {
	const next = `select nextval(pg_get_serial_sequence('drills', 'id'))`
	if _, err := tx.Exec(ctx, next); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, insertDrill, args{
		"club": a.Club, "by": a.Person, "name": d.Name, "ending": d.Ending, "hold": d.Hold, "mode": d.Mode,
		"from": d.From, "to": d.To, "defender": d.Defender, "starts": d.Starts, "rule": d.Rule, "kind": d.Kind,
		"trains": d.Trains, "level": d.Level, "shelf": at.shelf, "version": at.version, "ready": at.ready,
	}).Scan(&id)
	return id, err
}

// KeepDrill puts a drill on the club's shelf. If the form was sent before, it
// returns the drill that was made then.
func (s *Store) KeepDrill(ctx context.Context, a game.Actor, d club.Drill, sent ...Sent) (game.DrillID, error) {
	if err := d.Validate(); err != nil {
		return 0, err
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		id, err := putOnShelf(ctx, tx, a, d, place{version: 1})
		if err != nil {
			return 0, err
		}
		return id, audit(ctx, tx, a, "drill made", 0, "")
	})
	return game.DrillID(id), err
}

// FillShelf puts the ready drills on the shelf that the club has never had, and says how
// many there were.
func (s *Store) FillShelf(ctx context.Context, a game.Actor, ready []progress.Ready) (n int, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockClub(ctx, tx, a.Club); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, `select ready from drills where club_id = $1 and ready is not null`, a.Club)
		if err != nil {
			return err
		}
		there, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			return err
		}
		for _, r := range slices.Backward(ready) { // the newest stands first
			if slices.Contains(there, r.Code) {
				continue
			}
			if _, err := putOnShelf(ctx, tx, a, r.Drill, place{version: 1, ready: r.Code}); err != nil {
				return err
			}
			n++
		}
		if n == 0 {
			return nil
		}
		return audit(ctx, tx, a, "ready drills put on the shelf", 0, "")
	})
	return n, err
}

// MissesReady says whether there are ready drills that the club has never had.
func (s *Store) MissesReady(ctx context.Context, c game.ClubID) (bool, error) {
	var n int
	err := s.pool.QueryRow(ctx, `select count(*) from drills where club_id = $1 and ready is not null`, c).Scan(&n)
	return n < progress.ReadyDrills(), translate(err)
}

// ofDrill is the place of a drill on the shelf: which of its versions is there, if any.
var ofDrill = thing{"drill",
	`select from drills where club_id = @club and shelf_id = @id order by id for no key update`,
	`select jsonb_build_object('live', max(d.id) filter (where d.archived_at is null))
		from drills d
		where d.club_id = @club and d.shelf_id = @id
		having count(*) > 0`,
	[]string{`update drills set archived_at = coalesce(archived_at, now())
			where club_id = @club and shelf_id = @id and id is distinct from (@before::jsonb->>'live')::bigint`,
		`update drills set archived_at = null
			where club_id = @club and shelf_id = @id and id = (@before::jsonb->>'live')::bigint`}}

// changedDrill is said where somebody else was first.
const changedDrill = "Somebody else has changed or archived this drill since. Look at the shelf, and begin from there."

// ChangeDrill puts a new version in the place of a drill. What was given stays as it was;
// what is given from now on is the new version. It can be undone.
func (s *Store) ChangeDrill(ctx context.Context, a game.Actor, of game.DrillID, d club.Drill,
	sent ...Sent) (game.DrillID, game.ChangeID, error) {
	if err := d.Validate(); err != nil {
		return 0, 0, err
	}
	var change game.ChangeID
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		id, change, err = s.newVersion(ctx, tx, a, of, func(club.Drill) club.Drill { return d })
		return id, err
	})
	return game.DrillID(id), change, err
}

// RenameDrill gives a drill another name; that is a new version, too.
func (s *Store) RenameDrill(ctx context.Context, a game.Actor, of game.DrillID,
	name string) (id game.DrillID, change game.ChangeID, err error) {
	if name, err = club.ValidateDrillName(name); err != nil {
		return 0, 0, err
	}
	err = s.tx(ctx, func(tx pgx.Tx) error {
		made, noted, err := s.newVersion(ctx, tx, a, of, func(d club.Drill) club.Drill { d.Name = name; return d })
		id, change = game.DrillID(made), noted
		return err
	})
	return id, change, err
}

// newVersion archives the version of a drill that is on the shelf and puts another one in
// its place.
func (s *Store) newVersion(ctx context.Context, tx pgx.Tx, a game.Actor, of game.DrillID,
	next func(club.Drill) club.Drill) (id int64, change game.ChangeID, err error) {
	was, shelf, version, err := onShelf(ctx, tx, a.Club, of)
	if err != nil {
		return 0, 0, err
	}
	change, err = s.changeIn(ctx, tx, a, ofDrill, shelf, func() error {
		if err := s.offShelf(ctx, tx, a.Club, of); err != nil {
			return err
		}
		id, err = putOnShelf(ctx, tx, a, next(was), place{shelf: shelf, version: version + 1})
		return err
	})
	return id, change, err
}

// offShelf archives a version of a drill.
func (s *Store) offShelf(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.DrillID) error {
	_, err := tx.Exec(ctx, `update drills set archived_at = $3 where club_id = $1 and id = $2`, c, id, s.now())
	return err
}

// onShelf reads a drill that is on the shelf and its place, and holds it until the
// transaction ends. One that is there no more is a conflict.
func onShelf(ctx context.Context, tx pgx.Tx, c game.ClubID,
	id game.DrillID) (d club.Drill, shelf int64, version int, err error) {
	var archived bool
	const q = `select shelf_id, archived_at is not null, (select max(version) from drills v
			where v.club_id = $1 and v.shelf_id = d.shelf_id)
		from drills d
		where club_id = $1 and id = $2
		for no key update`
	if err := tx.QueryRow(ctx, q, c, id).Scan(&shelf, &archived, &version); err != nil {
		return d, 0, 0, err
	}
	if archived {
		return d, 0, 0, game.Fail(game.Conflict, changedDrill)
	}
	d, err = readOne[club.Drill](ctx, tx, `select `+drillColumns+` from drills d where d.club_id = $1 and d.id = $2`, c, id)
	return d, shelf, version, err
}

// ArchiveDrill takes a drill off the shelf; what was given stays. It can be undone.
func (s *Store) ArchiveDrill(ctx context.Context, a game.Actor, id game.DrillID) (change game.ChangeID, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		_, shelf, _, err := onShelf(ctx, tx, a.Club, id)
		if err != nil {
			return err
		}
		change, err = s.changeIn(ctx, tx, a, ofDrill, shelf, func() error { return s.offShelf(ctx, tx, a.Club, id) })
		return err
	})
	return change, err
}

// BackOnShelf puts the last version of an archived drill on the shelf again. It can be
// undone.
func (s *Store) BackOnShelf(ctx context.Context, a game.Actor,
	id game.DrillID) (last game.DrillID, change game.ChangeID, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) (err error) {
		var shelf int64
		const q = `select shelf_id from drills where club_id = $1 and id = $2 for update`
		if err := tx.QueryRow(ctx, q, a.Club, id).Scan(&shelf); err != nil {
			return err
		}
		const back = `update drills d set archived_at = null
			where d.club_id = $1 and d.shelf_id = $2 and d.id = (select max(v.id) from drills v
					where v.club_id = $1 and v.shelf_id = $2)
				and not exists (select from drills v where v.club_id = $1 and v.shelf_id = $2 and v.archived_at is null)
			returning d.id`
		change, err = s.changeIn(ctx, tx, a, ofDrill, shelf, func() error {
			return tx.QueryRow(ctx, back, a.Club, shelf).Scan(&last)
		})
		return err
	})
	return last, change, err
}

// DrillPlace says where a drill is: on the shelf, replaced by a newer version, or archived.
type DrillPlace struct {
	Now      game.DrillID // the version that is on the shelf; 0: the drill is archived
	Archived bool         // this version is not on the shelf
}

// Place reads where a drill of the club is.
func (s *Store) Place(ctx context.Context, c game.ClubID, id game.DrillID) (DrillPlace, error) {
	const q = `select coalesce((select v.id from drills v
				where v.club_id = d.club_id and v.shelf_id = d.shelf_id and v.archived_at is null), 0) as now,
			d.archived_at is not null as archived
		from drills d
		where d.club_id = $1 and d.id = $2`
	out, err := readOne[DrillPlace](ctx, s.pool, q, c, id)
	return out, translate(err)
}

// ShelfAsk says which drills are asked for.
type ShelfAsk struct {
	Find     string // part of a name, or of what a drill trains; empty: all
	Ending   string // code of an ending that is won, or after HoldMark of one that is held; empty: all
	Trains   string // a stage with which the drill begins, after KindMark a kind of start, or a mode; empty: all
	Level    int    // 0: all
	Archived bool   // the archived ones in place of the others
	Page     int    // from 1; 0: all
}

// The marks before a code.
const (
	HoldMark = "hold-"
	KindMark = "kind-"
)

// ShelfRow is one drill with who has it.
type ShelfRow struct {
	club.Drill
	Who     []string
	Has     int
	Through int
	Total   int // of the drills that are asked for
}

// DrillsOnPage is how many drills a page of the shelf has.
const DrillsOnPage = 50

// Shelf lists a club's drills, the newest first.
func (s *Store) Shelf(ctx context.Context, a game.Actor, ask ShelfAsk) ([]ShelfRow, error) {
	const q = `with page as (
			select d.*, count(*) over () as total
			from drills d
			where d.club_id = @club
				and case when @old then d.archived_at is not null and d.id = (select max(v.id) from drills v
						where v.club_id = d.club_id and v.shelf_id = d.shelf_id)
					and not exists (select from drills v
						where v.club_id = d.club_id and v.shelf_id = d.shelf_id and v.archived_at is null)
				else d.archived_at is null end
				and (@find = '' or strpos(lower(d.name || ' ' || d.trains), lower(@find)) > 0)
				and (@ending = '' or case d.side when 'hold' then 'hold-' else '' end || d.ending = @ending)
				and (@trains = '' or @trains in ('kind-' || d.kind, d.mode)
					or @trains = d.stage_from and d.kind = 'random' and d.mode <> 'test')
				and (@level = 0 or d.level = @level)
			order by d.id desc
			limit nullif(@most::int, 0) offset @from)
		select ` + drillColumns + `,
			coalesce(array_agg(distinct p.name) filter (where p.id is not null), '{}') as who,
			count(distinct p.id) as has,
			count(distinct p.id) filter (where e.passed_at is not null) as through,
			d.total
		from page d
		left join drills v on v.club_id = d.club_id and v.shelf_id = d.shelf_id
		left join assignments t on t.club_id = v.club_id and t.drill_id = v.id and t.withdrawn_at is null
		left join assignees e on e.club_id = t.club_id and e.assignment_id = t.id and e.withdrawn_at is null
		left join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null` + inScope + `
		group by d.club_id, d.id, d.name, d.ending, d.side, d.mode, d.stage_from, d.stage_to, d.defender, d.starts, d.rule,
			d.kind, d.trains, d.level, d.total
		order by d.id desc`
	most := 0
	if ask.Page > 0 {
		most = DrillsOnPage
	}
	out, err := readAll[ShelfRow](ctx, s.pool, q, args{
		"club": a.Club, "reader": a.Person, "old": ask.Archived, "find": ask.Find, "ending": ask.Ending, "trains": ask.Trains,
		"level": ask.Level, "most": most, "from": (max(ask.Page, 1) - 1) * DrillsOnPage,
	})
	return out, translate(err)
}
