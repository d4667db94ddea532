package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"syscall"
	"text/tabwriter"
	"time"

	"drover/solver"
)

type tablesCommand struct {
	Endings   []string `arg:"" optional:"" help:"Endings by name, the stronger side first, such as KQKR. Without any, all of them."`
	Bench     bool     `help:"Build the tables in memory, and print a line of JSON for each ending and one for all."`
	Histogram bool     `help:"Count the positions by distance, and print two lines of JSON for each ending, one for each side to move."`
	Limit     int64    `placeholder:"MIB" default:"256" help:"Memory in MiB up to which tables are kept (${default})."`
}

// benched is the line of one ending.
type benched struct {
	Ending    string  `json:"ending"`
	Seconds   float64 `json:"seconds"`         // for its own tables, both sides' wins
	Positions int     `json:"positions"`       // legal ones, on 64 squares, either side to move
	LongestIn int     `json:"longest_mate_in"` // moves; the first-named side wins and is to move
}

// total is the last line.
type total struct {
	Seconds float64 `json:"total_seconds"`
	Peak    int64   `json:"peak_bytes"` // the most memory that the process has held
}

// distribution is the histogram's line for one side to move.
type distribution struct {
	Ending string      `json:"ending"`
	Side   string      `json:"side"` // w: the first-named king's side moves; b: the other
	Legal  int         `json:"legal"`
	Draw   int         `json:"draw"`
	Win    map[int]int `json:"win"` // plies to mate -> positions
	Loss   map[int]int `json:"loss"`
}

// tabler carries out the command.
type tabler struct {
	tables  *solver.Tables
	endings []string
	std     streams
	left    func() (bytes int64, known bool) // memory that can still be had
}

// Run lists the endings, measures their build, or counts their positions.
func (c tablesCommand) Run(ctx context.Context, std streams) error {
	if c.Bench && c.Histogram {
		return misuse("--bench and --histogram do not go together. " + try("tables"))
	}
	if c.Limit < 0 {
		return fmt.Errorf("--limit is %d MiB: give 0 or more", c.Limit)
	}
	t := tabler{solver.NewTables(solver.Limit(c.Limit << 20)), solver.Endings(), std, memoryLeft}
	if len(c.Endings) > 0 {
		t.endings = nil
		for _, name := range c.Endings {
			if !names(name) {
				return unknown("word", name, "tables")
			}
			t.endings = append(t.endings, strings.ToUpper(name))
		}
	}
	switch {
	case c.Bench:
		return t.bench(ctx)
	case c.Histogram:
		return t.histogram(ctx)
	}
	return t.list(ctx)
}

// names says whether a word can be meant as the name of an ending: letters of men
// alone.
func names(word string) bool {
	return word != "" && strings.Trim(strings.ToUpper(word), "KQRBNP") == ""
}

// room refuses to begin where the memory will not do.
func (t *tabler) room() error {
	need, err := t.tables.Need(t.endings...)
	if err != nil {
		return err
	}
	if left, known := t.left(); known && left < need {
		return fmt.Errorf("building these tables takes up to %d MiB and %d MiB are free: "+
			"name fewer endings, or give a lower --limit", need>>20, left>>20)
	}
	return nil
}

// build builds the tables of an ending, number i of those asked for, and says so
// on a terminal.
func (t *tabler) build(ctx context.Context, i int) (solver.Info, error) {
	if terminal(t.std.err) {
		fmt.Fprintf(t.std.err, "\r%-5s %d of %d ", t.endings[i], i+1, len(t.endings))
		if i == len(t.endings)-1 {
			defer fmt.Fprint(t.std.err, "\r                \r")
		}
	}
	return t.tables.Build(ctx, t.endings[i])
}

func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

func (t *tabler) bench(ctx context.Context) error {
	if err := t.room(); err != nil {
		return err
	}
	out := json.NewEncoder(t.std.out)
	begun := time.Now()
	for i, name := range t.endings {
		info, err := t.build(ctx, i)
		if err != nil {
			return err
		}
		if err := out.Encode(benched{name, info.Took.Seconds(), info.Legal, info.Longest}); err != nil {
			return fmt.Errorf("write the line of %s: %w", name, err)
		}
	}
	peak, err := peakBytes()
	if err != nil {
		return err
	}
	return out.Encode(total{time.Since(begun).Seconds(), peak})
}

func (t *tabler) histogram(ctx context.Context) error {
	if err := t.room(); err != nil {
		return err
	}
	out := json.NewEncoder(t.std.out)
	for i, name := range t.endings {
		if _, err := t.build(ctx, i); err != nil {
			return err
		}
		count, err := t.tables.Histogram(ctx, name)
		if err != nil {
			return err
		}
		for side, d := range count {
			line := distribution{name, "wb"[side : side+1], d.Legal, d.Draw, d.Win, d.Loss}
			if err := out.Encode(line); err != nil {
				return fmt.Errorf("write the line of %s: %w", name, err)
			}
		}
	}
	return nil
}

// list shows the endings as they stand when the site has started: with the
// basic mates built.
func (t *tabler) list(ctx context.Context) error {
	if _, err := t.tables.Need(t.endings...); err != nil {
		return err
	}
	if err := t.tables.Basic(ctx); err != nil {
		return err
	}
	w := tabwriter.NewWriter(t.std.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "ENDING\tSTATE\tSIZE\tLONGEST MATE\tBUILT IN")
	for _, name := range t.endings {
		info, err := t.tables.Info(name)
		if err != nil {
			return err
		}
		fmt.Fprintln(w, row(info))
	}
	return w.Flush()
}

// row is an ending's line of the list; what is not known before the build is a
// dash.
func row(i solver.Info) string {
	state, longest, took := "on demand", "-", "-"
	size := fmt.Sprintf("%.1f MiB", float64(i.Bytes)/(1<<20))
	switch {
	case i.Ready && i.Bytes == 0:
		state, size = "drawn", "-"
	case i.Ready:
		state, longest, took = "ready", strconv.Itoa(i.Longest), i.Took.Round(time.Millisecond).String()
	}
	return strings.Join([]string{i.Ending, state, size, longest, took}, "\t")
}

// peakBytes is the most memory that the process has held.
func peakBytes() (int64, error) {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		return 0, fmt.Errorf("ask for the memory used: %w", err)
	}
	return usage.Maxrss << 10, nil // Linux counts in KiB
}

// memoryLeft is what the machine and the process's control group still have; not
// known where the system does not tell.
func memoryLeft() (bytes int64, known bool) {
	if text, err := os.ReadFile("/proc/meminfo"); err == nil {
		bytes, known = available(string(text))
	}
	most, err1 := number("/sys/fs/cgroup/memory.max")
	used, err2 := number("/sys/fs/cgroup/memory.current")
	if err1 == nil && err2 == nil && (!known || most-used < bytes) {
		return most - used, true
	}
	return bytes, known
}

// available reads the line of /proc/meminfo that counts what programs can still
// have, in KiB.
func available(text string) (bytes int64, known bool) {
	for line := range strings.Lines(text) {
		if f := strings.Fields(line); len(f) > 1 && f[0] == "MemAvailable:" {
			n, err := strconv.ParseInt(f[1], 10, 64)
			return n << 10, err == nil
		}
	}
	return 0, false
}

// number reads a file that holds one number.
func number(path string) (int64, error) {
	text, err := os.ReadFile(path) //nolint:gosec // the callers name two files of the kernel's
	if err != nil {
		return 0, fmt.Errorf("read a memory limit: %w", err)
	}
	return strconv.ParseInt(strings.TrimSpace(string(text)), 10, 64)
}
