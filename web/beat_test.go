package web_test

import (
	"testing"
	"time"

	"drover/game/practice"
	"drover/store/storetest"
	"drover/web"
)

// TestBeat: a socket that is silent has a beat while its page is looked at and the
// game goes on; a hidden page and an ended game have none.
func TestBeat(t *testing.T) {
	t.Parallel()
	s := startWith(t, time.Now, web.Config{Beat: 20 * time.Microsecond}) // far less than an answer takes
	f := storetest.Club(t, s.store, "beat")
	b := s.as(f.Student).board(f.Game)
	b.Conn.SetReadLimit(1 << 20)
	b.next()
	if beats := b.beatsBefore(40); beats != 0 {
		t.Errorf("%d beats before the page has said that it is looked at", beats)
	}
	b.say(`{"do":"show"}`)
	for want := 1.0; want <= 3; want++ {
		if got := b.frame(); got["beat"] != want {
			t.Fatalf("%v, want beat %v", got, want)
		}
	}
	b.say(`{"do":"hide"}`)
	b.beatsBefore(1)
	if beats := b.beatsBefore(40); beats != 0 {
		t.Errorf("a hidden page has %d beats", beats)
	}
	b.say(`{"do":"show"}`)
	s.does(f.Student, f.Game, practice.Resign, "")
	for b.frame()["act"] == nil {
	}
	if beats := b.beatsBefore(10); beats != 0 {
		t.Errorf("an ended game has %d beats", beats)
	}
}

// beatsBefore asks n questions one after the other and counts the beats that come
// before the last is answered.
func (s socket) beatsBefore(n int) int {
	s.Helper()
	beats := 0
	for range n {
		s.say(`{`)
		for s.frameIs("beat") {
			beats++
		}
	}
	return beats
}
