package backup

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/url"
	"os/exec"
	"slices"
	"strconv"
	"strings"

	"drover/store/private"

	"github.com/jackc/pgx/v5"
)

// passedOn are the settings of an address that PostgreSQL's programs are told of as they
// stand; the others are said in their environment, so that no list of processes shows a
// password.
var passedOn = map[string]string{"sslmode": "PGSSLMODE", "sslrootcert": "PGSSLROOTCERT", "sslcert": "PGSSLCERT",
	"sslkey": "PGSSLKEY", "channel_binding": "PGCHANNELBINDING", "options": "PGOPTIONS"}

// client prepares a client program of PostgreSQL's for the database at an address.
func client(ctx context.Context, address string, least int, program string, args ...string) (*exec.Cmd, error) {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	cmd, err := private.Client(ctx, least, program, append(args, "--no-password")...)
	if err != nil {
		return nil, err //nolint:wrapcheck // it says what to install
	}
	cmd.Env = append(cmd.Env, "PGHOST="+cfg.Host, "PGPORT="+strconv.Itoa(int(cfg.Port)), "PGUSER="+cfg.User,
		"PGDATABASE="+cfg.Database, "PGPASSWORD="+cfg.Password)
	if u, err := url.Parse(address); err == nil {
		for name, variable := range passedOn {
			if value := u.Query().Get(name); value != "" {
				cmd.Env = append(cmd.Env, variable+"="+value)
			}
		}
	}
	return cmd, nil
}

// run runs a program and says what it said where it fails.
func run(cmd *exec.Cmd, in io.Reader, out io.Writer) error {
	var said bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = in, out, &said
	if err := cmd.Run(); err != nil {
		lines := slices.DeleteFunc(strings.Split(said.String(), "\n"), func(s string) bool { return strings.TrimSpace(s) == "" })
		return fmt.Errorf("%w: %s", err, strings.Join(lines[:min(3, len(lines))], "; "))
	}
	return nil
}

// major is the major version of the server.
func major(ctx context.Context, tx pgx.Tx) (int, error) {
	var n int
	if err := tx.QueryRow(ctx, `select current_setting('server_version_num')::int / 10000`).Scan(&n); err != nil {
		return 0, fmt.Errorf("ask for the server's version: %w", err)
	}
	return n, nil
}
