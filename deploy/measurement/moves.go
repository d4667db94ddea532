package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"time"

	"drover/deploy/measurement/load"

	"github.com/jackc/pgx/v5"
)

// lanes is how many games go on at once where they go as fast as they can.
const lanes = 64

// moves measures the server's processor time for a move, early and late in games.
func moves(ctx context.Context, w *world) error {
	const games = 640
	if err := w.start(ctx); err != nil {
		return err
	}
	plays, err := w.seats(ctx, 0, games, 2)
	if err != nil {
		return err
	}
	defer leave(plays)
	each := map[int]time.Duration{}
	for _, round := range []struct{ from, n int }{{1, 10}, {11, length - 20}, {length - 9, 10}} {
		var r *load.Report
		m, err := w.spent(func() error {
			r = load.Rush(ctx, plays, lanes, round.n, 0)
			return errors.Join(r.Err, ctx.Err())
		})
		if err != nil {
			return err
		}
		each[round.from] = m.node / time.Duration(len(r.Acks))
		if round.n == 10 {
			what := "processor time of the server for a move, moves %d to %d of %d games"
			w.table.judge(ms(each[round.from]) <= 0.3, "0.3 ms", fmt.Sprintf(what, round.from, round.from+9, games),
				"%.2f ms (%s)", ms(each[round.from]), m)
		}
	}
	grows := float64(each[length-9]) / float64(each[1])
	w.table.judge(grows <= 1.1, "the same", "late moves against early ones", "%.2f times as much", grows)
	return nil
}

// rate measures how many moves a second the server takes of 64 games at once, as a share
// of the bare inserts that pgbench makes on the same cores.
func rate(ctx context.Context, w *world) error {
	first := 0
	for _, seconds := range []int{8, 20} {
		w.stop() // each has Postgres to itself
		bare, err := w.pgbench(ctx, seconds)
		if err != nil {
			return err
		}
		if err := w.start(ctx); err != nil {
			return err
		}
		games := lanes + int(0.75*bare)*seconds/length // enough if it is three quarters as fast
		games = min(games, 2*(len(w.players.ids)-first))
		plays, err := w.seats(ctx, first, games, 2)
		if err != nil {
			return err
		}
		first += (games + 1) / 2
		var r *load.Report
		m, err := w.spent(func() error {
			r = load.Rush(ctx, plays, lanes, 0, time.Duration(seconds)*time.Second)
			return errors.Join(r.Err, ctx.Err())
		})
		leave(plays)
		if err != nil {
			return err
		}
		share := r.PerSecond() / bare
		w.table.judge(share >= 0.4, "0.4",
			fmt.Sprintf("moves of %d games over %.0f s, as a share of pgbench", lanes, r.Took.Seconds()),
			"%.2f (%.0f against %.0f per second; %s)", share, r.PerSecond(), bare, m)
	}
	return nil
}

// bareClients is how many connections pgbench opens: the private Postgres has 60.
const bareClients = 50

// bareInsert is one act, as pgbench writes it.
const bareInsert = `\set n :n + 1
insert into acts (club_id, game_id, seq, kind, by_id, client_id, move, reply, grade, cost, plies, stage, par, took)
values (%d, %d + :client_id, :n, 'move', %d, 'load-' || :n, 'g1e2', 'c6d5', 'on course', 0, 60, 'centralise', 7, 2000);
`

var perSecond = regexp.MustCompile(`tps = ([0-9.]+)`)

// pgbench measures how many acts a second Postgres takes one by one.
func (w *world) pgbench(ctx context.Context, seconds int) (float64, error) {
	program, err := exec.LookPath("pgbench")
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/pgbench") // the pattern is a constant
	if err != nil && len(found) > 0 {
		program, err = found[len(found)-1], nil
	}
	if err != nil {
		return 0, fmt.Errorf("find pgbench, which comes with PostgreSQL's server: %w", err)
	}
	games, err := w.begin(ctx, 0, bareClients, 1)
	if err != nil {
		return 0, err
	}
	text := fmt.Sprintf(bareInsert, w.players.club, games[0].ID, w.players.ids[0])
	file := filepath.Join(w.dir, "insert.sql")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		return 0, fmt.Errorf("write for pgbench: %w", err)
	}
	as, err := pgx.ParseConfig(w.pg.URL())
	if err != nil {
		return 0, fmt.Errorf("read our own address: %w", err)
	}
	cmd := exec.CommandContext(ctx, program, //nolint:gosec // a program of PostgreSQL's
		"-n", "-c", strconv.Itoa(bareClients), "-j", "2", "-T", strconv.Itoa(seconds), "-D", "n=0", "-f", file,
		"-h", as.Host, "-p", strconv.Itoa(int(as.Port)), "-U", as.User,
		as.Database)
	out, err := cmd.CombinedOutput()
	if err != nil {
		return 0, fmt.Errorf("pgbench: %w: %s", err, out)
	}
	tps := perSecond.FindSubmatch(out)
	if tps == nil {
		return 0, fmt.Errorf("pgbench says nothing that I understand: %s", out)
	}
	return strconv.ParseFloat(string(tps[1]), 64)
}
