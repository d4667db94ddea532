package static

import (
	"bytes"
	"compress/gzip"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
)

func get(t *testing.T, path string) *http.Response {
	t.Helper()
	w := httptest.NewRecorder()
	Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w.Result()
}

func TestCurrentSumIsImmutable(t *testing.T) {
	t.Parallel()
	res := get(t, Path("css/drover.css"))
	if res.StatusCode != http.StatusOK {
		t.Fatalf("status %d", res.StatusCode)
	}
	if got := res.Header.Get("Cache-Control"); !strings.Contains(got, "immutable") {
		t.Errorf("Cache-Control %q", got)
	}
	if got := res.Header.Get("Content-Type"); got != "text/css; charset=utf-8" {
		t.Errorf("Content-Type %q", got)
	}
}

func TestOtherSumGetsTheCurrentFileUncached(t *testing.T) {
	t.Parallel()
	res := get(t, "/static/0000000000000000/js/play.js")
	if res.StatusCode != http.StatusOK {
		t.Fatalf("status %d", res.StatusCode)
	}
	if got := res.Header.Get("Cache-Control"); got != "no-cache" {
		t.Errorf("Cache-Control %q", got)
	}
}

func TestWhatIsNotThere(t *testing.T) {
	t.Parallel()
	for _, path := range []string{"/static/", "/static/x", "/static/x/css", "/static/x/css/none.css",
		"/static/x/../static.go"} {
		if res := get(t, path); res.StatusCode != http.StatusNotFound {
			t.Errorf("%s: status %d", path, res.StatusCode)
		}
	}
}

func TestSumChangesWithNameAndContent(t *testing.T) {
	t.Parallel()
	trees := []fstest.MapFS{
		{"css/a.css": {Data: []byte("x")}},
		{"css/a.css": {Data: []byte("y")}},
		{"css/b.css": {Data: []byte("x")}},
		{"css/a.css": {Data: []byte("x")}, "css/b.css": {Data: nil}},
	}
	seen := map[string]int{}
	for i, tree := range trees {
		s, err := treeSum(tree)
		if err != nil {
			t.Fatal(err)
		}
		if j, dup := seen[s]; dup {
			t.Errorf("trees %d and %d share the sum %s", j, i, s)
		}
		seen[s] = i
	}
}

// forbidden is what a strict content security policy or the project's own rules
// refuse in a file that a browser runs or draws.
var forbidden = regexp.MustCompile(`innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|` +
	`new Function|\sstyle=|<style|<script|https?://`)

// namespace is the one address an SVG file has to carry.
const namespace = "http://www.w3.org/2000/svg"

func TestFilesKeepToThePolicy(t *testing.T) {
	t.Parallel()
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		if found := forbidden.FindString(strings.ReplaceAll(string(data), namespace, "")); found != "" {
			t.Errorf("%s contains %q", name, found)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestPacked: who reads gzip gets it, the same file in fewer bytes; who does not gets
// the file as it is; a cache keeps the two apart.
func TestPacked(t *testing.T) {
	t.Parallel()
	plain, err := io.ReadAll(get(t, Path("css/drover.css")).Body)
	if err != nil {
		t.Fatal(err)
	}
	for coding, want := range map[string]string{
		"": "", "gzip": "gzip", "br, gzip;q=0.8": "gzip", "*": "gzip", "identity": "", "gzip;q=0": "", "gzip; q=0.0": "",
		"deflate": "", "xgzip": "",
	} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, Path("css/drover.css"), nil)
		if coding != "" {
			r.Header.Set("Accept-Encoding", coding)
		}
		w := httptest.NewRecorder()
		Handler().ServeHTTP(w, r)
		if w.Header().Get("Content-Encoding") != want || w.Header().Get("Vary") != "Accept-Encoding" || w.Code != 200 {
			t.Errorf("%q: %d, %v", coding, w.Code, w.Header())
		}
		body := w.Body.Bytes()
		if want == "" && !bytes.Equal(body, plain) {
			t.Errorf("%q: another file", coding)
		}
		if want == "gzip" {
			z, err := gzip.NewReader(bytes.NewReader(body))
			if err != nil {
				t.Fatal(err)
			}
			if text, err := io.ReadAll(z); err != nil || !bytes.Equal(text, plain) || len(body)*2 > len(plain) {
				t.Errorf("%q: %d bytes unpack to %d of %d (%v)", coding, len(body), len(text), len(plain), err)
			}
		}
	}
}
