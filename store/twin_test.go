package store_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// ofClub are the tables with a club's rows; a table stands after those that it points to.
var ofClub = []string{"people", "guardians", "notice_texts", "consents", "keys", "drills", "assignments", "assignees", "games", "acts",
	"stage_results", "audit", "bells", "placements", "placement_tasks", "forms", "shown", "groups", "members", "holidays",
	"changes", "substitutes", "invites", "factors", "recoveries", "notices", "sheets", "sheet_cards", "overviews",
	"plans", "plan_cells", "plan_given", "attended", "own_settings", "watched", "kept_trials", "exports", "export_pieces",
	"term_reports", "concerns", "concern_notes", "reasons", "bars", "erasures", "addresses", "letters"}

// other makes the twin's rows differ, so that it shows which of two was found.
var other = map[string]string{
	"people": "number = number + 1000, name = 'Twin ' || name, wording = 14, mark = substr(sha256(mark), 1, 16)", "erasures": "asked_by = asked_by + 1", "drills": "name = 'Twin ' || name",
	"consents": "given_by = 'Twin'", "exports": "size = size + 1", "term_reports": "title = 'Twin ' || title", "notice_texts": "body = 'Twin ' || body", "games": `seed = seed + 1, start_fen = replace(start_fen, '0 1', '0 2'),
		started_at = started_at + interval '1 minute', par = 7,
		failed_stage = replace(failed_stage, 'mate', 'edge'), result = case when hold then 'helped'
		when result = 'not won' then 'clean' else result end`,
	"acts":          "took = 1 + 2 * took, client_id = 't' || client_id",
	"stage_results": "stage = 'edge', moves = 9, ended_at = ended_at - interval '1 minute'",
	"assignments":   "due_on = date '2030-01-01'", "bells": "rung_on = rung_on - 1",
	"placement_tasks": "budget = budget + 1", "placements": "begun_at = begun_at - interval '1 day'",
	"groups": "name = 'Twin ' || name", "holidays": "name = 'Twin ' || name", "invites": "expires_at = expires_at + interval '1 hour'",
	"concerns": "words = 'Twin ' || words", "reasons": "words = 'Twin ' || words", "bars": "reason = 'Twin ' || reason",
	"addresses": "email = 'twin-' || email", "letters": "at = at - interval '1 minute'",
	"notices": "at = at - interval '1 day'", "factors": "last_step = last_step + 1", "sheets": "at = at - interval '1 minute'",
	"changes": "at = at - interval '1 minute'", "forms": "answer = answer + 1", "overviews": "stuck = not stuck",
	"attended": "evidence = evidence + 1", "own_settings": "scheme = 'light'", "plans": "title = 'Twin ' || title", "keys": "made_at = made_at - interval '1 day'",
}

// twin copies a club under another number, with the ids of all its rows: whoever asks for
// an id without the club finds two.
func twin(t *testing.T, url string, of game.ClubID) game.ClubID {
	t.Helper()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	const made = `insert into clubs (name, zone) values ('Twin', 'Europe/Oslo') returning id`
	var id game.ClubID
	if err := conn.QueryRow(ctx, made).Scan(&id); err != nil {
		t.Fatal(err)
	}
	for _, table := range ofClub {
		change := ""
		if more := other[table]; more != "" {
			change = ", " + more
		}
		for _, q := range []string{
			fmt.Sprintf("create temp table t_%s as select * from %s where club_id = %d", table, table, of),
			fmt.Sprintf("update t_%s set club_id = %d%s", table, id, change),
			fmt.Sprintf("insert into %s select * from t_%s", table, table),
		} {
			if _, err := conn.Exec(ctx, q); err != nil {
				t.Fatalf("%s: %v", q, err)
			}
		}
	}
	return id
}

// remove deletes all that a club has.
func remove(t *testing.T, url string, c game.ClubID) {
	t.Helper()
	for i := len(ofClub) - 1; i >= 0; i-- {
		storetest.Exec(t, url, "delete from "+ofClub[i]+" where club_id = $1", c)
	}
}

// dump is all that a club has, by table.
func dump(t *testing.T, url string, c game.ClubID) map[string]any {
	t.Helper()
	var parts []string
	for _, table := range ofClub {
		const rows = `'%[1]s', (select jsonb_agg(to_jsonb(x) order by to_jsonb(x)::text)::text from %[1]s x
			where club_id = $1)`
		parts = append(parts, fmt.Sprintf(rows, table))
	}
	return scan[map[string]any](t, url, "select jsonb_build_object("+strings.Join(parts, ", ")+")", c)
}

// full is a club in which there is something of everything that a query looks for.
func full(t *testing.T, s *store.Store, url string, now time.Time) storetest.Fixture {
	t.Helper()
	s.SendMail()
	f := storetest.Club(t, s, "here")
	must1(t, s.AskAddress(ctx, f.Guardian, "una@home.example", true))
	storetest.Exec(t, url, `update addresses set confirmed_at = now()`)
	storetest.Exec(t, url, `insert into letters (club_id, to_id, kind, week, at) values ($1, $2, 'weekly', '2026-01-05', now())`,
		f.Coach.Club, f.Guardian.Person)
	task := f.Finish(t, s, practice.Test, 2)
	f.Played(t, s, task, 0, 1, practice.NotWon, now.Add(-2*time.Hour), 60)
	f.Played(t, s, task, 1, 1, practice.Clean, now.Add(-time.Hour), 60)
	storetest.Exec(t, url, `update games set failed_stage = 'mate', hold = start_no = 1
		where club_id = $1 and ended_at is not null`, f.Coach.Club)
	const bell = `insert into bells values ($1, $2, 'KRK', 'mate', '2026-10-05')`
	storetest.Exec(t, url, bell, f.Coach.Club, f.Student.Person)
	append1(t, s, f, practice.Act{Seq: 1, Kind: practice.Helped, Client: "h", By: f.Student.Person,
		At: now.Add(-time.Minute), Took: 3000})
	must1(t, second(s.Recheck(ctx, f.Student, rookMate, storetest.FinishStart, "longest")))
	must1(t, second(s.Part(ctx, f.Student, task, storetest.FinishStart)))
	must1(t, s.BeginPlacement(ctx, f.Coach, f.Student.Person, []progress.PickedTask{
		{Code: "one", FEN: storetest.FinishStart, Ending: "KRK", Target: "mate", Budget: 4},
		{Code: progress.Question, FEN: storetest.FinishStart, Ending: "KRK", Budget: 4},
		{Code: "KRK", FEN: storetest.FinishStart, Ending: "KRK", Target: "mate", Budget: 4},
	}))
	must1(t, second(s.PlayTask(ctx, f.Student)))
	must1(t, second(s.KeepDrill(ctx, f.Coach, f.Drill, form("kept"))))
	must1(t, second(s.DraftTerm(ctx, f.Coach, club.TermReport{Student: f.Student.Person, Title: "Autumn", From: now, To: now})))
	must1(t, s.AskExport(ctx, f.Coach, f.Student.Person))
	w, err := s.WriteExport(ctx, f.Coach.Club, 1)
	must1(t, err)
	must1(t, w.Close())
	storetest.Exec(t, url, `update clubs set keep_games = 6, keep_left = 2`)
	gone, err := s.AddStudent(ctx, f.Coach, club.NewStudent{Name: "Fourth", ConsentBy: "Ann", ConsentOn: now, Consent: true})
	must1(t, err)
	storetest.Exec(t, url, `update people set archived_at = now() - interval '45 days' where id = $1`, gone.Student.ID)

	const kept = `insert into kept_trials values ($1, 9000, $2, now() - interval '3 years', 'KQK', 'mate', 'mate', 7, 'clean')`
	storetest.Exec(t, url, kept, f.Coach.Club, f.Student.Person)
	must1(t, s.KeepNotice(ctx, f.Coach, club.Notice{For: club.ForChild, Body: "What is kept"}))
	third, err := s.AddStudent(ctx, f.Coach, club.NewStudent{Name: "Third", ConsentBy: "Ann", ConsentOn: now, Consent: true})
	must1(t, err)
	must1(t, s.NoteWithdrawal(ctx, f.Coach, third.Student.ID, 0, "Grandfather", now))
	session, _, err := s.SignIn(ctx, f.Coach)
	must1(t, err)
	must1(t, second(s.ReplaceCard(ctx, f.Coach, f.Student.Person, store.Sent{Session: session})))
	must1(t, second(s.ReplaceLink(ctx, f.Coach, f.Student.Person, f.Guardian.Person, store.Sent{Session: session})))
	storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, stuck, said) values ($1, $2, now(), true, '{}')
		on conflict (club_id, student_id) do update set stuck = true`, f.Coach.Club, f.Student.Person)
	group := people(t, s, f, now)
	storetest.Exec(t, url, `insert into sheets (club_id, by_id, session, box, at) values ($1, $2, $3, 'box', now())`,
		f.Coach.Club, f.Coach.Person, session.Hash())
	storetest.Exec(t, url, `insert into sheet_cards (club_id, sheet_id, student_id, replaces) select club_id, id, $2, false
		from sheets where club_id = $1`, f.Coach.Club, f.Student.Person)
	plan, err := s.MakePlan(ctx, f.Coach, club.TermPlan{Title: "Autumn", From: now, Weeks: 4}, 0)
	must1(t, err)
	must1(t, second(s.PutInPlan(ctx, f.Coach, plan, club.PlanCell{Week: 1, Group: group, Ending: "KRK"})))
	must1(t, second(s.GivePlan(ctx, f.Coach, plan, 1, club.Span{Opens: now}, []store.Planned{{Group: group, Drill: f.Drill.ID,
		Students: []game.PersonID{f.Student.Person}}})))
	must1(t, s.Later(ctx, f.Coach, store.Line{Kind: progress.LineCard, Subject: int64(f.Student2.Person), Evidence: 1}))
	must1(t, s.KeepOwn(ctx, f.Student, club.Own{Pace: club.SlowPace, Scheme: club.DarkScheme}))
	desk(t, s, f)
	until := now.Add(48 * time.Hour)
	joined(t, s, f, "per", &until, group)
	must1(t, second(s.Invite(ctx, f.Coach, nil, nil)))
	storetest.Exec(t, url, `insert into watched values ($1, $2, $3, true, now())`, f.Coach.Club, f.Game, f.Coach.Person)
	storetest.Exec(t, url, `insert into factors values ($1, $2, 'sealed', 7, now())`, f.Coach.Club, f.Coach2.Person)
	storetest.Exec(t, url, `insert into recoveries values ($1, $2, 'hash')`, f.Coach.Club, f.Coach2.Person)
	must1(t, second(s.ResetCoach(ctx, f.Coach, f.Coach2.Person, store.ResetPassword)))
	must1(t, second(s.MakeFeed(ctx, f.Coach, store.Sent{Session: session})))
	must1(t, s.AskErasure(ctx, f.Coach, f.Student2.Person))
	storetest.Exec(t, url, `update assignments set due_on = $2 where club_id = $1`, f.Coach.Club, now.AddDate(0, 0, 7))
	return f
}

// desk adds a welfare officer with a concern, a reason to read games and somebody who is
// barred.
func desk(t *testing.T, s *store.Store, f storetest.Fixture) {
	t.Helper()
	a := officer(t, s, f.Coach, "Sol")
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, "first"))
	must1(t, s.Tell(ctx, f.Guardian2, f.Student2.Person, "second"))
	rows, err := s.Concerns(ctx, a)
	must1(t, err)
	must1(t, s.OpenConcern(ctx, a, rows[1].ID))
	must1(t, s.NoteConcern(ctx, a, rows[1].ID, "A note"))
	must1(t, second(s.GiveReason(ctx, a, rows[1].ID, "To see")))
	third, err := s.AddGuardian(ctx, f.Coach, f.Student.Person, "Barred one")
	must1(t, err)
	who, err := s.Open(ctx, third.Token)
	must1(t, err)
	must1(t, s.Bar(ctx, a, who.Person, "For a test"))
}

// officerOf is the first welfare officer of a club; nobody where there is none.
func officerOf(s *store.Store, c game.ClubID) game.Actor {
	rows, err := s.Staff(ctx, c)
	for _, r := range rows {
		if err != nil {
			break
		}
		if r.Role == game.Welfare {
			return game.Actor{Club: c, Person: r.ID, Role: game.Welfare, Name: r.Name}
		}
	}
	return game.Actor{}
}

// people adds a group with a student in it, holidays, and a change that can be undone.
func people(t *testing.T, s *store.Store, f storetest.Fixture, now time.Time) game.GroupID {
	t.Helper()
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	must1(t, err)
	must1(t, second(s.KeepGroup(ctx, f.Coach, "Thursday")))
	must1(t, second(s.PutInGroup(ctx, f.Coach, group, []game.PersonID{f.Student.Person})))
	c, err := s.Settings(ctx, f.Coach.Club)
	must1(t, err)
	c.Holidays = []club.Holiday{{From: now, To: now, Name: "Market day"}}
	must1(t, second(s.KeepSettings(ctx, f.Coach, c)))
	return group
}

// groupOf finds a group that people has added; its id is the same in the twin.
func groupOf(s *store.Store, f storetest.Fixture, c game.ClubID, name string) game.GroupID {
	rows, err := s.Groups(ctx, in(c, f.Coach))
	for _, g := range rows {
		if err == nil && strings.HasSuffix(g.Name, name) {
			return g.ID
		}
	}
	return 0
}

// form is a form that makes something once.
func form(id string) store.Sent { return store.Sent{Form: []byte(id)} }

func must1(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// in is the same person in another club.
func in(c game.ClubID, a game.Actor) game.Actor {
	a.Club = c
	return a
}

// reads is what each reading query says to a club, by name.
func reads(t *testing.T, s *store.Store, f storetest.Fixture, c game.ClubID) map[string]string {
	t.Helper()
	p, out := f.Student.Person, map[string]string{}
	say := func(name string) func(any, error) {
		return func(v any, err error) {
			text, bad := json.Marshal(v)
			if err != nil || bad != nil {
				t.Errorf("%s: %v, %v", name, err, bad)
			}
			out[name] = string(text)
		}
	}
	say("Club")(any1(s.Club(ctx, c)))
	say("Setup")(any1(s.Setup(ctx, c, f.Game)))
	say("Load")(any1(s.Load(ctx, c, f.Game, 0)))
	say("Game")(any1(s.Game(ctx, c, f.Game)))
	say("Games")(any1(s.Games(ctx, in(c, f.Coach), p, store.GamesAsk{})))
	say("Games by stage")(any1(s.Games(ctx, in(c, f.Coach), p, store.GamesAsk{Ending: "KRK", Stage: "mate"})))
	say("Games of a drill")(any1(s.Games(ctx, in(c, f.Coach), p, store.GamesAsk{Shelf: int64(f.Drill.ID)})))
	say("Drill")(any1(s.Drill(ctx, c, f.Drill.ID)))
	say("Shelf")(any1(s.Shelf(ctx, in(c, f.Coach), store.ShelfAsk{})))
	say("Given")(any1(s.Given(ctx, in(c, f.Coach), f.Task)))
	say("Tasks")(any1(s.Tasks(ctx, in(c, f.Student))))
	shelf, err := s.Shelf(ctx, in(c, f.Coach), store.ShelfAsk{})
	must1(t, err)
	for _, d := range shelf {
		say(fmt.Sprint("DrillProgress of ", d.ID))(any1(s.DrillProgress(ctx, in(c, f.Coach), d.ID)))
	}
	say("HoldsView")(any1(s.HoldsView(ctx, in(c, f.Coach), store.StageAsk{})))
	say("Failures")(any1(s.Failures(ctx, in(c, f.Coach), 0)))
	say("Roster")(any1(s.Roster(ctx, c, store.RosterAsk{})))
	say("StudentFile")(any1(s.StudentFile(ctx, c, p)))
	five := slices.Repeat([]progress.Trial{{Game: f.Game}}, club.TestGames)
	say("Watched")(any1(s.Watched(ctx, c, []progress.Sitting{{Games: five}})))
	say("Wards")(any1(s.Wards(ctx, in(c, f.Guardian))))
	say("LatestPlacement")(any1(s.LatestPlacement(ctx, c, p)))
	say("SinceLooked")(any1(s.SinceLooked(ctx, in(c, f.Coach), nil)))
	say("Nexts")(any1(s.Nexts(ctx, in(c, f.Coach), 0)))
	say("NextGiven")(any1(s.NextGiven(ctx, in(c, f.Coach), f.Task)))
	say("NotGiven")(any1(s.NotGiven(ctx, in(c, f.Coach), f.Task, []game.PersonID{p, f.Student2.Person})))
	say("TermPlans")(any1(s.TermPlans(ctx, c)))
	say("SetFor")(any1(s.SetFor(ctx, c, p, 50)))
	say("SetGrid")(any1(s.SetGrid(ctx, in(c, f.Coach), 0, true)))
	say("Groups")(any1(s.Groups(ctx, in(c, f.Coach))))
	say("Holidays")(any1(s.Holidays(ctx, c)))
	say("Settings")(any1(s.Settings(ctx, c)))
	say("Coaches")(any1(s.Coaches(ctx, c)))
	say("Feed")(any1(s.Feed(ctx, in(c, f.Coach))))
	for _, who := range []game.Actor{f.Coach, f.Guardian} {
		say("DueDays of a " + string(who.Role))(any1(s.DueDays(ctx, in(c, who), time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC))))
	}
	say("Address")(any1(s.Address(ctx, in(c, f.Guardian))))
	say("Own")(any1(s.Own(ctx, in(c, f.Student))))
	say("KinOf")(any1(s.KinOf(ctx, in(c, f.Coach), f.Student2.Person, f.Card.Student.Number)))
	say("TermReports")(any1(s.TermReports(ctx, in(c, f.Coach), p)))
	say("TermReport")(any1(s.TermReport(ctx, in(c, f.Coach), p, 1)))
	say("Erasing")(any1(s.Erasing(ctx, c, f.Student2.Person)))
	say("Exports")(any1(s.Exports(ctx, in(c, f.Coach))))
	say("Export")(any1(s.Export(ctx, c, 1)))
	say("DocumentOf")(any1(s.DocumentOf(ctx, c, p, f.Coach.Person)))
	say("Keeping")(any1(s.Keeping(ctx, c)))
	say("GoingSoon")(any1(s.GoingSoon(ctx, c)))
	say("ConsentOf")(any1(s.ConsentOf(ctx, c, p)))
	say("TakenBack")(any1(s.TakenBack(ctx, c)))
	say("Notice")(any1(s.Notice(ctx, c, club.ForChild)))
	say("NoticeVersions")(any1(s.NoticeVersions(ctx, c)))
	say("Notices")(any1(s.Notices(ctx, in(c, f.Coach))))
	say("Barred")(any1(s.Barred(ctx, in(c, f.Coach))))
	if officer := officerOf(s, c); officer.Person != 0 {
		say("OfficerMail")(any1(s.OfficerMail(ctx, officer)))
		say("Concerns")(any1(s.Concerns(ctx, officer)))
		concerns, err := s.Concerns(ctx, officer)
		must1(t, err)
		say("Concern")(any1(s.Concern(ctx, officer, concerns[len(concerns)-1].ID)))
		say("ReasonNow")(any1(s.ReasonNow(ctx, officer, p)))
		say("Linked")(any1(s.Linked(ctx, officer)))
		say("Barrable")(any1(s.Barrable(ctx, officer, f.Coach2.Person)))
		rows, _, err := s.Audit(ctx, officer, store.NotedAsk{Who: "child of"})
		say("Audit")(rows, err)
	}
	say("StudentNames")(any1(s.StudentNames(ctx, c)))
	say("Roster of a group")(any1(s.Roster(ctx, c, store.RosterAsk{Group: groupOf(s, f, c, "Tuesday")})))
	say("StageTable")(any1(s.StageTable(ctx, in(c, f.Coach), store.StageAsk{Group: groupOf(s, f, c, "Tuesday")})))
	say("DrillsPlayed")(any1(s.DrillsPlayed(ctx, in(c, f.Coach))))
	say("Playing")(any1(s.Playing(ctx, in(c, f.Coach))))
	say("a form sent again")(any1(s.KeepDrill(ctx, in(c, f.Coach), f.Drill, form("kept"))))
	records, err := s.Records(ctx, c)
	must1(t, err)
	for i, of := range records {
		say(fmt.Sprint("Records ", i))(flat(of), nil)
	}
	for part := range len(everything) {
		of, err := s.RecordOf(ctx, c, p, everything[part])
		say(fmt.Sprint("RecordOf, part ", part))(flat(of), err)
	}
	return out
}

func any1[T any](v T, err error) (any, error) { return v, err }

// flat is a record as text: a map with stages as keys cannot be written as JSON.
func flat(of progress.Record) any {
	check, _ := json.Marshal(of.Placement)
	tasks, _ := json.Marshal([]any{of.Tasks, of.Tries})
	of.Placement, of.Tasks, of.Tries = nil, nil, nil
	of.Now = of.Now.UTC()
	return fmt.Sprintf("%+v %s %s", of, tasks, check)
}

// TestTwinHasEveryTable: a table with a club's rows that the twin has not fails here.
func TestTwinHasEveryTable(t *testing.T) {
	t.Parallel()
	_, url := open(t)
	const q = `select string_agg(c.table_name, ', ' order by c.table_name)
		from information_schema.columns c
		join information_schema.tables t using (table_schema, table_name)
		where c.table_schema = 'public' and c.column_name = 'club_id' and t.table_type = 'BASE TABLE'
			and not c.table_name = any($1::text[])`
	if missed := scan[*string](t, url, q, ofClub); missed != nil {
		t.Errorf("the twin has no %s", *missed)
	}
}

// TestTwinsReadTheirOwn: of two clubs whose rows have the same ids each reads its own: what
// it would read if it were alone.
func TestTwinsReadTheirOwn(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Now().Truncate(time.Second)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := full(t, s, url, now)
	alone := reads(t, s, f, f.Coach.Club)
	second := twin(t, url, f.Coach.Club)
	first, its := reads(t, s, f, f.Coach.Club), reads(t, s, f, second)
	remove(t, url, f.Coach.Club)
	itsAlone := reads(t, s, f, second)
	for name, want := range alone {
		switch {
		case first[name] != want:
			t.Errorf("%s: beside its twin a club reads %s, alone %s", name, first[name], want)
		case its[name] != itsAlone[name]:
			t.Errorf("%s: beside the first the twin reads %s, alone %s", name, its[name], itsAlone[name])
		case want == itsAlone[name]:
			t.Errorf("%s: both clubs read %s, so this shows nothing", name, want)
		}
	}
}

// TestTwinsWriteTheirOwn: of two clubs whose rows have the same ids each changes its own
// alone, whichever of the two was there first.
func TestTwinsWriteTheirOwn(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Now().Truncate(time.Second)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := full(t, s, url, now)
	one, two := f.Coach.Club, twin(t, url, f.Coach.Club)
	for _, c := range [][2]game.ClubID{{one, two}, {two, one}} {
		for _, w := range writes {
			own, others := dump(t, url, c[0]), dump(t, url, c[1])
			if err := w.do(s, f, c[0]); err != nil {
				t.Errorf("%s in club %d: %v", w.name, c[0], err)
			}
			for table, now := range dump(t, url, c[1]) {
				if now != others[table] {
					t.Errorf("%s in club %d changed %s of club %d", w.name, c[0], table, c[1])
				}
			}
			if maps.Equal(own, dump(t, url, c[0])) {
				t.Errorf("%s in club %d changed nothing", w.name, c[0])
			}
		}
	}
}
