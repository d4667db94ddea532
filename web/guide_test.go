package web_test

import (
	"net/http"
	"strings"
	"testing"

	"drover/store/storetest"
)

// TestGuideIsWordedForTheReader: a child reads the own wording whatever the address asks
// for; adults choose. A code that no table has is no page.
func TestGuideIsWordedForTheReader(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "guide")
	const eight, fourteen = "Rook to c7: only the turn had to pass.", "Rc7 is a waiting move"
	said := func(a []string) string { return strings.Join(a, " and ") }
	read := func(body string) (found []string) {
		for _, text := range []string{eight, fourteen} {
			if strings.Contains(body, text) {
				found = append(found, text)
			}
		}
		return found
	}
	child, coach := s.as(f.Student), s.as(f.Coach)
	for path, want := range map[string]string{"/guide/KRK": eight, "/guide/KRK?for=14": fourteen, "/guide/KRK?for=9": eight} {
		if got := read(coach.get(path).body); said(got) != want {
			t.Errorf("a coach at %s reads %q", path, got)
		}
	}
	if got := read(child.get("/guide/KRK?for=14").body); said(got) != eight {
		t.Errorf("a child of eight reads %q", got)
	}
	storetest.Exec(t, storetest.Address(s.store), "update people set wording = 14")
	if got := read(child.get("/guide/KRK").body); said(got) != fourteen {
		t.Errorf("a child of fourteen reads %q", got)
	}
	for _, path := range []string{"/guide/KXK", "/guide/KRKB", "/guide/hold-KRK", "/guide/hold-", "/guide/krk"} {
		if got := coach.get(path); got.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	for _, path := range []string{"/guide", "/guide/hold-KPK"} {
		if got := s.as(f.Guardian).get(path); got.status != http.StatusOK || strings.Contains(got.body, f.Student.Name) {
			t.Errorf("%s: %d, or it names a child", path, got.status)
		}
	}
}
