package main

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// uids are the user numbers of a process's threads.
func uids(t *testing.T, pid int) map[string]bool {
	t.Helper()
	tasks, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/status", pid))
	if err != nil || len(tasks) == 0 {
		t.Fatal("no such process", err)
	}
	found := map[string]bool{}
	for _, task := range tasks {
		text, err := os.ReadFile(task)
		if err != nil {
			continue // that thread has ended
		}
		_, rest, _ := strings.Cut(string(text), "Uid:\t")
		line, _, _ := strings.Cut(rest, "\n")
		found[line] = true
	}
	return found
}

// TestServeIsNotRoot: whoever starts it, the program that serves is the user of
// its data folder, in every thread, and stays it.
func TestServeIsNotRoot(t *testing.T) {
	s := startServer(t)
	info, err := os.Stat(filepath.Join(s.dir, "pg"))
	if err != nil {
		t.Fatal(err)
	}
	uid := strconv.Itoa(int(info.Sys().(*syscall.Stat_t).Uid))
	all := strings.Join([]string{uid, uid, uid, uid}, "\t")
	if got := uids(t, s.cmd.Process.Pid); uid == "0" || len(got) != 1 || !got[all] {
		t.Errorf("the folder is user %s's, the program is %v", uid, got)
	}
}

// TestDemoIsNotRoot: the same holds of the demo, which leaves no folder behind.
func TestDemoIsNotRoot(t *testing.T) {
	dir, err := os.MkdirTemp("", "drover-e2e-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, os.ModeSticky|0o777); err != nil { // as the system's temporary folder is
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "demo")
	cmd.Env = append(os.Environ(), "DROVER_TEST_RUN=1", "TMPDIR="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "Everybody in it is invented") {
		continue
	}
	for uid := range uids(t, cmd.Process.Pid) {
		if strings.HasPrefix(uid, "0\t") {
			t.Errorf("a thread of the demo is %s", uid)
		}
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("it ended with %v", err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("it left %v, %v", left, err)
	}
}

// TestServeRefusesAPlantedLog: a link where the database's log belongs is not
// followed, and what it leads to stays as it is.
func TestServeRefusesAPlantedLog(t *testing.T) {
	s := startServer(t)
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	_ = s.cmd.Wait() // it was told to end
	victim, log := filepath.Join(s.dir, "victim"), filepath.Join(s.dir, "pg/postgres.log")
	info, err := os.Stat(log)
	if err != nil {
		t.Fatal(err)
	}
	who := int(info.Sys().(*syscall.Stat_t).Uid)
	for _, err := range []error{os.WriteFile(victim, nil, 0o600), os.Remove(log), os.Symlink(victim, log),
		os.Lchown(log, who, who)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(os.Args[0], "serve")
	cmd.Env = append(os.Environ(), "DROVER_TEST_RUN=1", "DROVER_DATA="+filepath.Join(s.dir, "pg"),
		"DROVER_LISTEN="+s.listen)
	out, err := cmd.CombinedOutput()
	if err == nil || !strings.Contains(string(out), "postgres.log is a link") {
		t.Errorf("%v: %s", err, out)
	}
	if text, err := os.ReadFile(victim); err != nil || len(text) > 0 {
		t.Errorf("the file behind the link: %q, %v", text, err)
	}
}

// TestStopsInTime: within twenty seconds, with a request that never ends and a
// database of which no process hears anything.
func TestStopsInTime(t *testing.T) {
	s := startServer(t)
	conn, err := net.Dial("tcp", s.listen)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST /setup HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nContent-Length: 900\r\n"+
		"Content-Type: application/x-www-form-urlencoded\r\nExpect: 100-continue\r\n\r\n", s.listen, s.base)
	if line, err := bufio.NewReader(conn).ReadString('\n'); err != nil || !strings.Contains(line, " 100 ") {
		t.Fatalf("the form is not waited for: %q, %v", line, err)
	}
	for _, pid := range s.freezePostgres() {
		defer func() { _ = syscall.Kill(pid, syscall.SIGKILL) }() // it may have ended
	}
	began := time.Now()
	s.signal(syscall.SIGTERM)
	_ = s.cmd.Wait() // that it ends is what matters
	if took := time.Since(began); took > 20*time.Second {
		t.Errorf("it took %v", took)
	} else {
		t.Logf("it took %v", took)
	}
}

// freezePostgres stops every process of the database, which it returns.
func (s *server) freezePostgres() (pids []int) {
	s.Helper()
	first := s.postmaster()
	children, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", first, first))
	if err != nil {
		s.Fatal(err)
	}
	pids = append(pids, first)
	for f := range strings.FieldsSeq(string(children)) {
		pid, err := strconv.Atoi(f)
		if err != nil {
			s.Fatal(err)
		}
		pids = append(pids, pid)
	}
	for _, pid := range pids {
		if err := syscall.Kill(pid, syscall.SIGSTOP); err != nil {
			s.Fatal(err)
		}
	}
	return pids
}
