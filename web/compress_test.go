package web_test

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"drover/store/storetest"
)

// TestPagesArePacked: pages go out compressed; those that show a secret do not, and
// neither does anything to a browser that cannot read it.
func TestPagesArePacked(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "packed")
	coach := s.as(f.Coach)
	one := fmt.Sprintf("/students/%d", f.Student.Person)
	for path, packed := range map[string]bool{
		"/students": true, one: true, "/drills": true, "/stages": true, "/in": true,
		one + "/card": false, fmt.Sprintf("%s/guardian/%d/link", one, f.Guardian.Person): false, "/open": false, "/setup": false,
	} {
		for _, accept := range []string{"gzip", "identity"} {
			r, err := http.NewRequestWithContext(ctx, http.MethodGet, s.base+path, nil)
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Accept-Encoding", accept) // and the client unpacks nothing by itself
			res, err := coach.client.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			body, err := io.ReadAll(res.Body)
			_ = res.Body.Close()
			want := packed && accept == "gzip"
			if got := res.Header.Get("Content-Encoding") == "gzip"; err != nil || got != want || res.StatusCode != http.StatusOK ||
				strings.Contains(string(body), "</html>") == want {
				t.Errorf("%s for %s: status %d, packed %v, want %v (%v)", path, accept, res.StatusCode, got, want, err)
			}
		}
	}
}
