// Package static holds the files a browser fetches beside the pages: style
// sheets, ES modules, one SVG sprite, and what a browser needs to keep the site as an
// app: a manifest and its icons. They are embedded, so the program is one
// file, and served under a checksum of the whole tree: a page that names
// /static/<sum>/css/drover.css may keep it for ever, and relative imports between
// modules stay inside the same version without a build step.
package static

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"
)

//go:embed css/*.css js/*.js img/*.svg img/*.png drover.webmanifest
var files embed.FS

// prefix is where Handler is mounted.
const prefix = "/static/"

// sum is the checksum of the embedded tree, computed once at start.
var sum = mustSum(files)

// Path returns the address of a file of the tree, for instance
// Path("css/drover.css") = "/static/3f9c0a1b2c4d5e6f/css/drover.css".
func Path(name string) string {
	return prefix + sum + "/" + name
}

// Handler serves /static/<sum>/<file>. Under the current checksum a file never
// changes and is immutable for a year; under any other checksum, as a page of an
// older version asks, the current file is sent and must be asked for again.
func Handler() http.Handler {
	return http.HandlerFunc(serve)
}

func serve(w http.ResponseWriter, r *http.Request) {
	asked, name, ok := strings.Cut(strings.TrimPrefix(r.URL.Path, prefix), "/")
	if info, err := fs.Stat(files, name); !ok || err != nil || info.IsDir() {
		http.NotFound(w, r)
		return
	}
	if asked == sum {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		w.Header().Set("Cache-Control", "no-cache")
	}
	w.Header().Set("Content-Type", contentType(name))
	w.Header().Set("X-Content-Type-Options", "nosniff")
	w.Header().Set("Vary", "Accept-Encoding")
	if small, ok := packed()[name]; ok && unpacks(r) {
		w.Header().Set("Content-Encoding", "gzip")
		http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(small))
		return
	}
	http.ServeFileFS(w, r, files, name) //nolint:gosec // the tree is embedded, and nothing else is in it
}

// unpacks says whether the client reads gzip (RFC 9110, 12.5.3).
func unpacks(r *http.Request) bool {
	for _, part := range strings.Split(strings.Join(r.Header.Values("Accept-Encoding"), ","), ",") {
		coding, weight, _ := strings.Cut(strings.ReplaceAll(part, " ", ""), ";q=")
		if coding == "gzip" || coding == "*" {
			q, err := strconv.ParseFloat(weight, 64)
			return weight == "" || err == nil && q > 0
		}
	}
	return false
}

// packed are the files of the tree, each compressed once.
var packed = sync.OnceValue(func() map[string][]byte {
	all := map[string][]byte{}
	err := eachFile(files, func(name string, data []byte) (err error) {
		if strings.HasSuffix(name, ".png") {
			return nil // it is packed already
		}
		all[name], err = pack(data)
		return err
	})
	if err != nil {
		panic(err) // the tree is embedded, and memory takes what is written
	}
	return all
})

func pack(data []byte) ([]byte, error) {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(data); err != nil {
		return nil, err
	}
	err = z.Close() // before the bytes are taken
	return out.Bytes(), err
}

// contentType is spelled out, because the table of the operating system differs
// from machine to machine and a module with a wrong type is refused.
func contentType(name string) string {
	switch {
	case strings.HasSuffix(name, ".css"):
		return "text/css; charset=utf-8"
	case strings.HasSuffix(name, ".js"):
		return "text/javascript; charset=utf-8"
	case strings.HasSuffix(name, ".png"):
		return "image/png"
	case strings.HasSuffix(name, ".webmanifest"):
		return "application/manifest+json"
	default:
		return "image/svg+xml"
	}
}

// treeSum hashes every name and content of the tree in walking order, which is
// sorted, and returns the first 16 hexadecimal digits.
func treeSum(tree fs.FS) (string, error) {
	h := sha256.New()
	err := eachFile(tree, func(name string, data []byte) error {
		fmt.Fprintf(h, "%s\x00%d\x00", name, len(data))
		h.Write(data)
		return nil
	})
	if err != nil {
		return "", fmt.Errorf("hash the static files: %w", err)
	}
	return hex.EncodeToString(h.Sum(nil))[:16], nil
}

// eachFile reads the files of a tree in walking order.
func eachFile(tree fs.FS, do func(name string, data []byte) error) error {
	return fs.WalkDir(tree, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(tree, name)
		if err != nil {
			return fmt.Errorf("read %s: %w", name, err)
		}
		return do(name, data)
	})
}

// mustSum panics only where the embedded tree cannot be read, which the build
// rules out.
func mustSum(tree fs.FS) string {
	s, err := treeSum(tree)
	if err != nil {
		panic(err)
	}
	return s
}
