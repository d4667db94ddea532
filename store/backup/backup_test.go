package backup_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"drover/game/club"
	"drover/migrations"
	"drover/store"
	"drover/store/backup"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

var ctx = context.Background()

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

func must(t *testing.T, errs ...error) {
	t.Helper()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
}

var key = []byte("a key of thirty-two bytes or more")

// written is the backup of a club, as a file, with the address of the club.
func written(t *testing.T) (name, url string, f storetest.Fixture) {
	t.Helper()
	s := storetest.New(t, time.Now)
	f = storetest.Club(t, s, "kept")
	url = storetest.Address(s)
	return write(t, url), url, f
}

func write(t *testing.T, url string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "club.drover")
	file, err := os.Create(name)
	must(t, err)
	defer file.Close()
	must(t, backup.Write(ctx, file, backup.Source{URL: url, Key: key, Program: "test", At: time.Now()}))
	return name
}

func open(t *testing.T, name string) (*backup.File, error) {
	t.Helper()
	file, err := os.Open(name)
	must(t, err)
	t.Cleanup(func() { file.Close() })
	return backup.Open(file)
}

func rows(t *testing.T, url string) []backup.Table {
	t.Helper()
	conn, err := pgx.Connect(ctx, url)
	must(t, err)
	defer conn.Close(ctx)
	tables, err := backup.Rows(ctx, conn)
	must(t, err)
	return tables
}

// told is what a query says.
func told(t *testing.T, url, query string) (text string) {
	t.Helper()
	conn, err := pgx.Connect(ctx, url)
	must(t, err)
	defer conn.Close(ctx)
	must(t, conn.QueryRow(ctx, query).Scan(&text))
	return text
}

// TestThereAndBack: what is restored into an empty database has the same rows, but for the
// sessions, and numbers go on from where they were. A second restore into it is refused.
func TestThereAndBack(t *testing.T) {
	t.Parallel()
	name, from, f := written(t)
	b, err := open(t, name)
	must(t, err)
	if b.Clubs != 1 || b.People < 5 || b.Schema != migrations.Latest || !bytes.Equal(b.Key, key) {
		t.Errorf("the manifest: %+v", b.Manifest)
	}
	to := storetest.URL(t)
	must(t, store.Vacant(ctx, to), b.Restore(ctx, to, store.ErasedList{}, func(int) {}))
	const all = `select md5(string_agg(x::text, '' order by x::text)) from (select to_jsonb(p) from people p union all
		select to_jsonb(g) from games g union all select to_jsonb(a) from acts a union all select to_jsonb(d) from drills d union all
		select to_jsonb(k) from keys k where kind not in ('session', 'half')) t(x)`
	if was, is := told(t, from, all), told(t, to, all); was != is {
		t.Errorf("the rows were %s and are %s", was, is)
	}
	if n := told(t, to, `select count(*)::text from keys where kind = 'session'`); n != "0" {
		t.Errorf("%s sessions came back", n)
	}
	const next = `with c as (insert into people (club_id, role, name) select club_id, 'guardian', 'Next' from people limit 1 returning id)
		select id::text from c`
	if was, is := told(t, from, next), told(t, to, next); was != is {
		t.Errorf("the next person's number is %s and was %s", is, was)
	}
	if err := store.Vacant(ctx, to); err == nil || !strings.Contains(err.Error(), "holds a club already") {
		t.Errorf("a second restore: %v", err)
	}
	clubs, err := backup.Clubs(ctx, to)
	if err != nil || len(clubs) != 1 || clubs[0].Students != 2 {
		t.Errorf("%+v, %v of %v", clubs, err, f.Coach.Club)
	}
}

// TestOthersOpenIt: the archive is one that unzip, sha256sum and pg_restore of the system read.
func TestOthersOpenIt(t *testing.T) {
	t.Parallel()
	name, _, _ := written(t)
	dir := t.TempDir()
	z, err := zip.OpenReader(name)
	must(t, err)
	defer z.Close()
	var parts []string
	for _, part := range z.File {
		parts = append(parts, part.Name)
		r, err := part.Open()
		must(t, err)
		text, err := io.ReadAll(r)
		must(t, err, os.WriteFile(filepath.Join(dir, part.Name), text, 0o600))
	}
	if !slices.Equal(parts, []string{"manifest.json", "dump", "key", "erased", "sha256"}) {
		t.Errorf("the parts are %v", parts)
	}
	sums := exec.Command("sha256sum", "-c", "sha256")
	sums.Dir = dir
	if out, err := sums.CombinedOutput(); err != nil {
		t.Errorf("sha256sum: %v: %s", err, out)
	}
	if out, err := exec.Command("pg_restore", "--list", filepath.Join(dir, "dump")).CombinedOutput(); err != nil ||
		!strings.Contains(string(out), "TABLE DATA public acts") || strings.Contains(string(out), "river") {
		t.Errorf("pg_restore --list: %v: %s", err, out)
	}
}

// TestRefusals of files that are no good, wherever they are cut or changed.
func TestRefusals(t *testing.T) {
	t.Parallel()
	name, _, _ := written(t)
	whole, err := os.ReadFile(name)
	must(t, err)
	bad := func(text []byte, says string) {
		t.Helper()
		name := filepath.Join(t.TempDir(), "bad")
		must(t, os.WriteFile(name, text, 0o600))
		if _, err := open(t, name); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%d bytes: %v", len(text), err)
		}
	}
	bad(nil, "no backup of Drover")
	bad([]byte("a letter to a friend"), "no backup of Drover")
	for _, cut := range []int{len(begins), len(whole) / 3, len(whole) - 1} {
		bad(whole[:cut], "cut short")
	}
	for _, part := range []string{`"drover": "`, "PGDMP", string(key), "  dump\n"} {
		at := bytes.Index(whole, []byte(part))
		changed := bytes.Clone(whole)
		changed[at+1] ^= 1
		bad(changed, "changed after it was written")
	}
	bad(again(t, whole, `"schema": `, `"schema": 9`), "of a later Drover")
	bad(again(t, whole, `"format": `, `"format": 9`), "of a later Drover")
	bad(again(t, whole, `"drover": "test"`, `"rover": "test"`), "no backup of Drover")
}

const begins = "PK\x03\x04"

// again is the archive with another manifest, and with sums that are right for it.
func again(t *testing.T, whole []byte, old, fresh string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	must(t, err)
	var out bytes.Buffer
	w, sums := zip.NewWriter(&out), ""
	for _, part := range z.File {
		r, err := part.Open()
		must(t, err)
		text, err := io.ReadAll(r)
		must(t, err)
		if part.Name == "manifest.json" {
			text = bytes.Replace(text, []byte(old), []byte(fresh), 1)
		}
		if part.Name == "sha256" {
			text = []byte(sums)
		}
		sums += fmt.Sprintf("%x  %s\n", sha256.Sum256(text), part.Name)
		to, err := w.Create(part.Name)
		must(t, err)
		_, err = to.Write(text)
		must(t, err)
	}
	must(t, w.Close())
	return out.Bytes()
}

// TestHalfARestore is served by nobody, and is begun anew.
func TestHalfARestore(t *testing.T) {
	t.Parallel()
	name, _, _ := written(t)
	b, err := open(t, name)
	must(t, err)
	to := storetest.URL(t)
	must(t, b.Restore(ctx, to, store.ErasedList{}, func(int) {}))
	storetest.Exec(t, to, "create table "+store.Unfinished+" ()") // as if the last step had not been reached
	if err := store.Migrate(ctx, to); err == nil || !strings.Contains(err.Error(), "Run drover restore again") {
		t.Errorf("half a restore is served: %v", err)
	}
	must(t, store.Vacant(ctx, to), b.Restore(ctx, to, store.ErasedList{}, func(int) {}), store.Migrate(ctx, to))
}

// TestRowsThatAddUpToSomethingElse: what was restored is held against the manifest.
func TestRowsThatAddUpToSomethingElse(t *testing.T) {
	t.Parallel()
	name, _, _ := written(t)
	b, err := open(t, name)
	must(t, err)
	b.Tables[0].Hash += "1"
	to := storetest.URL(t)
	if err := b.Restore(ctx, to, store.ErasedList{}, func(int) {}); err == nil || !strings.Contains(err.Error(), "add up to something else") {
		t.Errorf("it is not noticed: %v", err)
	}
	if err := store.Migrate(ctx, to); err == nil {
		t.Error("it is served")
	}
}

// TestASiteThatRuns is not restored into, nor is one that ran a moment ago without a goodbye.
func TestASiteThatRuns(t *testing.T) {
	t.Parallel()
	to := storetest.URL(t)
	storetest.Exec(t, to, `insert into nodes (id) values ('other')`)
	if err := store.Vacant(ctx, to); err == nil || !strings.Contains(err.Error(), "a Drover runs") {
		t.Errorf("a running site: %v", err)
	}
	storetest.Exec(t, to, `update nodes set seen_at = now() - interval '16 seconds'`)
	must(t, store.Vacant(ctx, to))
}

// TestWhatWaitedForAJob: mails and exports that were on their way when the backup was made are
// so no more, since the queue is not in it. A concern that waits unopened is mailed about again,
// and an export can be asked for.
func TestWhatWaitedForAJob(t *testing.T) {
	t.Parallel()
	from := storetest.New(t, time.Now)
	f := storetest.Club(t, from, "waits")
	from.SendMail()
	link, err := from.InviteOfficer(ctx, f.Coach)
	must(t, err)
	_, err = from.Join(ctx, link, club.NewCoach{Name: "Sol", Email: "sol@club.example", Password: "a long sentence for sol"})
	must(t, err, from.Tell(ctx, f.Student, f.Student.Person, ""), from.AskExport(ctx, f.Guardian, f.Student.Person),
		from.AskAddress(ctx, f.Guardian, "una@home.example", true))
	url := storetest.Address(from)
	storetest.Exec(t, url, `insert into letters (club_id, to_id, kind, week, at) values ($1, $2, 'weekly', '2026-11-23', now())`,
		f.Guardian.Club, f.Guardian.Person)
	b, err := open(t, write(t, url))
	must(t, err)
	to := storetest.URL(t)
	must(t, b.Restore(ctx, to, store.ErasedList{}, func(int) {}))
	const letters = `select string_agg(kind || ' ' || coalesce(outcome, '-'), ', ' order by id) from letters`
	if got := told(t, to, letters); got != "concern dropped, confirm dropped, weekly unknown" {
		t.Errorf("the mails: %s", got)
	}
	s, err := store.Open(ctx, to, time.Now)
	must(t, err)
	defer s.Close()
	s.SendMail()
	must(t, s.AskExport(ctx, f.Guardian, f.Student.Person), s.PutDueLetters(ctx), s.PutDueLetters(ctx))
	const jobs = `select string_agg(kind || ' ' || (args->>'letter' is not null), ', ' order by id) from river.river_job`
	if got := told(t, to, jobs); got != "export false, letter true" {
		t.Errorf("the jobs: %s", got)
	}
}

// TestOlderSchema: a backup of one step before is restored, and migrated.
func TestOlderSchema(t *testing.T) {
	t.Parallel()
	_, url, _ := written(t)
	down(t, url)
	name := write(t, url)
	was := rows(t, url)
	b, err := open(t, name)
	must(t, err)
	if b.Schema != migrations.Latest-1 || !slices.Equal(b.Tables, was) {
		t.Errorf("step %d", b.Schema)
	}
	to := storetest.URL(t)
	must(t, b.Restore(ctx, to, store.ErasedList{}, func(int) {}), store.Migrate(ctx, to))
	if got := told(t, to, `select version::text from schema_migrations`); got != fmt.Sprint(migrations.Latest) {
		t.Errorf("the schema is at step %s", got)
	}
}

// down undoes the last step of the schema.
func down(t *testing.T, url string) {
	t.Helper()
	names, err := filepath.Glob(fmt.Sprintf("../../migrations/%04d_*.down.sql", migrations.Latest))
	must(t, err)
	text, err := os.ReadFile(names[0])
	must(t, err)
	storetest.Exec(t, url, string(text))
	storetest.Exec(t, url, `update schema_migrations set version = version - 1`)
}
