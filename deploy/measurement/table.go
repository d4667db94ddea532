package main

import (
	"fmt"
	"io"
	"time"
)

// line is one figure with the goal beside it.
type line struct {
	what, figure, goal string
	missed             bool
}

// table is all that was measured.
type table struct{ lines []line }

// add writes down a figure without a goal.
func (t *table) add(what, figure string, args ...any) {
	t.lines = append(t.lines, line{what: what, figure: fmt.Sprintf(figure, args...)})
}

// judge writes down a figure that has a goal.
func (t *table) judge(met bool, goal, what, figure string, args ...any) {
	t.lines = append(t.lines, line{what, fmt.Sprintf(figure, args...), goal, !met})
}

// print writes the table as Markdown; what was missed is in bold.
func (t *table) print(out io.Writer) {
	fmt.Fprintln(out, "\n| what | figure | goal |\n|---|---|---|")
	for _, l := range t.lines {
		if l.missed {
			l.figure, l.goal = "**"+l.figure+"**", l.goal+": missed"
		}
		fmt.Fprintf(out, "| %s | %s | %s |\n", l.what, l.figure, l.goal)
	}
}

// ms is a time in milliseconds.
func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// kib is a number of bytes in KiB.
func kib(bytes int64) float64 { return float64(bytes) / (1 << 10) }
