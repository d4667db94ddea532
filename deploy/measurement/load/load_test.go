package load_test

import (
	"context"
	"fmt"
	"iter"
	"log/slog"
	"net"
	"os"
	"slices"
	"testing"
	"time"

	"drover/deploy/measurement/load"
	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
	"drover/solver"
	"drover/store"
	"drover/store/storetest"
	"drover/web"

	"github.com/jackc/pgx/v5"
)

var (
	ctx   = context.Background()
	judge = ending.NewJudge(solver.NewTables())
)

func TestMain(m *testing.M) {
	if err := judge.Ready(ctx); err != nil {
		panic(err)
	}
	os.Exit(storetest.Main(m))
}

// serve runs the site on a store.
func serve(t *testing.T, st *store.Store) *load.Site {
	t.Helper()
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	base := "http://" + l.Addr().String()
	hub := live.New(st, judge, time.Now)
	site, err := web.New(web.Config{URL: base}, st, hub, judge, slog.New(slog.DiscardHandler), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	server, done := site.HTTPServer(), make(chan struct{})
	go func() { defer close(done); _ = server.Serve(l) }()
	driver := load.NewSite(base)
	t.Cleanup(func() {
		driver.Close()
		short, cancel := context.WithTimeout(ctx, 10*time.Second)
		defer cancel()
		site.Drain(short)
		_ = server.Shutdown(short)
		<-done
		hub.Close()
	})
	return driver
}

// seats gives each of n new students a game, and knows the first moves of it.
func seats(t *testing.T, st *store.Store, driver *load.Site, n, moves int) (game.ClubID, []load.Seat) {
	t.Helper()
	f := storetest.Club(t, st, "load")
	var tokens []string
	var who []game.PersonID
	for i := range n {
		card, err := st.AddStudent(ctx, f.Coach, club.NewStudent{Name: fmt.Sprint("Player ", i), ConsentBy: "Guardian",
			ConsentOn: time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC), Consent: true, Wording: ending.Eight})
		if err != nil {
			t.Fatal(err)
		}
		tokens, who = append(tokens, string(card.Token)), append(who, card.Student.ID)
	}
	task, err := st.Assign(ctx, f.Coach, f.Drill.ID, who, nil)
	if err != nil {
		t.Fatal(err)
	}
	people, err := driver.SignInAll(ctx, tokens)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]load.Seat, n)
	for i, p := range people {
		id, err := st.StartGame(ctx, game.Actor{Club: f.Coach.Club, Person: who[i], Role: game.Student}, task)
		if err != nil {
			t.Fatal(err)
		}
		out[i] = load.Seat{Person: p, Game: load.Game{ID: int64(id), Moves: best(t, st, f.Coach.Club, id, moves)}}
	}
	return f.Coach.Club, out
}

// best lists the first moves of the quickest win.
func best(t *testing.T, st *store.Store, c game.ClubID, id game.GameID, n int) []string {
	t.Helper()
	set, err := st.Setup(ctx, c, id)
	if err != nil {
		t.Fatal(err)
	}
	s, err := practice.Begin(set)
	var moves []string
	for i := 0; err == nil && i < n; i++ {
		o, ok, no := judge.Best(ctx, s.Pos)
		if no != nil || !ok {
			t.Fatalf("no best move: %v", no)
		}
		moves = append(moves, o.Move.UCI())
		s, err = practice.Apply(ctx, judge, s, practice.Command{Do: practice.Move, ID: fmt.Sprint("m", i), Ply: s.Ply(),
			Move: o.Move.UCI(), By: set.Student, At: time.Now()})
	}
	if err != nil {
		t.Fatal(err)
	}
	return moves
}

// rows are the acts of some games.
func rows(t *testing.T, st *store.Store, c game.ClubID, games []int64) iter.Seq[load.Entry] {
	t.Helper()
	conn, err := pgx.Connect(ctx, storetest.Address(st))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	found, err := conn.Query(ctx, `select game_id, seq, client_id, coalesce(move, '') from acts
		where club_id = $1 and game_id = any($2)`, c, games)
	if err != nil {
		t.Fatal(err)
	}
	all, err := pgx.CollectRows(found, pgx.RowToStructByPos[load.Entry])
	if err != nil {
		t.Fatal(err)
	}
	return slices.Values(all)
}

// TestLedgerEqualsDatabase: twenty games over real sign-ins and sockets, some as fast as
// they go and some at a pace; what was acknowledged is in the log, once and as it was sent.
func TestLedgerEqualsDatabase(t *testing.T) {
	t.Parallel()
	const games, moves = 20, 6
	st := storetest.New(t, time.Now)
	driver := serve(t, st)
	c, all := seats(t, st, driver, games, moves)
	plays, err := driver.JoinAll(ctx, all)
	if err != nil {
		t.Fatal(err)
	}
	fast := load.Rush(ctx, plays, 8, 4, 0)
	paced := load.Pace(ctx, plays, 20*time.Millisecond, 10*time.Second)
	idle := load.Rest(plays)
	idle.Close()
	if fast.Err != nil || paced.Err != nil || idle.Lost() != 0 {
		t.Errorf("%v, %v, %d boards lost", fast.Err, paced.Err, idle.Lost())
	}
	if len(fast.Acks) != 4*games || len(paced.Acks) != 2*games {
		t.Errorf("%d moves fast and %d paced, want %d and %d", len(fast.Acks), len(paced.Acks), 4*games, 2*games)
	}
	b := driver.Ledger.Check(rows(t, st, c, driver.Ledger.Games()))
	if b.Acked != moves*games || !b.Holds() {
		t.Errorf("the ledger says: %v", b)
	}
}

// TestLedgerNotices: an act that is missing, doubled, changed or foreign is told apart.
func TestLedgerNotices(t *testing.T) {
	t.Parallel()
	st := storetest.New(t, time.Now)
	driver := serve(t, st)
	c, all := seats(t, st, driver, 1, 4)
	plays, err := driver.JoinAll(ctx, all)
	if err != nil {
		t.Fatal(err)
	}
	defer plays[0].Close()
	if r := load.Rush(ctx, plays, 1, 0, 0); r.Err != nil {
		t.Fatal(r.Err)
	}
	acts := slices.Collect(rows(t, st, c, driver.Ledger.Games()))
	if len(acts) != 4 {
		t.Fatalf("%d acts, want 4", len(acts))
	}
	acts[1].Move, acts[2].Client = "a1a2", acts[0].Client
	acts[3].Client = "nobody's"
	got := driver.Ledger.Check(slices.Values(acts))
	if want := (load.Balance{Acked: 4, Lost: 2, Doubled: 1, Changed: 1, Strange: 1}); got != want || got.Holds() {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestRefusalsAreCounted: a command that the server refuses is no acknowledgement, and
// its game is given up.
func TestRefusalsAreCounted(t *testing.T) {
	t.Parallel()
	st := storetest.New(t, time.Now)
	driver := serve(t, st)
	_, all := seats(t, st, driver, 1, 2)
	all[0].Game.Moves[1] = "a1a1"
	plays, err := driver.JoinAll(ctx, all)
	if err != nil {
		t.Fatal(err)
	}
	defer plays[0].Close()
	r := load.Rush(ctx, plays, 1, 0, 0)
	if len(r.Acks) != 1 || r.Refused != 1 || r.Err == nil {
		t.Errorf("%d acknowledged, %d refused, %v", len(r.Acks), r.Refused, r.Err)
	}
	if _, err := driver.SignIn(ctx, "1.nothing"); err == nil {
		t.Error("a link that opens nothing signed somebody in")
	}
}
