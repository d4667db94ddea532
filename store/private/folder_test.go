package private_test

import (
	"fmt"
	"os"
	"os/exec"
	osuser "os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"drover/store/private"
)

// give gives a folder and all in it to the user postgres, if root runs the
// tests.
func give(t *testing.T, dir string) {
	t.Helper()
	if os.Geteuid() != 0 {
		return
	}
	u, err := osuser.Lookup("postgres")
	if err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("chown", "-R", "-h", u.Username+":", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}

func owner(t *testing.T, path string) int {
	t.Helper()
	info, err := os.Lstat(path)
	if err != nil {
		t.Fatal(err)
	}
	return int(info.Sys().(*syscall.Stat_t).Uid)
}

func asRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("only root can give root up")
	}
}

func do(t *testing.T, errs ...error) {
	t.Helper()
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
}

// TestRootIsGivenUpForGood: in the process that runs the database every thread
// is the folder's user, in no group but its own, and cannot become root again.
func TestRootIsGivenUpForGood(t *testing.T) {
	if dir := os.Getenv("DROVER_TEST_BECOME"); dir != "" {
		do(t, private.Become(dir))
		fmt.Println("again:", syscall.Setuid(0), syscall.Setgid(0), syscall.Setgroups([]int{0}))
		status, err := os.ReadFile("/proc/thread-self/status")
		do(t, err)
		fmt.Println(string(status))
		return
	}
	asRoot(t)
	t.Parallel()
	dir := folder(t)
	cmd := exec.Command(os.Args[0], "-test.run=^TestRootIsGivenUpForGood$")
	cmd.Env = append(os.Environ(), "DROVER_TEST_BECOME="+dir)
	out, err := cmd.CombinedOutput()
	do(t, err)
	who, err := osuser.LookupId(strconv.Itoa(owner(t, dir)))
	do(t, err)
	for _, want := range []string{
		"again: operation not permitted operation not permitted operation not permitted",
		"Uid:\t" + strings.Repeat(who.Uid+"\t", 3) + who.Uid + "\n", "Gid:\t" +
			strings.Repeat(who.Gid+"\t", 3) + who.Gid + "\n",
		"Groups:\t \n", "CapPrm:\t0000000000000000", "CapEff:\t0000000000000000",
	} {
		if !strings.Contains(string(out), want) {
			t.Errorf("want %q: %s", want, out)
		}
	}
	if who.Uid == "0" {
		t.Error("the folder is root's")
	}
}

// TestEveryThreadIsTheFoldersUser: of the program that serves, too.
func TestEveryThreadIsTheFoldersUser(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s := start(t, dir)
	tasks, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/status", s.PID()))
	do(t, err)
	uid := strconv.Itoa(owner(t, dir))
	for _, task := range tasks {
		if text, err := os.ReadFile(task); err == nil &&
			!strings.Contains(string(text), "Uid:\t"+strings.Repeat(uid+"\t", 3)+uid+"\n") {
			t.Errorf("%s is not %s: %s", task, uid, text)
		}
	}
	if len(tasks) < 2 || uid == "0" {
		t.Errorf("%d threads of user %s", len(tasks), uid)
	}
}

// TestPlantedLinksAreNotFollowed: a link that the folder's user has planted
// under a name of ours stops the start, and what it leads to stays as it is.
func TestPlantedLinksAreNotFollowed(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"postgres.log", "lock", "data/PG_VERSION"} {
		dir := folder(t)
		victim := filepath.Join(filepath.Dir(dir), "victim")
		do(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700), os.WriteFile(victim, []byte("15\n"), 0o644))
		do(t, os.Symlink(victim, filepath.Join(dir, name)))
		give(t, dir)
		refused(t, dir, filepath.Join(dir, name)+" is a link, or no file of the user that runs Drover. Look where it leads")
		untouched(t, victim)
	}
	dir := folder(t)
	victim := filepath.Join(filepath.Dir(dir), "victim")
	do(t, os.Mkdir(dir, 0o700), os.Mkdir(victim, 0o755), os.Symlink(victim, filepath.Join(dir, "run")))
	give(t, dir)
	refused(t, dir, "is a link or no folder")
	if info, err := os.Stat(victim); err != nil || info.Mode().Perm() != 0o755 {
		t.Errorf("the folder behind run: %v, %v", info.Mode(), err)
	}
}

func untouched(t *testing.T, victim string) {
	t.Helper()
	text, err := os.ReadFile(victim)
	info, err2 := os.Stat(victim)
	do(t, err, err2)
	if string(text) != "15\n" || info.Mode().Perm() != 0o644 || owner(t, victim) != os.Geteuid() {
		t.Errorf("%q, %v, user %d", text, info.Mode(), owner(t, victim))
	}
}

// TestFilesThatRootMadeAreTakenOver: an earlier version left its lock and its
// log as root's. The lock is handed over, the log set aside; another file of
// root's, planted under their names, is neither given away nor written to.
func TestFilesThatRootMadeAreTakenOver(t *testing.T) {
	asRoot(t)
	t.Parallel()
	dir := folder(t)
	do(t, os.MkdirAll(filepath.Join(dir, "run"), 0o700))
	give(t, dir)
	do(t, os.Chown(filepath.Join(dir, "run"), 0, 0), os.WriteFile(filepath.Join(dir, "lock"), nil, 0o600),
		os.WriteFile(filepath.Join(dir, "postgres.log"), []byte("earlier\n"), 0o600))
	start(t, dir).Stop()
	start(t, dir).Stop()
	for _, name := range []string{"lock", "postgres.log", "run"} {
		if owner(t, filepath.Join(dir, name)) != owner(t, dir) {
			t.Errorf("%s is user %d's", name, owner(t, filepath.Join(dir, name)))
		}
	}
	if text, err := os.ReadFile(filepath.Join(dir, "postgres.log.old")); err != nil || string(text) != "earlier\n" {
		t.Errorf("the log of before: %q, %v", text, err)
	}

	dir = folder(t)
	victim := filepath.Join(filepath.Dir(dir), "victim")
	do(t, os.Mkdir(dir, 0o700), os.WriteFile(victim, []byte("15\n"), 0o644))
	give(t, dir)
	do(t, os.Link(victim, filepath.Join(dir, "lock")), os.Link(victim, filepath.Join(dir, "postgres.log")))
	refused(t, dir, "")
	untouched(t, victim)
}

// TestOnlyPlainFilesOfOursAreOpened: no link, no second name, no pipe, nothing
// of another's.
func TestOnlyPlainFilesOfOursAreOpened(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	do(t, os.WriteFile(at("plain"), nil, 0o600), os.WriteFile(at("twice"), nil, 0o600), os.Link(at("twice"), at("again")),
		os.Symlink(at("plain"), at("link")), syscall.Mkfifo(at("pipe"), 0o600), os.Mkdir(at("folder"), 0o700))
	for name, opens := range map[string]bool{"plain": true, "twice": false, "again": false, "link": false, "pipe": false,
		"folder": false} {
		f, err := private.Plain(dir, name)
		if err == nil {
			f.Close()
		}
		if (err == nil) != opens || err != nil && !strings.Contains(err.Error(), "move it away and start again") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if os.Geteuid() == 0 {
		do(t, os.Chown(at("plain"), 1, 1))
		if _, err := private.Plain(dir, "plain"); err == nil {
			t.Error("another's file is opened")
		}
	}
}

// TestFoldersThatOthersCanReachAreRefused: each with what to do.
func TestFoldersThatOthersCanReachAreRefused(t *testing.T) {
	t.Parallel()
	for _, mode := range []os.FileMode{0o777, 0o770, 0o702} {
		dir := folder(t)
		do(t, os.Mkdir(dir, 0o700), os.Chmod(dir, mode))
		give(t, dir)
		refused(t, dir, "others can write to the data folder "+dir+". Look at what is in it and close it with chmod go-w")
	}
	dir := folder(t)
	do(t, os.Mkdir(dir+"-real", 0o700))
	give(t, dir+"-real")
	do(t, os.Symlink(dir+"-real", dir))
	refused(t, dir, "is a link or no folder. Give the folder itself")
	do(t, os.WriteFile(dir+"-file", nil, 0o600))
	refused(t, dir+"-file", "")
}

// TestRootGivesNothingOfOthersAway: neither a folder with things in it that are
// not ours, nor one on a path that another user rules, nor one whose database
// is root's.
func TestRootGivesNothingOfOthersAway(t *testing.T) {
	asRoot(t)
	t.Parallel()
	dir := folder(t)
	do(t, os.Mkdir(dir, 0o700), os.WriteFile(filepath.Join(dir, "passwords"), nil, 0o600))
	refused(t, dir, "holds other things, such as passwords")
	if owner(t, dir) != 0 {
		t.Error("it was given away")
	}

	dir = folder(t)
	do(t, os.MkdirAll(filepath.Join(dir, "data"), 0o700))
	refused(t, dir, "with chown -R")

	theirs := folder(t)
	do(t, os.Mkdir(theirs, 0o755))
	give(t, theirs)
	refused(t, filepath.Join(theirs, "new"), "is another user's. Make the data folder yourself")
	do(t, os.Symlink("/tmp", filepath.Join(theirs, "link")), os.Chown(theirs, 0, 0),
		os.Lchown(filepath.Join(theirs, "link"), 1, 1))
	refused(t, filepath.Join(theirs, "link", "new"), "is another user's")

	open := folder(t)
	do(t, os.Mkdir(open, 0o755), os.Chmod(open, 0o777))
	refused(t, filepath.Join(open, "new"), "everybody can write to "+open)
	for _, path := range []string{filepath.Join(theirs, "new"), filepath.Join(open, "new"), "/tmp/new"} {
		if _, err := os.Lstat(path); err == nil {
			t.Errorf("%s was made", path)
		}
	}
}

// TestFolderGoesToItsOwner: a folder that is there is run as its owner; one
// that root has made is given away, and closed to others.
func TestFolderGoesToItsOwner(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	do(t, os.Mkdir(dir, 0o755))
	if os.Geteuid() == 0 {
		do(t, os.Chown(dir, 1, 1))
	}
	want := owner(t, dir)
	start(t, dir).Stop()
	if got := owner(t, filepath.Join(dir, "data")); got != want || owner(t, dir) != want {
		t.Errorf("the database is user %d's, the folder %d's, it was %d's", got, owner(t, dir), want)
	}
	for _, path := range []string{dir, filepath.Join(dir, "run")} {
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o700 {
			t.Errorf("%s: %v, %v", path, info.Mode(), err)
		}
	}
	made := folder(t)
	do(t, os.Mkdir(made, 0o755))
	start(t, made).Stop()
	if owner(t, made) == 0 {
		t.Error("root's folder stays root's")
	}
}
