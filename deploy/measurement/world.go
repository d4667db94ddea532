package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"drover/deploy/measurement/load"
	"drover/game/club"
	"drover/game/ending"
	"drover/solver"
	"drover/store"
	"drover/store/private"

	"github.com/jackc/pgx/v5"
)

// world is all that a measuring needs: a Postgres of its own, a club, players, and the
// server that is measured.
type world struct {
	options
	out   io.Writer
	table table
	began time.Time

	dir        string
	pg         *private.Server
	postmaster int
	root       *pgx.Conn
	judge      *ending.Judge

	club    clubs
	players players
	site    *load.Site
	node    *exec.Cmd
}

// newWorld starts Postgres and fills it. Where root runs this, it becomes another user
// for good, as the server itself does.
func newWorld(ctx context.Context, o options, out io.Writer) (w *world, err error) {
	w = &world{options: o, out: out, began: time.Now(), judge: ending.NewJudge(solver.NewTables()),
		site: load.NewSite("")}
	if w.dir, err = os.MkdirTemp("", "drover-measure-"); err != nil {
		return nil, fmt.Errorf("make a folder: %w", err)
	}
	defer func() {
		if err != nil {
			w.close()
		}
	}()
	if err := private.Become(w.dir); err != nil {
		return nil, err
	}
	if w.pg, err = private.Start(ctx, w.dir, func(s string) { w.say("%s", s) }); err != nil {
		return nil, err
	}
	first, _, _ := strings.Cut(read(filepath.Join(w.dir, "data/postmaster.pid")), "\n")
	if w.postmaster, err = strconv.Atoi(first); err != nil {
		return nil, fmt.Errorf("find the private Postgres: %w", err)
	}
	if err := w.judge.Ready(ctx); err != nil {
		return nil, fmt.Errorf("build the tables: %w", err)
	}
	return w, w.fill(ctx)
}

// read is the text of a file; empty where it cannot be read.
func read(path string) string {
	b, err := os.ReadFile(path) //nolint:gosec // a file in our own folder
	if err != nil {
		return ""
	}
	return string(b)
}

// fill makes the schema as the server does, the clubs and the players.
func (w *world) fill(ctx context.Context) error {
	if err := store.Migrate(ctx, w.pg.OwnerURL()); err != nil {
		return fmt.Errorf("make the schema: %w", err)
	}
	if err := store.Grant(ctx, w.pg.OwnerURL(), w.pg.URL()); err != nil {
		return fmt.Errorf("make the schema: %w", err)
	}
	st, err := store.Open(ctx, w.pg.URL(), time.Now)
	if err != nil {
		return fmt.Errorf("open the store: %w", err)
	}
	defer st.Close()
	if w.root, err = pgx.Connect(ctx, w.pg.RootURL()); err != nil {
		return fmt.Errorf("connect: %w", err)
	}
	f := filling{store: st, root: w.root, judge: w.judge}
	if w.club, err = f.clubs(ctx, w.students, w.acts); err != nil {
		return fmt.Errorf("fill the big club: %w", err)
	}
	const spare = 3000 // the part rate needs one player for about a hundred moves
	if w.players, err = f.players(ctx, max(w.games, spare, (w.sockets+perPerson-1)/perPerson)); err != nil {
		return fmt.Errorf("add the players: %w", err)
	}
	if _, err := w.root.Exec(ctx, "vacuum analyze"); err != nil {
		return fmt.Errorf("analyze: %w", err)
	}
	w.say("filled: %s", w.club.sizes)
	w.table.add("the database", "%s", w.club.sizes)
	return nil
}

// close ends what was started.
func (w *world) close() {
	w.stop()
	if w.root != nil {
		_ = w.root.Close(context.Background())
	}
	if w.pg != nil {
		w.pg.Stop()
	}
	_ = os.RemoveAll(w.dir) // a folder in the temporary folder
}

// say tells the person who waits how far this has come.
func (w *world) say(format string, args ...any) {
	fmt.Fprintf(w.out, "%4.0f s  %s\n", time.Since(w.began).Seconds(), fmt.Sprintf(format, args...))
}

// measured runs a part, which starts a server of its own. The sessions are kept in the database, so
// people stay signed in.
func (w *world) measured(ctx context.Context, p part) error {
	if _, err := w.root.Exec(ctx, "checkpoint"); err != nil { // so that no part pays for the one before
		return fmt.Errorf("checkpoint: %w", err)
	}
	defer w.stop()
	return p.run(ctx, w)
}

// start runs the server and waits until it says where it is. It has nothing of our
// environment, so neither settings nor a limit on its memory.
func (w *world) start(ctx context.Context) error {
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		return fmt.Errorf("find a free port: %w", err)
	}
	address := l.Addr().String()
	_ = l.Close() // the server opens it again
	w.site.Base = "http://" + address
	w.node = exec.Command(w.drover, "serve") //nolint:gosec,noctx // it is stopped by its own signal
	w.node.Env = []string{"PATH=" + os.Getenv("PATH"), "DATABASE_URL=" + w.pg.URL(),
		"DROVER_MIGRATE_URL=" + w.pg.OwnerURL(), "DROVER_LISTEN=" + address, "DROVER_KEY=" + string(club.NewSecret(0)),
		"DROVER_DATA=" + filepath.Join(w.dir, "node")}
	w.node.Stderr = w.out
	w.node.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // Ctrl-C is for us
	out, err := w.node.StdoutPipe()
	if err == nil {
		err = w.node.Start()
	}
	if err != nil {
		w.node = nil
		return fmt.Errorf("start %s: %w", w.drover, err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "Drover runs at") {
			return nil
		}
	}
	return errors.New("the server ended while it started")
}

// stop ends the server, if it runs.
func (w *world) stop() {
	if w.node == nil {
		return
	}
	_ = w.node.Process.Signal(syscall.SIGTERM) // it may have ended
	_ = w.node.Wait()
	w.node = nil
	w.site.Close()
}

// balance compares the ledger with the log, if anything was played.
func (w *world) balance(ctx context.Context) error {
	if len(w.site.Ledger.Games()) == 0 {
		return nil
	}
	rows, err := w.root.Query(ctx, `select game_id, seq, client_id, coalesce(move, '') from acts
		where club_id = $1 and game_id = any($2)`, w.players.club, w.site.Ledger.Games())
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	var e load.Entry
	var failed error
	b := w.site.Ledger.Check(func(yield func(load.Entry) bool) {
		_, failed = pgx.ForEachRow(rows, []any{&e.Game, &e.Seq, &e.Client, &e.Move}, func() error { yield(e); return nil })
	})
	if failed != nil {
		return fmt.Errorf("read the log: %w", failed)
	}
	w.table.judge(b.Holds(), "none lost, none doubled", "the ledger of all acknowledged moves against the log", "%s", b)
	return nil
}
