package live_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
	"drover/solver"
	"drover/store"
	"drover/store/storetest"
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

// node is one server's hub on a database.
func node(t *testing.T, url string) (*live.Hub, *store.Store) {
	t.Helper()
	s, err := store.Open(ctx, url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return live.New(s, judge, time.Now), s
}

// heard is a frame as the page reads it.
type heard struct {
	Game *struct{ FEN, Title string } `json:"game"`
	Acts []struct {
		Seq int
		ID  string
	} `json:"acts"`
	Act *struct {
		Seq         int
		ID, Grade   string
		Back        bool
		Move, Reply *struct{ UCI, SAN string }
		Why         []string
		FEN, Mid    string
	} `json:"act"`
	Now *struct {
		Seq, Ply, Left, Stage, Par int
		Move                       int
		FEN, Turn, Cover           string
		Legal                      [][2]string
		End                        *struct{ Kind, Title, Article, Result string }
		Gone                       *struct {
			Say  []string
			Back bool
		}
	} `json:"now"`
}

func read(t *testing.T, frame []byte) heard {
	t.Helper()
	var h heard
	if err := json.Unmarshal(frame, &h); err != nil {
		t.Fatalf("%s: %v", frame, err)
	}
	return h
}

func join(t *testing.T, h *live.Hub, f storetest.Fixture, after int) (*live.Watcher, heard) {
	t.Helper()
	w, first, err := h.Join(ctx, f.Student, f.Game, live.About{Title: "Rook", Pace: 800}, after)
	if err != nil {
		t.Fatal(err)
	}
	return w, read(t, first)
}

// best is the quickest move from where a game stands.
func best(t *testing.T, h *live.Hub, f storetest.Fixture) practice.Command {
	t.Helper()
	s, err := h.State(ctx, f.Student.Club, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	o, ok, err := judge.Best(ctx, s.Pos)
	if err != nil || !ok {
		t.Fatalf("no best move in %s: %v", s.Pos.FEN(), err)
	}
	return practice.Command{Do: practice.Move, ID: fmt.Sprint("m", s.Seq()), Ply: s.Ply(), Move: o.Move.UCI(), Took: 3000}
}

// TestToMate plays a whole game; every watcher hears the same bytes, and the
// end is in the log with its projection.
func TestToMate(t *testing.T) {
	t.Parallel()
	h, s := node(t, storetest.URL(t))
	f := storetest.Club(t, s, "mate")
	one, first := join(t, h, f, 0)
	two, _ := join(t, h, f, 0)
	defer h.Leave(one)
	defer h.Leave(two)
	if first.Game == nil || first.Game.FEN != storetest.RookStart || first.Now.Turn != "you" ||
		len(first.Now.Legal) == 0 || first.Now.Left != 50 {
		t.Fatalf("first frame %+v", first)
	}
	var last heard
	for moves := 1; last.Now == nil || last.Now.End == nil; moves++ {
		c := best(t, h, f)
		if frame, err := h.Do(ctx, f.Student, f.Game, c); err != nil || frame != nil {
			t.Fatal(frame, err)
		}
		a, b := <-one.Frames, <-two.Frames
		if string(a) != string(b) {
			t.Fatalf("two watchers heard\n%s\n%s", a, b)
		}
		if last = read(t, a); last.Act.ID != c.ID || last.Act.Seq != moves || last.Act.Grade != "on course" ||
			len(last.Act.Why) == 0 {
			t.Fatalf("act %+v", last.Act)
		}
	}
	if e := last.Now.End; e.Kind != "mate" || e.Article != "FIDE Laws 5.1.1" || e.Result != "clean" ||
		e.Title != "Checkmate in 14 moves" {
		t.Errorf("end %+v", e)
	}
	info, err := s.Game(ctx, f.Student.Club, f.Game)
	if err != nil || info.End != practice.Mated || info.Result != practice.Clean || info.Moves != 14 || info.Ended == nil {
		t.Errorf("projection %+v, %v", info, err)
	}
	of, err := s.RecordOf(ctx, f.Student.Club, f.Student.Person, store.WithStages)
	if err != nil || len(of.Stages) != 3 {
		t.Errorf("stages %+v, %v", of.Stages, err)
	}
}

// TestRepeat: a command that comes again gets the frame of then, and nothing
// happens twice.
func TestRepeat(t *testing.T) {
	t.Parallel()
	h, s := node(t, storetest.URL(t))
	f := storetest.Club(t, s, "repeat")
	w, _ := join(t, h, f, 0)
	defer h.Leave(w)
	c := best(t, h, f)
	if _, err := h.Do(ctx, f.Student, f.Game, c); err != nil {
		t.Fatal(err)
	}
	heardFirst := read(t, <-w.Frames)
	frame, err := h.Do(ctx, f.Student, f.Game, c)
	if err != nil {
		t.Fatal(err)
	}
	if again := read(t, frame); again.Act.Seq != 1 || again.Act.FEN != heardFirst.Act.FEN {
		t.Errorf("the repeat got %s", frame)
	}
	acts, err := s.Load(ctx, f.Student.Club, f.Game, 0)
	if err != nil || len(acts) != 1 {
		t.Errorf("%d acts, %v", len(acts), err)
	}
}

// TestTwoNodes: two nodes serve one game, each hears of the other's acts by
// hints, and racing commands never double a move.
func TestTwoNodes(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	a, sa := node(t, url)
	b, sb := node(t, url)
	f := storetest.Club(t, sa, "nodes")
	listening, cancel := context.WithCancel(ctx)
	defer cancel()
	up := make(chan struct{})
	go sb.Listen(listening, store.Listener{
		Changed: b.Changed,
		Refresh: func(ctx context.Context) error { close(up); return b.Refresh(ctx) },
		Failed:  func(err error) { t.Error(err) },
	})
	<-up
	w, _ := join(t, b, f, 0)
	defer b.Leave(w)
	for round := range 8 {
		c, d := best(t, a, f), best(t, a, f)
		c.ID, d.ID = fmt.Sprint("a", round), fmt.Sprint("b", round)
		errs := make(chan error, 2)
		go func() { _, err := a.Do(ctx, f.Student, f.Game, c); errs <- err }()
		go func() { _, err := b.Do(ctx, f.Student, f.Game, d); errs <- err }()
		stale := 0
		for range 2 {
			if err := <-errs; err != nil {
				if n, _ := practice.Refusal(err); n != practice.Stale {
					t.Fatal(err)
				}
				stale++
			}
		}
		if got := read(t, <-w.Frames); stale != 1 || got.Act.Seq != round+1 {
			t.Fatalf("round %d: %d refused, node b heard act %d", round, stale, got.Act.Seq)
		}
	}
	acts, err := sa.Load(ctx, f.Student.Club, f.Game, 0)
	if err != nil || len(acts) != 8 {
		t.Errorf("%d acts, %v", len(acts), err)
	}
}

// TestResume: a page that comes back with the number of its last act gets what
// it missed, and no more.
func TestResume(t *testing.T) {
	t.Parallel()
	h, s := node(t, storetest.URL(t))
	f := storetest.Club(t, s, "resume")
	for range 3 {
		if _, err := h.Do(ctx, f.Student, f.Game, best(t, h, f)); err != nil {
			t.Fatal(err)
		}
	}
	w, first := join(t, h, f, 1)
	defer h.Leave(w)
	if first.Game != nil || len(first.Acts) != 2 || first.Acts[0].Seq != 2 || first.Now.Seq != 3 {
		t.Errorf("after 1: %+v", first)
	}
	w2, first := join(t, h, f, 99)
	defer h.Leave(w2)
	if first.Game == nil || len(first.Acts) != 3 {
		t.Errorf("after a number that was never given: %+v", first)
	}
}

// TestRefusedCommandsChangeNothing: other people's games, illegal moves and
// stale ones; no internal text comes out.
func TestRefusedCommandsChangeNothing(t *testing.T) {
	t.Parallel()
	h, s := node(t, storetest.URL(t))
	f := storetest.Club(t, s, "refused")
	other := storetest.Club(t, s, "other")
	for name, try := range map[string]struct {
		who game.Actor
		c   practice.Command
		no  string
	}{
		"another's": {f.Coach, practice.Command{Do: practice.Move, Move: "e1e2"}, "denied"},
		"foreign":   {other.Student, practice.Command{Do: practice.Move, Move: "e1e2"}, "denied"},
		"illegal":   {f.Student, practice.Command{Do: practice.Move, Move: "e1e5"}, "illegal"},
		"stale":     {f.Student, practice.Command{Do: practice.Move, Move: "e1e2", Ply: 4}, "stale"},
		"unknown":   {f.Student, practice.Command{Do: "fly"}, "bad"},
		"back":      {f.Student, practice.Command{Do: practice.Back}, "turn"},
	} {
		_, err := h.Do(ctx, try.who, f.Game, try.c)
		frame := string(live.Refusal("x", err))
		if err == nil || !strings.HasPrefix(frame, `{"no":"`+try.no+`","id":"x","say":"`) {
			t.Errorf("%s: %v, %s", name, err, frame)
		}
	}
	if acts, err := s.Load(ctx, f.Student.Club, f.Game, 0); err != nil || len(acts) != 0 {
		t.Errorf("%d acts, %v", len(acts), err)
	}
}

// TestSlowWatcher: a watcher that does not read is dropped when its queue is
// full; the game and the others go on.
func TestSlowWatcher(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	h, s := node(t, url)
	f := storetest.Club(t, s, "slow")
	storetest.Exec(t, url, "update games set backs = 1000") // moves and take-backs by turns make many acts
	slow, _ := join(t, h, f, 0)
	for n := range live.QueueLength + 2 {
		c := practice.Command{Do: practice.Back, ID: fmt.Sprint("b", n), Ply: 2}
		if n%2 == 0 {
			c = best(t, h, f)
		}
		if _, err := h.Do(ctx, f.Student, f.Game, c); err != nil {
			t.Fatal(err)
		}
	}
	n := 0
	for range slow.Frames {
		n++
	}
	if n != live.QueueLength {
		t.Errorf("%d frames before it was dropped", n)
	}
	h.Leave(slow)
}

// TestJoinWhileOthersLeave: a watcher that joins while others come and go hears
// of every act; none sits at a copy that was let go of.
func TestJoinWhileOthersLeave(t *testing.T) {
	t.Parallel()
	h, s := node(t, storetest.URL(t))
	f := storetest.Club(t, s, "churn")
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for range 4 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for {
				select {
				case <-stop:
					return
				default:
				}
				w, _, err := h.Join(ctx, f.Student, f.Game, live.About{}, 0)
				if err != nil {
					t.Error(err)
					return
				}
				h.Leave(w)
			}
		}()
	}
	for n := range 10 {
		w, first := join(t, h, f, 0)
		if _, err := h.Do(ctx, f.Student, f.Game, best(t, h, f)); err != nil {
			t.Fatal(err)
		}
		if got := read(t, <-w.Frames); got.Act.Seq != n+1 || first.Now.Seq != n {
			t.Errorf("joined at act %d, heard act %d", first.Now.Seq, got.Act.Seq)
		}
		h.Leave(w)
	}
	close(stop)
	wg.Wait()
}
