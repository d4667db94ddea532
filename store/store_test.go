package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

var ctx = context.Background()

// open makes a store and keeps the database's address.
func open(t *testing.T) (*store.Store, string) {
	t.Helper()
	url := storetest.URL(t)
	s, err := store.Open(ctx, url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, url
}

func scan[T any](t *testing.T, url, query string, args ...any) T {
	t.Helper()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	var v T
	if err := conn.QueryRow(ctx, query, args...).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

func append1(t *testing.T, s *store.Store, f storetest.Fixture, a practice.Act) bool {
	t.Helper()
	set := f.Setup(t, s)
	_, won, err := s.Append(ctx, f.Coach.Club, set, a, nil)
	if err != nil {
		t.Fatal(err)
	}
	return won
}

// TestOneNumberOneAct: of many acts that want the same number at once, from two
// nodes, one wins, and it is the one that the log holds.
func TestOneNumberOneAct(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	other, err := store.Open(ctx, url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	f := storetest.Club(t, s, "race")
	set := f.Setup(t, s)
	const rounds, tabs = 40, 6
	for seq := 1; seq <= rounds; seq++ {
		var wg sync.WaitGroup
		won := make([]bool, tabs)
		for i := range tabs {
			wg.Add(1)
			go func() {
				defer wg.Done()
				node := []*store.Store{s, other}[i%2]
				var err error
				_, won[i], err = node.Append(ctx, f.Coach.Club, set, practice.Act{Seq: seq, Kind: practice.Helped,
					Client: fmt.Sprint(seq, "-", i)}, nil)
				if err != nil {
					t.Error(err)
				}
			}()
		}
		wg.Wait()
		held := scan[string](t, url, "select client_id from acts where seq = $1", seq)
		for i, w := range won {
			if w != (held == fmt.Sprint(seq, "-", i)) {
				t.Fatalf("act %d: tab %d was told %v, the log holds %s", seq, i, w, held)
			}
		}
	}
}

// TestBadRowFailsAlone: an act for a game that does not exist fails, and the
// acts that went out in the same transaction are written all the same.
func TestBadRowFailsAlone(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "alone")
	set, _ := s.Setup(ctx, f.Coach.Club, f.Game)
	var wg sync.WaitGroup
	for seq := 1; seq <= 50; seq++ {
		wg.Add(2)
		go func() {
			defer wg.Done()
			act := practice.Act{Seq: seq, Kind: practice.Helped, Client: "good"}
			if _, won, err := s.Append(ctx, f.Coach.Club, set, act, nil); err != nil || !won {
				t.Errorf("good act %d: %v, %v", seq, won, err)
			}
		}()
		go func() {
			defer wg.Done()
			bad := set
			bad.Game = 1 << 40
			act := practice.Act{Seq: seq, Kind: practice.Helped}
			if _, _, err := s.Append(ctx, f.Coach.Club, bad, act, nil); game.KindOf(err) != game.Missing {
				t.Errorf("an act for no game: %v", err)
			}
		}()
	}
	wg.Wait()
	acts, err := s.Load(ctx, f.Coach.Club, f.Game, 0)
	if err != nil || len(acts) != 50 {
		t.Errorf("%d acts, %v", len(acts), err)
	}
}

// TestKilledBackends kills database connections again and again while acts are
// appended: what was acknowledged is there, nothing twice, no gap.
func TestKilledBackends(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "killed")
	set, _ := s.Setup(ctx, f.Coach.Club, f.Game)
	admin, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(ctx)
	acked := 0
	for seq := 1; seq <= 120; seq++ {
		if seq%10 == 0 {
			const kill = "select pg_terminate_backend(pid) from pg_stat_activity " +
				"where datname = current_database() and pid <> pg_backend_pid()"
			if _, err := admin.Exec(ctx, kill); err != nil {
				t.Fatal(err)
			}
		}
		for {
			_, won, err := s.Append(ctx, f.Coach.Club, set, practice.Act{Seq: seq, Kind: practice.Helped,
				Client: fmt.Sprint(seq)}, nil)
			if err == nil && won {
				acked++
				break
			}
			if err == nil { // an earlier attempt had committed: the log has it
				break
			}
			if game.KindOf(err) != game.Away {
				t.Fatal(err)
			}
		}
	}
	if n := scan[int](t, url, "select count(distinct client_id) from acts"); n != 120 ||
		scan[int](t, url, "select max(seq) from acts") != 120 {
		t.Errorf("%d acts of 120, %d acknowledged at once", n, acked)
	}
}

// TestClubsAreApart: with the ids of another club every read and write says
// that there is nothing.
func TestClubsAreApart(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f, g := storetest.Club(t, s, "here"), storetest.Club(t, s, "there")
	for name, err := range map[string]error{
		"setup":    second(s.Setup(ctx, f.Coach.Club, g.Game)),
		"game":     second(s.Game(ctx, f.Coach.Club, g.Game)),
		"student":  second(s.StudentFile(ctx, f.Coach.Club, g.Student.Person)),
		"drill":    second(s.Drill(ctx, f.Coach.Club, g.Drill.ID)),
		"card":     second(s.ReplaceCard(ctx, f.Coach, g.Student.Person)),
		"guardian": second(s.AddGuardian(ctx, f.Coach, g.Student.Person, "Other")),
		"check":    s.BeginPlacement(ctx, f.Coach, g.Student.Person, nil),
		"revoke":   s.RevokeGuardian(ctx, f.Coach, g.Student.Person, g.Guardian.Person),
		"assign":   second(s.Assign(ctx, f.Coach, g.Drill.ID, []game.PersonID{f.Student.Person}, nil)),
		"assignee": second(s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{g.Student.Person}, nil)),
		"start":    second(s.StartGame(ctx, f.Student, g.Task)),
		"again":    second(s.Again(ctx, f.Student, g.Game)),
		"link":     second(s.ReplaceLink(ctx, f.Coach, g.Student.Person, g.Guardian.Person)),
	} {
		if game.KindOf(err) != game.Missing {
			t.Errorf("%s with the other club's id: %v", name, err)
		}
	}
	if r, err := s.Roster(ctx, f.Coach.Club, store.RosterAsk{}); err != nil || len(r.Rows) != 2 ||
		r.Rows[0].ID != f.Student.Person || r.Rows[1].ID != f.Student2.Person {
		t.Errorf("roster %v, %v", r.Rows, err)
	}
	if games, err := s.Games(ctx, f.Coach, g.Student.Person, store.GamesAsk{}); err != nil || len(games.Rows) != 0 {
		t.Errorf("games %v, %v", games, err)
	}
	if _, err := s.Open(ctx, g.Link); err != nil {
		t.Errorf("the other club's link stopped: %v", err)
	}
}

func second[T any](_ T, err error) error { return err }

// TestSecretsAreHashedOnly searches every column of the dumped database for
// the secrets that were given out.
func TestSecretsAreHashedOnly(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "secret")
	session, _, err := s.SignIn(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	dump := scan[string](t, url, `select
			string_agg(query_to_xml('select * from ' || quote_ident(table_name), true, false, '')::text, '')
		from information_schema.tables where table_schema = 'public'`)
	for what, secret := range map[string]string{
		"session": string(session), "card": string(f.Card.Token), "link": string(f.Link), "password": f.Password,
		"words": strings.Join(f.Card.Words[:], " "),
	} {
		if strings.Contains(dump, secret) || strings.Contains(dump, secret[2:]) {
			t.Errorf("the database holds the %s in clear", what)
		}
	}
	if !strings.Contains(dump, "$argon2id$v=19$m=19456,t=2,p=1$") || !strings.Contains(dump, f.Student.Name) {
		t.Error("the dump is not what it should be")
	}
}

// TestCards: a new card ends the old one and its sessions at once.
func TestCards(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "cards")
	number := fmt.Sprint(f.Card.Student.Number)
	words := [4]string{strings.ToUpper(f.Card.Words[0]), f.Card.Words[1] + " ", f.Card.Words[2], f.Card.Words[3]}
	if a, err := s.OpenPhrase(ctx, club.Strangers, " "+number, words); err != nil || a != f.Student {
		t.Fatalf("by words: %+v, %v", a, err)
	}
	a, err := s.Open(ctx, f.Card.Token)
	if err != nil || a != f.Student {
		t.Fatalf("by pattern: %+v, %v", a, err)
	}
	session, _, err := s.SignIn(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	fresh, err := s.ReplaceCard(ctx, f.Coach, f.Student.Person)
	if err != nil {
		t.Fatal(err)
	}
	for what, err := range map[string]error{
		"old pattern": second(s.Open(ctx, f.Card.Token)),
		"old words":   second(s.OpenPhrase(ctx, club.Strangers, number, f.Card.Words)),
		"old session": second(s.Session(ctx, session)),
	} {
		if err == nil {
			t.Errorf("the %s still works", what)
		}
	}
	if _, err := s.OpenPhrase(ctx, club.Strangers, number, fresh.Words); err != nil {
		t.Errorf("the new words: %v", err)
	}
}

// TestCardOfAnEarlierList: a card whose words have left the list since it was
// printed still opens its account, since only the hash of its words is compared.
func TestCardOfAnEarlierList(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "earlier")
	list, err := os.ReadFile("../game/club/words.txt")
	if err != nil {
		t.Fatal(err)
	}
	printed := [4]string{"vintage", "approve", "antenna", "abandon"}
	for _, w := range printed {
		if strings.Contains("\n"+string(list), "\n"+w+"\n") {
			t.Fatalf("%q is on the list, so this card shows nothing", w)
		}
	}
	number := fmt.Sprint(f.Card.Student.Number)
	hash, err := club.PhraseHash(ctx, club.Known, number, printed)
	if err != nil {
		t.Fatal(err)
	}
	storetest.Exec(t, url, `update keys set hash = $1 where kind = 'phrase' and person_id = $2`, hash, f.Student.Person)
	if a, err := s.OpenPhrase(ctx, club.Strangers, number, printed); err != nil || a != f.Student {
		t.Errorf("the card of an earlier list opens %+v: %v", a, err)
	}
}

// TestSessions: idle and old sessions end, by an injected clock (OWASP ASVS
// 5.0, 7.3.1 and 7.3.2).
func TestSessions(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	var mu sync.Mutex
	now := time.Now()
	s, err := store.Open(ctx, url, func() time.Time { mu.Lock(); defer mu.Unlock(); return now })
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	pass := func(d time.Duration) { mu.Lock(); now = now.Add(d); mu.Unlock() }
	f := storetest.Club(t, s, "session")
	session, _, err := s.SignIn(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	for range 11 { // used every 59 minutes it lasts, but not beyond twelve hours
		pass(59 * time.Minute)
		if _, err := s.Session(ctx, session); err != nil {
			t.Fatal(err)
		}
	}
	pass(70 * time.Minute)
	if _, err := s.Session(ctx, session); game.KindOf(err) != game.Missing {
		t.Errorf("after more than twelve hours: %v", err)
	}
	idle, _, _ := s.SignIn(ctx, f.Coach)
	pass(61 * time.Minute)
	if _, err := s.Session(ctx, idle); game.KindOf(err) != game.Missing {
		t.Errorf("after an idle hour: %v", err)
	}
	for _, token := range []club.Secret{"", "x", "1.", "1.short", "99999999999999999999.aaaa",
		club.NewSecret(f.Coach.Club)} {
		if _, err := s.Session(ctx, token); game.KindOf(err) != game.Missing {
			t.Errorf("token %q: %v", token, err)
		}
	}
}

// TestAppRole: the app's own role can neither change the schema nor rewrite
// what is written once (OWASP ASVS 5.0, 13.3.1).
func TestAppRole(t *testing.T) {
	t.Parallel()
	s, _, app := asApp(t, time.Now)
	f := storetest.Club(t, s, "role")
	append1(t, s, f, practice.Act{Seq: 1, Kind: practice.Helped})
	as, err := pgx.Connect(ctx, app)
	if err != nil {
		t.Fatal(err)
	}
	defer as.Close(ctx)
	for _, q := range []string{"create table x (n int)", "drop table acts", "update acts set seq = 2", "delete from acts",
		"delete from audit", "update audit set action = ''", "update schema_migrations set version = 9"} {
		if _, err := as.Exec(ctx, q); err == nil || !strings.Contains(err.Error(), "42501") {
			t.Errorf("%s: %v", q, err)
		}
	}
}

// TestMigrate: twice is as good as once; a newer and a dirty schema are refused
// with what to do.
func TestMigrate(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	if err := store.Migrate(ctx, url); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	for change, say := range map[string]string{
		"update schema_migrations set version = 999, dirty = false": "start the newer program",
		"update schema_migrations set version = 1, dirty = true":    "failed half way",
	} {
		if _, err := conn.Exec(ctx, change); err != nil {
			t.Fatal(err)
		}
		if err := store.Migrate(ctx, url); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%s: %v", change, err)
		}
	}
}

// TestAway: a database that is gone is said as such, with no internal text.
func TestAway(t *testing.T) {
	t.Parallel()
	s, err := store.Open(ctx, "postgres://nobody@/nothing?host=/nowhere", time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	_, err = s.Club(ctx, 1)
	if game.KindOf(err) != game.Away || strings.Contains(game.Saying(err), "nowhere") {
		t.Errorf("%v; said %q", err, game.Saying(err))
	}
	var why *store.NotReady
	if err := s.Ready(ctx); !errors.As(err, &why) || why.Word != store.NoDatabase {
		t.Errorf("ready: %v", err)
	}
}
