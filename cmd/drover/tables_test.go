package main

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"drover/solver"
)

// tablesRun runs `drover tables` and returns its lines, what it said, and its
// exit status.
func tablesRun(t *testing.T, args ...string) (lines []string, said string, status int) {
	t.Helper()
	var out, failed bytes.Buffer
	status = run(context.Background(), append([]string{"tables"}, args...), streams{strings.NewReader(""), &out, &failed})
	return slices.Collect(strings.Lines(out.String())), failed.String(), status
}

// The list has a line for each of the 35 endings; the basic mates are ready.
func TestTablesList(t *testing.T) {
	t.Parallel()
	lines, said, status := tablesRun(t)
	if status != 0 || len(lines) != 36 {
		t.Fatalf("status %d, %d lines: %s", status, len(lines), said)
	}
	for _, line := range lines[1:] {
		f := strings.Fields(line)
		staged := slices.Contains([]string{"KQK", "KRK", "KRRK", "KBBK", "KBNK"}, f[0])
		drawn := f[0] == "KBK" || f[0] == "KNK"
		if staged != (f[1] == "ready") || drawn != (f[1] == "drawn") {
			t.Errorf("%q", line)
		}
	}
}

// A line for each ending, with the longest wins that K. Kryukov's page of
// longest checkmates gives (the solver's testdata/published_longest_dtm.tsv),
// and one for the whole.
func TestTablesBench(t *testing.T) {
	t.Parallel()
	lines, said, status := tablesRun(t, "--bench", "kqkr", "KRKN", "KBK")
	if status != 0 || len(lines) != 4 {
		t.Fatalf("status %d, %d lines: %s", status, len(lines), said)
	}
	for i, want := range []benched{{Ending: "KQKR", LongestIn: 35}, {Ending: "KRKN", LongestIn: 40}, {Ending: "KBK"}} {
		var got benched
		if err := json.Unmarshal([]byte(lines[i]), &got); err != nil {
			t.Fatal(err)
		}
		if got.Ending != want.Ending || got.LongestIn != want.LongestIn || got.Positions < 400_000 || got.Seconds <= 0 &&
			got.LongestIn > 0 {
			t.Errorf("%s: want %+v", lines[i], want)
		}
	}
	var whole total
	if err := json.Unmarshal([]byte(lines[3]), &whole); err != nil || whole.Seconds <= 0 || whole.Peak < 1<<20 {
		t.Errorf("%s: %v", lines[3], err)
	}
}

// The distribution of queen against king as read from the Gaviota tables (the
// solver's testdata/three_men_dtm_histogram.tsv, where it is held in full).
func TestTablesHistogram(t *testing.T) {
	t.Parallel()
	lines, said, status := tablesRun(t, "--histogram", "KQK")
	if status != 0 || len(lines) != 2 {
		t.Fatalf("status %d, %d lines: %s", status, len(lines), said)
	}
	for i, side := range []string{"w", "b"} {
		var got distribution
		if err := json.Unmarshal([]byte(lines[i]), &got); err != nil {
			t.Fatal(err)
		}
		sum := got.Draw
		for _, n := range got.Win {
			sum += n
		}
		for _, n := range got.Loss {
			sum += n
		}
		if got.Ending != "KQK" || got.Side != side || sum != got.Legal || got.Legal == 0 {
			t.Errorf("%s", lines[i])
		}
	}
}

// What cannot be done is said before anything is built.
func TestTablesRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--bench", "KQKRR"}, "name one of three or four men"},
		{[]string{"KRKQ"}, "the stronger side first"},
		{[]string{"--bench", "--limit=-1"}, "--limit"},
		{[]string{"--bench", "--histogram"}, "--bench"},
	} {
		lines, said, status := tablesRun(t, c.args...)
		if status == 0 || len(lines) > 0 || !strings.Contains(said, c.says) {
			t.Errorf("%v: status %d, %d lines, %q", c.args, status, len(lines), said)
		}
	}
}

// Where the memory will not do the command says so and builds nothing.
func TestTablesNoRoom(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	little := func() (int64, bool) { return 8 << 20, true }
	c := tabler{solver.NewTables(), []string{"KQKR"}, streams{nil, &out, &out}, little}
	for _, run := range []func(context.Context) error{c.bench, c.histogram} {
		if err := run(context.Background()); err == nil || !strings.Contains(err.Error(), "8 MiB are free") {
			t.Errorf("with 8 MiB: %v", err)
		}
	}
	if out.Len() > 0 || c.tables.Kept() > 0 {
		t.Errorf("%d bytes are kept, and it said %q", c.tables.Kept(), out.String())
	}
	c.left = func() (int64, bool) { return 0, false }
	if err := c.bench(context.Background()); err != nil {
		t.Errorf("with memory unknown: %v", err)
	}
}

// What the system says of its memory is read right.
func TestAvailable(t *testing.T) {
	t.Parallel()
	if n, known := available("MemTotal: 10 kB\nMemAvailable:     2048 kB\n"); n != 2<<20 || !known {
		t.Errorf("%d, %v", n, known)
	}
	if n, known := available("MemTotal: 10 kB\n"); known {
		t.Errorf("%d, %v", n, known)
	}
}
