package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"

	"drover/store"
	"drover/store/backup"
	"drover/store/private"
)

// backupCommand writes a backup. Encryption, rotation and a timer of its own come later.
type backupCommand struct {
	File string `arg:"" help:"A file that is not there yet; - for standard output, which is not noted as a backup, since nobody knows whether it was kept."`
}

// Run writes a backup and says what it holds.
func (c backupCommand) Run(ctx context.Context, std streams) error {
	a, err := beside(std)
	if err != nil {
		return err
	}
	defer a.close()
	if c.File == "-" {
		return a.backup(ctx, std.out)
	}
	made, err := keepFile(c.File, func(f *os.File) error {
		if a.settings.Database == "" && os.Geteuid() == 0 {
			return backupAsChild(ctx, f, std)
		}
		return a.backup(ctx, f)
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(std.out, "%s holds the site as it was on %s: %s and %s.\n"+
		"It holds children's data and keys: keep it as safe as the club's papers, and not on this machine alone.\n",
		c.File, made.At.Format("2 January 2006, 15:04 UTC"), folk(made.People), count(made.Games, "game"))
	if err := a.noteBackup(ctx, store.Backup{At: made.At, Bytes: made.Bytes}); err != nil {
		a.log.Warn("the backup is good, but the site's settings page will not tell of it", "err", err)
	}
	return nil
}

// backup writes a backup of the database and the key that the settings lead to.
func (a *app) backup(ctx context.Context, w io.Writer) error {
	at, _, err := a.reach(ctx)
	if err != nil {
		return err
	}
	key := a.settings.Key
	if len(key) == 0 {
		if key, err = private.KeyThere(a.settings.Data); err != nil {
			return err
		}
	}
	erased, err := a.erasedBefore()
	if err != nil {
		return err
	}
	return backup.Write(ctx, w, backup.Source{URL: at.Owner, Key: key, Erased: erased, Program: version(), At: a.now()})
}

// backupAsChild lets a child of this program write, which becomes the data folder's user:
// that user may not be able to write where root wants the file.
func backupAsChild(ctx context.Context, f *os.File, std streams) error {
	me, err := os.Executable()
	if err != nil {
		return fmt.Errorf("find this program: %w", err)
	}
	cmd := exec.CommandContext(ctx, me, "backup", "-") //nolint:gosec // this program itself
	cmd.Stdout, cmd.Stderr = f, std.err
	if err := cmd.Run(); err != nil {
		return errShown
	}
	return nil
}

// noteBackup notes when a backup was made and how long its file is, so that the site can say.
func (a *app) noteBackup(ctx context.Context, b store.Backup) error {
	at, _, err := a.reach(ctx)
	if err != nil {
		return err
	}
	if err := a.openAt(ctx, at.App); err != nil {
		return err
	}
	return a.store.NoteBackup(ctx, b)
}

// keepFile makes a file of a name that is not there yet. It is written beside it, for its
// user's eyes alone from the first byte on, read through once more, and only then named.
func keepFile(name string, write func(*os.File) error) (*backup.File, error) {
	for _, file := range []string{name, name + listEnding} {
		if _, err := os.Lstat(file); !errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("%s is there already, and a backup never replaces a file. Give another name", file)
		}
	}
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".unfinished-*") // with mode 0600
	if err != nil {
		return nil, fmt.Errorf("make the file: %w", err)
	}
	defer func() { _ = os.Remove(f.Name()) }() // it has its own name by then, or is good for nothing
	defer f.Close()
	if err := write(f); err != nil {
		return nil, err
	}
	if err := f.Sync(); err != nil {
		return nil, fmt.Errorf("write the file to the disk: %w", err)
	}
	made, err := backup.Open(f)
	if err != nil {
		return nil, fmt.Errorf("the file does not read as it was written. Look after the disk: %w", err)
	}
	if err := keepList(name+listEnding, made.Erased.Text()); err != nil {
		return nil, err
	}
	if err := entitle(f.Name(), name); err != nil {
		return nil, fmt.Errorf("name the file: %w", err)
	}
	return made, syncFolder(filepath.Dir(name))
}

// listEnding is what the list of who was erased is called beyond its backup. The latest list
// belongs to every backup, the older ones too.
const listEnding = ".erased"

// keepList writes the list beside the backup, as the backup itself is written.
func keepList(name, text string) error {
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".unfinished-*") // with mode 0600
	if err != nil {
		return fmt.Errorf("make the list of who was erased: %w", err)
	}
	defer func() { _ = os.Remove(f.Name()) }() // it has its own name by then
	_, err = f.WriteString(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("write the list of who was erased: %w", err)
	}
	return entitle(f.Name(), name)
}

// entitle gives a file its name, and replaces nothing. A disk that knows no second name for a
// file, such as a memory stick's, has it renamed.
func entitle(now, name string) error {
	err := os.Link(now, name)
	if err == nil || errors.Is(err, os.ErrExist) {
		return err //nolint:wrapcheck // it names both
	}
	if _, err := os.Lstat(name); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s has come into being meanwhile", name)
	}
	return os.Rename(now, name) //nolint:wrapcheck // the same
}

// syncFolder writes to the disk which names a folder has.
func syncFolder(dir string) error {
	d, err := os.Open(dir) //nolint:gosec // whoever runs the program names it
	if err != nil {
		return fmt.Errorf("open the folder: %w", err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("write the folder to the disk: %w", err)
	}
	return nil
}

// folk counts people.
func folk(n int64) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}
