package backup

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"drover/migrations"
	"drover/store"
)

// File is a backup that was read through and found whole.
type File struct {
	Manifest

	Bytes int64
	Key   []byte

	Erased store.ErasedList // who was erased so far

	dump *zip.File
}

// mostSmall is the longest that a part may be that is read at once.
const mostSmall = 64 << 20

// begins is what a zip archive begins with.
const begins = "PK\x03\x04"

// Refusals of a file.
var (
	errNoBackup = errors.New("this is no backup of Drover. Give a file that drover backup has written")
	errCut      = errors.New("this backup is cut short: its end is missing. Copy it once more, or take another one")
	errChanged  = errors.New("this backup was changed after it was written, or is damaged. Copy it once more, or take another one")
)

// Open reads a backup through: it refuses a file that is none, or is cut short, or was
// changed, or is of a later version than this program.
func Open(f *os.File) (*File, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("look at the backup: %w", err)
	}
	first := make([]byte, len(begins))
	if n, _ := f.ReadAt(first, 0); n < len(begins) || string(first) != begins { // a shorter file is none
		return nil, errNoBackup
	}
	z, err := zip.NewReader(f, info.Size())
	if err != nil {
		return nil, errCut //nolint:nilerr // the reason is always that the directory at the end cannot be read
	}
	b := &File{Bytes: info.Size()}
	return b, b.read(z)
}

func (b *File) read(z *zip.Reader) error {
	parts := map[string]*zip.File{}
	for _, part := range z.File {
		parts[part.Name] = part
	}
	text, err := small(parts[manifestName])
	if err != nil {
		return err
	}
	if json.Unmarshal(text, &b.Manifest) != nil || b.Drover == "" {
		return errNoBackup
	}
	if b.Format > Format || b.Schema > migrations.Latest {
		return fmt.Errorf("this backup is of a later Drover (%s, schema step %d; this program knows %d). Install that one first",
			b.Drover, b.Schema, migrations.Latest)
	}
	for _, name := range []string{dumpName, keyName, erasedName, sumsName} {
		if parts[name] == nil {
			return errChanged
		}
	}
	if err := whole(parts); err != nil {
		return err
	}
	b.dump = parts[dumpName]
	if b.Key, err = small(parts[keyName]); err != nil {
		return err
	}
	if text, err = small(parts[erasedName]); err != nil {
		return err
	}
	b.Erased, err = store.ReadErasedList(string(text))
	return err //nolint:wrapcheck // it says which line of what
}

// small reads a short part.
func small(part *zip.File) ([]byte, error) {
	if part == nil {
		return nil, errNoBackup
	}
	r, err := part.Open()
	if err != nil {
		return nil, errChanged
	}
	defer r.Close()
	text, err := io.ReadAll(io.LimitReader(r, mostSmall))
	if err != nil {
		return nil, errChanged
	}
	return text, nil
}

// whole holds every part against its sum.
func whole(parts map[string]*zip.File) error {
	text, err := small(parts[sumsName])
	if err != nil {
		return err
	}
	said := map[string]string{}
	for line := range strings.Lines(string(text)) {
		sum, name, _ := strings.Cut(strings.TrimSpace(line), "  ")
		said[name] = sum
	}
	if len(said) != len(parts)-1 {
		return errChanged
	}
	for name, part := range parts {
		if name == sumsName {
			continue
		}
		r, err := part.Open()
		if err != nil {
			return errChanged
		}
		sum := sha256.New()
		_, err = io.Copy(sum, r) //nolint:gosec // nothing is unpacked: what is read is only added up
		if err := errors.Join(err, r.Close()); err != nil || said[name] != fmt.Sprintf("%x", sum.Sum(nil)) {
			return errChanged
		}
	}
	return nil
}
