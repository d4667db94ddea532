package private

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Names of the roles and the database inside.
const (
	root     = "drover_root"  // the cluster's superuser, for this package alone
	owner    = "drover_owner" // owns the database and its schema, and migrates it
	app      = "drover"       // reads and writes rows
	database = "drover"
)

// admission lets nobody in but over the socket and by the name that the system
// has for the caller's user.
const admission = `# Written at each start of Drover.
local all all peer map=drover
`

// admit writes who may connect as whom: the user that runs the server, and the
// others that Start was told of, as each of our roles.
func (s *Server) admit() error {
	me, err := byID(os.Geteuid())
	if err != nil {
		return err
	}
	var who strings.Builder
	who.WriteString("# Written at each start of Drover.\n")
	for _, name := range append([]string{me.name}, s.others...) {
		for _, role := range []string{root, owner, app} {
			fmt.Fprintf(&who, "drover \"%s\" %s\n", strings.ReplaceAll(name, `"`, `""`), role)
		}
	}
	for name, text := range map[string]string{"data/pg_hba.conf": admission, "data/pg_ident.conf": who.String()} {
		if err := s.write(name, text); err != nil {
			return fmt.Errorf("say who may connect to the private database: %w", err)
		}
	}
	return nil
}

// roles makes what the app needs inside; each step may have been done before.
func (s *Server) roles(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.url(root, "postgres"))
	if unknownRole(err) {
		if err := s.depose(ctx); err != nil {
			return err
		}
		conn, err = pgx.Connect(ctx, s.url(root, "postgres"))
	}
	if err != nil {
		return fmt.Errorf("connect to the private database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for _, role := range []string{owner, app} {
		const there = `select exists (select from pg_roles where rolname = $1)`
		if err := unless(ctx, conn, there, role, "create role "+role+" login"); err != nil {
			return err
		}
	}
	const there = `select exists (select from pg_database where datname = $1)`
	if err := unless(ctx, conn, there, database, "create database "+database+" owner "+owner); err != nil {
		return err
	}
	return s.reassign(ctx)
}

// unless executes a statement unless what it makes is there.
func unless(ctx context.Context, conn *pgx.Conn, there, name, statement string) error {
	var is bool
	if err := conn.QueryRow(ctx, there, name).Scan(&is); err != nil {
		return fmt.Errorf("look into the private database: %w", err)
	}
	if is {
		return nil
	}
	if _, err := conn.Exec(ctx, statement); err != nil {
		return fmt.Errorf("%s: %w", statement, err)
	}
	return nil
}

func unknownRole(err error) bool {
	var e *pgconn.PgError
	return errors.As(err, &e) && e.Code == "28000"
}

// depose changes over a cluster of an earlier version, in which drover_owner
// was the superuser that initdb made. That role must stay a superuser and
// cannot be renamed by itself, so a passing one renames it to drover_root.
func (s *Server) depose(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.url(owner, "postgres"))
	if err != nil {
		return fmt.Errorf("connect to the private database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		for _, q := range []string{
			"create role drover_passing superuser",
			"set session authorization drover_passing",
			"alter role " + owner + " rename to " + root,
			"reset session authorization",
			"drop role drover_passing",
			"create role " + owner + " login",
		} {
			if _, err := tx.Exec(ctx, q); err != nil {
				return fmt.Errorf("change over the roles: %s: %w", q, err)
			}
		}
		return nil
	})
}

// reassign gives the database, and what the superuser still owns of ours in
// it, to the owner. 'reassign owned' would refuse, because the same role owns
// what belongs to the system. What comes with a table or an extension is left
// to it.
func (s *Server) reassign(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.url(root, database))
	if err != nil {
		return fmt.Errorf("connect to the private database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for _, q := range []string{
		"alter database " + database + " owner to " + owner, changeHands,
		"revoke create on schema public from public", // before version 15 everybody might
	} {
		if _, err := conn.Exec(ctx, q); err != nil {
			return fmt.Errorf("give the schema to its owner: %w", err)
		}
	}
	return nil
}

const changeHands = `do $$
declare
	thing text;
begin
	for thing in
		with spaces as (
			select oid from pg_namespace where nspname <> 'information_schema' and nspname not like 'pg\_%'
		), bound as (
			select classid, objid from pg_depend where deptype in ('a', 'i', 'e') and refobjid <> objid
				and refclassid in ('pg_class'::regclass, 'pg_extension'::regclass)
		)
		select 'schema ' || oid::regnamespace from pg_namespace
			where nspowner = 'drover_root'::regrole and oid in (select oid from spaces)
		union all
		select case relkind when 'S' then 'sequence ' when 'v' then 'view ' when 'm' then 'materialized view '
				else 'table ' end || oid::regclass from pg_class
			where relowner = 'drover_root'::regrole and relnamespace in (select oid from spaces)
			and relkind in ('r', 'p', 'v', 'm', 'S')
			and not exists (select from bound where classid = 'pg_class'::regclass and objid = pg_class.oid)
		union all
		select 'routine ' || oid::regprocedure from pg_proc
			where proowner = 'drover_root'::regrole and pronamespace in (select oid from spaces)
			and not exists (select from bound where classid = 'pg_proc'::regclass and objid = pg_proc.oid)
		union all
		select 'type ' || oid::regtype from pg_type
			where typowner = 'drover_root'::regrole and typnamespace in (select oid from spaces) and typtype in ('d', 'e', 'r')
			and not exists (select from bound where classid = 'pg_type'::regclass and objid = pg_type.oid)
	loop
		execute 'alter ' || thing || ' owner to drover_owner';
	end loop;
end $$`

func (s *Server) url(role, base string) string {
	v := url.Values{"host": {s.socket}, "port": {port}}
	return "postgres://" + role + "@/" + base + "?" + v.Encode()
}

// URL is the address for the app: rows, not the schema.
func (s *Server) URL() string { return s.url(app, database) }

// OwnerURL is the address for migrations.
func (s *Server) OwnerURL() string { return s.url(owner, database) }

// RootURL is the superuser's address, for tests alone.
func (s *Server) RootURL() string { return s.url(root, database) }
