package private

import (
	"errors"
	"fmt"
	"os"
	osuser "os/user"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
)

// ours are the names that Drover keeps in a data folder.
var ours = []string{"data", "data.new", "run", "lock", "postgres.log", "run.old", "postgres.log.old", "key", "key.new", "key.old",
	"erased.txt"}

// elsewhere ends a sentence about a folder that will not do.
const elsewhere = "or choose another folder with DROVER_DATA"

// person is a user of the system.
type person struct {
	name     string
	uid, gid int
}

// Become makes the data folder if root runs the program and there is none, and
// then becomes the folder's user for good: the owner of a folder that is there,
// else the user postgres or nobody. A plain user stays who it is. What only
// root can do, such as opening a low port, comes before it, and everything that
// touches what is in the folder comes after it.
func Become(dir string) error {
	if os.Geteuid() != 0 {
		return nil
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	who, err := handOver(dir)
	if err != nil {
		return err
	}
	return who.become()
}

// become gives up root for the whole process, and makes sure of it.
func (p person) become() error {
	for _, err := range []error{
		syscall.Setgroups(nil), syscall.Setresgid(p.gid, p.gid, p.gid), syscall.Setresuid(p.uid, p.uid, p.uid),
	} {
		if err != nil {
			return fmt.Errorf("root cannot become the user %s: %w. Run Drover as a plain user", p.name, err)
		}
	}
	if syscall.Setuid(0) == nil {
		return errors.New("the program could become root again. Run Drover as a plain user")
	}
	return nil
}

// handOver makes the folder as root and gives it to its user, whom it returns.
func handOver(dir string) (person, error) {
	owner := 0
	info, err := os.Lstat(dir)
	switch {
	case err == nil:
		owner = ownerOf(info)
	case !errors.Is(err, os.ErrNotExist):
		return person{}, fmt.Errorf("look at the data folder: %w", err)
	}
	if err := guarded(filepath.Dir(dir), owner); err != nil {
		return person{}, err
	}
	if err := makeFolder(dir); err != nil {
		return person{}, err
	}
	d, info, err := openFolder(dir)
	if err != nil {
		return person{}, err
	}
	defer d.Close()
	if ownerOf(info) != owner {
		return person{}, fmt.Errorf("the data folder %s changed hands meanwhile. Start again, %s", dir, elsewhere)
	}
	who, err := heir(d, dir, owner)
	if err == nil {
		err = who.inherit(d, owner)
	}
	return who, err
}

// makeFolder makes the folder, and those above it that are missing.
func makeFolder(dir string) error {
	err := os.MkdirAll(filepath.Dir(dir), 0o755) //nolint:gosec // root's own, and the user has to pass
	if err == nil {
		err = os.Mkdir(dir, 0o700)
	}
	if err != nil && !errors.Is(err, os.ErrExist) {
		return fmt.Errorf("the data folder %s cannot be made: %w. Mend that, %s", dir, err, elsewhere)
	}
	return nil
}

// guarded refuses a path on which somebody but root and the folder's owner
// could put another folder in the place of the one that is meant. It looks at
// the path as it is written and as its links lead.
func guarded(dir string, owner int) error {
	for {
		if _, err := os.Lstat(dir); !errors.Is(err, os.ErrNotExist) {
			break
		}
		dir = filepath.Dir(dir)
	}
	real, err := filepath.EvalSymlinks(dir)
	if err != nil {
		return fmt.Errorf("look at the path of the data folder: %w", err)
	}
	for _, path := range []string{dir, real} {
		for ; ; path = filepath.Dir(path) {
			info, err := os.Lstat(path)
			if err != nil {
				return fmt.Errorf("look at the path of the data folder: %w", err)
			}
			if who := ownerOf(info); who != 0 && who != owner {
				return fmt.Errorf("%s, on the path of the data folder, is another user's. Make the data folder yourself "+
					"and give it to the user that Drover is to run as, %s", path, elsewhere)
			}
			if m := info.Mode(); m.IsDir() && m.Perm()&0o002 != 0 && m&os.ModeSticky == 0 {
				return fmt.Errorf("everybody can write to %s, on the path of the data folder. Close it with chmod o-w, %s",
					path, elsewhere)
			}
			if path == filepath.Dir(path) {
				break
			}
		}
	}
	return nil
}

// openFolder opens a data folder that is no link and that nobody else can
// write to.
func openFolder(dir string) (*os.File, os.FileInfo, error) {
	info, err := os.Lstat(dir)
	if err == nil && !info.IsDir() {
		return nil, nil, fmt.Errorf("the data folder %s is a link or no folder. Give the folder itself, %s", dir, elsewhere)
	}
	var d *os.File
	if err == nil {
		const flags = os.O_RDONLY | syscall.O_DIRECTORY | syscall.O_NOFOLLOW
		d, err = os.OpenFile(dir, flags, 0) //nolint:gosec // whoever runs the program names it
	}
	if err != nil {
		return nil, nil, fmt.Errorf("the data folder %s cannot be opened: %w. Make it reachable, %s", dir, err, elsewhere)
	}
	info, err = d.Stat()
	if err == nil && info.Mode().Perm()&0o022 != 0 {
		err = fmt.Errorf("others can write to the data folder %s. Look at what is in it and close it with chmod go-w, %s",
			dir, elsewhere)
	}
	if err != nil {
		_ = d.Close() // it was only looked at
		return nil, nil, err
	}
	return d, info, nil
}

// heir is the user that a folder belongs to or is given to. A folder of root's
// is given away only if nothing but ours is in it.
func heir(d *os.File, dir string, owner int) (person, error) {
	if owner != 0 {
		return byID(owner)
	}
	names, err := d.Readdirnames(-1)
	if err != nil {
		return person{}, fmt.Errorf("look into the data folder: %w", err)
	}
	for _, name := range names {
		if !slices.Contains(ours, name) {
			return person{}, fmt.Errorf("the data folder %s belongs to root and holds other things, such as %s. "+
				"Give an empty folder, %s", dir, name, elsewhere)
		}
	}
	info, err := os.Lstat(filepath.Join(dir, "data"))
	if errors.Is(err, os.ErrNotExist) {
		return newcomer()
	}
	if err == nil && ownerOf(info) == 0 {
		err = errors.New("it belongs to root, as which Postgres does not run. " +
			"Give it to the user that Drover is to run as, with chown -R")
	}
	if err != nil {
		return person{}, fmt.Errorf("the database in %s: %w", dir, err)
	}
	return byID(ownerOf(info))
}

// inherit gives root's folder to its user, and the lock that root made in it
// while the program still ran as root: an empty file with one name, which can
// be nothing else of root's.
func (p person) inherit(d *os.File, owner int) error {
	if owner == 0 {
		if err := d.Chown(p.uid, p.gid); err != nil {
			return fmt.Errorf("give the data folder to the user %s: %w", p.name, err)
		}
	}
	const flags = syscall.O_RDONLY | syscall.O_NOFOLLOW | syscall.O_NONBLOCK | syscall.O_CLOEXEC
	fd, err := syscall.Openat(int(d.Fd()), "lock", flags, 0)
	if err != nil {
		return nil //nolint:nilerr // there is none, or it is a link, which the start refuses as the user
	}
	f := os.NewFile(uintptr(fd), "lock")
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() || info.Size() != 0 || ownerOf(info) != 0 || !oneName(info) {
		return err
	}
	if err := f.Chown(p.uid, p.gid); err != nil {
		return fmt.Errorf("give the lock to the user %s: %w", p.name, err)
	}
	return nil
}

// newcomer is the user for a new folder.
func newcomer() (person, error) {
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := osuser.Lookup(name); err == nil {
			return personOf(u)
		}
	}
	return person{}, errors.New("root runs Drover, and there is no user postgres or nobody to become. " +
		"Run Drover as a plain user")
}

// byID finds a user by number.
func byID(uid int) (person, error) {
	u, err := osuser.LookupId(strconv.Itoa(uid))
	if err != nil {
		return person{}, fmt.Errorf("the user number %d has no name on this machine, and Postgres needs one: %w", uid, err)
	}
	return personOf(u)
}

func personOf(u *osuser.User) (person, error) {
	uid, err1 := strconv.Atoi(u.Uid)
	gid, err2 := strconv.Atoi(u.Gid)
	if err := errors.Join(err1, err2); err != nil {
		return person{}, fmt.Errorf("the user %s: %w", u.Username, err)
	}
	return person{u.Username, uid, gid}, nil
}

func ownerOf(info os.FileInfo) int { return int(info.Sys().(*syscall.Stat_t).Uid) }

func oneName(info os.FileInfo) bool { return info.Sys().(*syscall.Stat_t).Nlink == 1 }
