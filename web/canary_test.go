package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store/storetest"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"
)

// How a column of text is written.
const (
	ours  = ""      // by the program: out of a list, a number, a hash, a position that was read and written anew
	acted = "acted" // freely, by whoever makes an act: the id that a page gives it
)

// columns says of every column of text how it is written: for what a coach, a
// guardian or a child writes freely there is the value that a test puts in, one for
// each role where that matters.
var columns = map[string]string{
	"clubs.name": canary("clubs.name"), "clubs.welfare": canary("clubs.welfare"), "clubs.contact": canary("clubs.contact"),
	"clubs.zone":    ours,
	"clubs.outside": canary("clubs.outside"), "groups.name": canary("groups.name") + " || id",
	"holidays.name": canary("holidays.name"), "changes.what": ours, "changes.before": ours,
	"consents.mistake": "case when corrects is not null then " + canary("consents.mistake") + " end",
	"people.name":      canary("people.name") + " || '-' || role",
	"people.email":     "case when email is not null then " + canary("people.email") + " || '-' || id end",
	"people.role":      ours, "invites.role": ours, "people.password": ours,
	"consents.given_by": canary("consents.given_by"), "consents.version": ours,
	"term_reports.title": canary("term_reports.title"), "term_reports.remark": canary("term_reports.remark"), "term_reports.said": ours,
	"kept_trials.ending": ours, "kept_trials.stage_from": ours, "kept_trials.target": ours, "kept_trials.result": ours,
	"notice_texts.audience": ours, "notice_texts.body": canary("notice_texts.body"),
	"clubs.emergency": canary("clubs.emergency"), "concerns.words": canary("concerns.words"), "concern_notes.words": canary("concern_notes.words"),
	"reasons.words": canary("reasons.words"), "bars.reason": canary("bars.reason"),
	"addresses.email": canary("addresses.email"), "letters.kind": ours, "letters.outcome": ours,
	"keys.kind": ours, "keys.browser": ours, "notices.what": ours, "shown.kind": ours, "own_settings.scheme": ours, "audit.action": ours, "audit.detail": ours,
	"attended.kind": ours, "attended.what": ours, "plans.title": canary("plans.title"), "plan_cells.ending": ours, "drills.name": canary("drills.name"), "drills.kind": ours, "drills.trains": ours, "drills.ready": ours, "drills.ending": ours, "drills.side": ours, "drills.mode": ours,
	"drills.stage_from": ours, "drills.stage_to": ours,
	"drills.defender": ours, "drills.starts": ours, "drills.rule": ours,
	"games.side": ours, "games.ending": ours, "games.start_fen": ours, "games.mode": ours, "games.target": ours,
	"games.defender": ours, "games.end": ours,
	"games.result": ours, "games.failed_stage": ours, "games.kind": ours, "games.stage_from": ours,
	"acts.client_id": acted, "acts.kind": ours, "acts.move": ours, "acts.reply": ours, "acts.grade": ours,
	"acts.stage": ours, "acts.end": ours, "acts.node": ours, "nodes.id": ours, "nodes.pad": ours,
	"stage_results.stage": ours, "stage_results.ending": ours, "stage_results.habits": ours, "bells.ending": ours, "bells.stage": ours,
	"overviews.first_ending": ours, "overviews.first_habit": ours, "overviews.first_stage": ours, "overviews.said": ours,
	"placement_tasks.kind": ours, "placement_tasks.fen": ours, "placement_tasks.ending": ours,
	"placement_tasks.target": ours, "placement_tasks.answer": ours,
}

// mark is what stands before the name of a column in its canary.
const mark = "cnry-"

// canary is the SQL text that only this column holds.
func canary(column string) string { return "'" + mark + column + "'" }

// textColumns are the columns of the schema that can hold a text.
func textColumns(t *testing.T, db *pgx.Conn) []string {
	t.Helper()
	rows, err := db.Query(ctx, `select table_name || '.' || column_name from information_schema.columns
		where table_schema = 'public' and table_name <> 'schema_migrations' and data_type not in
			('bigint', 'integer', 'smallint', 'double precision', 'boolean', 'date', 'timestamp with time zone', 'bytea')
			and (data_type <> 'ARRAY' or udt_name not in ('_int2', '_int4', '_int8'))`)
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// TestWhatAChildReadsASecondAdultReads: every text that a person can write freely
// and that reaches a page of a child stands also on a page of its guardian or of
// the club's other coach. A column that is new fails until it is classified.
func TestWhatAChildReadsASecondAdultReads(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "canary")
	ended, open := s.withBoth(f)
	for _, of := range []club.Audience{club.ForChild, club.ForGuardian} {
		if err := s.store.KeepNotice(ctx, f.Coach, club.Notice{For: of, Body: "What is kept"}); err != nil {
			t.Fatal(err)
		}
	}
	db, err := pgx.Connect(ctx, storetest.Address(s.store))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close(ctx)
	there := textColumns(t, db)
	for _, column := range there {
		value, known := columns[column]
		if !known {
			t.Errorf("%s is not classified: who writes it, and who reads it?", column)
		}
		if value == ours || value == acted {
			continue
		}
		table, name, _ := strings.Cut(column, ".")
		if _, err := db.Exec(ctx, fmt.Sprintf("update %s set %s = %s", table, name, value)); err != nil {
			t.Fatal(err)
		}
	}
	if len(there) != len(columns) {
		t.Errorf("%d columns hold text, %d are classified", len(there), len(columns))
	}
	ids := []game.GameID{ended, open}
	child := canaries(s.pagesOf(f, f.Student, ids))
	adults := canaries(s.pagesOf(f, f.Guardian, ids) + s.pagesOf(f, f.Coach2, ids))
	report := canaries(s.as(f.Guardian).get("/report").body)
	for name := range child {
		if !adults[name] {
			t.Errorf("a child reads %s, and no second adult does", name)
		}
	}
	for _, name := range []string{"clubs.name", "notice_texts.body", "clubs.welfare", "clubs.contact", "drills.name", "people.name-student",
		"acts.client_id"} {
		if !child[name] {
			t.Errorf("the child's pages do not show %s: this test looks at too little; they show %v", name, child)
		}
	}
	for _, name := range []string{"drills.name", "people.name-coach", "people.name-student", "clubs.name"} {
		if !report[name] {
			t.Errorf("the guardian's report does not show %s", name)
		}
	}
}

// withBoth gives the fixture's student an ended game, one under way and a starting
// check. The acts carry a canary.
func (s *site) withBoth(f storetest.Fixture) (ended, open game.GameID) {
	s.Helper()
	err := s.store.BeginPlacement(ctx, f.Coach, f.Student.Person, []progress.PickedTask{{FEN: storetest.FinishStart,
		Ending: "KRK", Target: ending.Mate, Budget: 8}})
	if err != nil {
		s.Fatal(err)
	}
	act := func(g game.GameID, do practice.Kind) {
		if _, err := s.hub.Do(ctx, f.Student, g, practice.Command{Do: do, ID: mark + "acts.client_id"}); err != nil {
			s.Fatal(err)
		}
	}
	act(f.Game, practice.Resign)
	if open, err = s.store.Again(ctx, f.Student, f.Game); err != nil {
		s.Fatal(err)
	}
	act(open, practice.Helped)
	return f.Game, open
}

// pagesOf are all pages that a person can open, and the first frame of a game's
// socket for who may watch.
func (s *site) pagesOf(f storetest.Fixture, a game.Actor, games []game.GameID) string {
	s.Helper()
	p := s.as(a)
	var all strings.Builder
	routes, ok := s.web.Handler().(chi.Routes)
	if !ok {
		s.Fatal("the handler is no chi router")
	}
	err := chi.Walk(routes, func(method, path string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if method != http.MethodGet || strings.HasPrefix(path, "/static") || strings.HasPrefix(path, "/live") {
			return nil
		}
		for _, g := range games {
			f.Game = g
			if got := p.get(address(path, f)); got.status == http.StatusOK {
				all.WriteString(got.body)
			}
		}
		return nil
	})
	if err != nil {
		s.Fatal(err)
	}
	if a.Role != game.Guardian {
		for _, g := range games {
			fmt.Fprintln(&all, p.board(g).next())
		}
	}
	return all.String()
}

// canaries are the columns whose canary a text holds.
func canaries(text string) map[string]bool {
	found := map[string]bool{}
	for column := range columns {
		for _, name := range []string{column, column + "-coach", column + "-student", column + "-guardian"} {
			if strings.Contains(text, mark+name) {
				found[name] = true
			}
		}
	}
	return found
}

// TestReportSaysWhatIsSet: a guardian reads the name of each drill that is open for
// the own child, who set it and when it is due; of another child's nothing, and
// nothing once the drill is through.
func TestReportSaysWhatIsSet(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "setnow")
	d := f.Drill
	d.Name = "Say <hello> to Wren"
	id, err := s.store.KeepDrill(ctx, f.Coach2, d)
	if err != nil {
		t.Fatal(err)
	}
	today := time.Now().UTC()
	if _, err := s.store.Assign(ctx, f.Coach2, id, []game.PersonID{f.Student.Person}, &today); err != nil {
		t.Fatal(err)
	}
	own := s.as(f.Guardian).get("/report").body
	for _, want := range []string{"Drills to do", "Say &lt;hello&gt; to Wren", "Set by Helper of setnow, due today.",
		f.Drill.Name, "Set by Coach of setnow."} {
		if !strings.Contains(own, want) {
			t.Errorf("the report does not say %q", want)
		}
	}
	if other := s.as(f.Guardian2).get("/report").body; strings.Contains(other, "hello") || !strings.Contains(other,
		f.Drill.Name) {
		t.Error("the other child's report")
	}
	db, err := pgx.Connect(ctx, storetest.Address(s.store))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close(ctx)
	if _, err := db.Exec(ctx, "delete from games; update assignees set passed_at = now()"); err != nil {
		t.Fatal(err)
	}
	if own = s.as(f.Guardian).get("/report").body; strings.Contains(own, "hello") || !strings.Contains(own,
		"No drill is waiting just now.") {
		t.Error("after all is through")
	}
}
