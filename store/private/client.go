package private

import (
	"context"
	"fmt"
	"os/exec"
	"path/filepath"
)

// Client prepares one of PostgreSQL's client programs, such as pg_dump, of a major version
// that is at least the given one: the oldest that will do. It is given nothing of our
// environment but where programs are.
func Client(ctx context.Context, least int, program string, args ...string) (*exec.Cmd, error) {
	found := folders(program, program)
	for _, v := range sorted(found) {
		if v >= least {
			return command(ctx, "/", filepath.Join(found[v], program), args...), nil
		}
	}
	has := "none was found"
	if len(found) > 0 {
		has = "this machine has that of " + versions(found)
	}
	return nil, fmt.Errorf("PostgreSQL's program %s of version %d or later is needed, and %s. "+
		"Install it (on Debian: apt-get install postgresql-client-%[2]d)", program, least, has)
}
