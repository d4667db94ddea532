// Package migrations holds the numbered steps of the database schema. A step
// that has been released never changes; a change is a new step.
package migrations

import "embed"

// Files are the steps, named NNNN_what.up.sql and NNNN_what.down.sql.
//
//go:embed *.sql
var Files embed.FS

// Latest is the number of the last step; a test holds it against the files.
const Latest = 37
