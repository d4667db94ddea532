package site

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"unicode/utf8"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// Form reads a posted form into a struct; a field that it does not have is
// refused. Its files stay in memory, and never lie on a disk.
func (s *Site) Form(r *http.Request, into any) error {
	err := r.ParseForm()
	if err == nil {
		err = r.ParseMultipartForm(mostInMemory) //nolint:gosec // limitBody bounds every body
	}
	if err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return game.Wrap(game.Bad, "This form could not be read. Load the page again and fill it in once more.", err)
	}
	for _, values := range r.PostForm {
		for _, v := range values {
			if !utf8.ValidString(v) || strings.ContainsRune(v, 0) {
				return game.Fail(game.Bad,
					"This form has characters in it that cannot be kept. Load the page again and type it in once more.")
			}
		}
	}
	if err := s.decoder.Decode(into, r.PostForm); err != nil {
		return game.Wrap(game.Bad,
			"This form has something in it that does not belong there. Load the page again and fill it in once more.", err)
	}
	return nil
}

// mostInMemory is more than any body that is read.
const mostInMemory = 16 << 20

// File is the file of a form that was read, and its size; empty where none was chosen. Of
// one that is larger than most nothing is read.
func (s *Site) File(r *http.Request, name string, most int64) (data []byte, size int64, err error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File[name]) == 0 {
		return nil, 0, nil
	}
	head := r.MultipartForm.File[name][0]
	if head.Size > most {
		return nil, head.Size, nil
	}
	f, err := head.Open()
	if err != nil {
		return nil, 0, fmt.Errorf("open a file of a form: %w", err)
	}
	defer f.Close()
	if data, err = io.ReadAll(f); err != nil {
		return nil, 0, fmt.Errorf("read a file of a form: %w", err)
	}
	return data, head.Size, nil
}

// OnceForm is the field of every form that makes something: the id that its page
// gave it.
type OnceForm struct {
	Once string `schema:"once"`
}

// Sent says how the form that was read arrived, so that it makes a thing only
// once. What was typed belongs to the id: if the browser brings an old page
// back and another name is typed there, the form makes another thing.
func (s *Site) Sent(r *http.Request) store.Sent {
	in := store.Sent{Session: s.Token(r)}
	if r.PostForm.Get("once") != "" {
		digest := sha256.Sum256([]byte(r.URL.Path + "\n" + r.PostForm.Encode()))
		in.Form = digest[:]
	}
	return in
}

// Problems takes the marked fields out of an error; other errors come back.
func Problems(err error) (view.Errors, error) {
	var p club.Problems
	if errors.As(err, &p) {
		return view.Errors(p), nil
	}
	return nil, err
}

// Refused is the status with which a form comes back, filled in: some fields need another
// look, or somebody else was first.
func Refused(err error) (status int, is bool) {
	kind := game.KindOf(err)
	return Statuses[kind], kind == game.Bad || kind == game.Conflict
}

// ID reads a number from the address.
func ID[T ~int64](r *http.Request, name string) (T, error) {
	n, err := strconv.ParseInt(chi.URLParam(r, name), 10, 64)
	if err != nil || n <= 0 {
		return 0, Missing()
	}
	return T(n), nil
}
