package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// tick is the unit of times in /proc, on every Linux that Go runs on.
const tick = 10 * time.Millisecond

// stat are the fields of /proc/PID/stat from the third on, which follow the program's
// name in brackets.
func stat(pid string) ([]string, error) {
	text, err := os.ReadFile(filepath.Join("/proc", pid, "stat")) //nolint:gosec // a process's number
	if err != nil {
		return nil, fmt.Errorf("look at process %s: %w", pid, err)
	}
	_, rest, found := strings.Cut(string(text), ") ")
	fields := strings.Fields(rest)
	if !found || len(fields) < 15 {
		return nil, errors.New("/proc has another shape than this program knows")
	}
	return fields, nil
}

// used is the processor time of a process, with that of its children which have ended
// if ended is set.
func used(fields []string, ended bool) time.Duration {
	last := 12 // utime and stime stand at 11 and 12, those of ended children after them
	if ended {
		last = 14
	}
	sum := time.Duration(0)
	for _, f := range fields[11 : last+1] {
		n, _ := strconv.ParseInt(f, 10, 64) // the kernel writes numbers
		sum += time.Duration(n) * tick
	}
	return sum
}

// family is the processor time of a process and all its children.
func family(pid int) (time.Duration, error) {
	fields, err := stat(strconv.Itoa(pid))
	if err != nil {
		return 0, err
	}
	sum := used(fields, true)
	all, _ := filepath.Glob("/proc/[0-9]*") // the pattern is a constant
	for _, dir := range all {
		fields, err := stat(filepath.Base(dir))
		if err == nil && fields[1] == strconv.Itoa(pid) { // else it has just ended
			sum += used(fields, false)
		}
	}
	return sum, nil
}

// resident is the memory of a process that is in RAM, in bytes.
func resident(pid int) (int64, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", pid))
	if err != nil {
		return 0, fmt.Errorf("look at process %d: %w", pid, err)
	}
	pages, err := strconv.ParseInt(strings.Fields(string(text))[1], 10, 64)
	if err != nil {
		return 0, fmt.Errorf("look at process %d: %w", pid, err)
	}
	return pages * int64(os.Getpagesize()), nil
}

// machine is the processor time that all programs have used, on all cores.
func machine() (time.Duration, error) {
	text, err := os.ReadFile("/proc/stat")
	if err != nil {
		return 0, fmt.Errorf("look at the machine: %w", err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	fields := strings.Fields(first)
	if len(fields) < 9 {
		return 0, errors.New("/proc has another shape than this program knows")
	}
	sum := time.Duration(0)
	for _, i := range []int{1, 2, 3, 6, 7, 8} { // without 4 and 5, in which nobody works
		n, _ := strconv.ParseInt(fields[i], 10, 64) // the kernel writes numbers
		sum += time.Duration(n) * tick
	}
	return sum, nil
}

// meter is the processor time that everybody has used so far.
type meter struct{ all, node, postgres, driver time.Duration }

// read takes the meter.
func (w *world) read() (m meter, err error) {
	fields, err := stat(strconv.Itoa(w.node.Process.Pid))
	if err != nil {
		return m, err
	}
	m.node = used(fields, false)
	if m.postgres, err = family(w.postmaster); err != nil {
		return m, err
	}
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return m, fmt.Errorf("look at the driver: %w", err)
	}
	m.driver = time.Duration(u.Utime.Nano() + u.Stime.Nano())
	m.all, err = machine()
	return m, err
}

// spent measures what everybody uses while something is done.
func (w *world) spent(do func() error) (m meter, err error) {
	before, err := w.read()
	if err != nil {
		return m, err
	}
	if err := do(); err != nil {
		return m, err
	}
	after, err := w.read()
	if err != nil {
		return m, err
	}
	return after.less(before), nil
}

// less is what was used since another meter was read.
func (m meter) less(before meter) meter {
	return meter{m.all - before.all, m.node - before.node, m.postgres - before.postgres, m.driver - before.driver}
}

// String is who used how much of all that the machine's processors did. What is left for
// others may come out a little below nothing, since the clocks tick apart.
func (m meter) String() string {
	share := func(d time.Duration) float64 { return max(0, 100*d.Seconds()/max(m.all.Seconds(), 0.01)) }
	return fmt.Sprintf("server %.0f %%, Postgres %.0f %%, driver %.0f %%, others %.0f %% of %.1f s", share(m.node),
		share(m.postgres), share(m.driver), share(m.all-m.node-m.postgres-m.driver), m.all.Seconds())
}
