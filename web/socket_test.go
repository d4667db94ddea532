package web_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/store/storetest"

	"github.com/gorilla/websocket"
)

// dial opens the socket of a game; change alters the handshake.
func (p *person) dial(id game.GameID, change ...func(http.Header)) (*websocket.Conn, *http.Response, error) {
	u, _ := url.Parse(p.base)
	h := http.Header{"Origin": {p.base}}
	h.Set("Sec-WebSocket-Protocol", "drover.1")
	for _, c := range p.client.Jar.Cookies(u) {
		h.Add("Cookie", c.String())
	}
	for _, f := range change {
		f(h)
	}
	d := websocket.Dialer{HandshakeTimeout: 10 * time.Second}
	return d.DialContext(ctx, fmt.Sprintf("ws://%s/live/games/%d", u.Host, id), h)
}

// board is an open socket that fails the test where it does not answer.
type socket struct {
	*testing.T
	*websocket.Conn
}

func (p *person) board(id game.GameID) socket {
	p.Helper()
	c, res, err := p.dial(id)
	if err != nil {
		p.Fatalf("dial: %v, %v", err, res)
	}
	p.Cleanup(func() { c.Close() })
	return socket{p.T, c}
}

// next reads the next frame that is no beat.
func (s socket) next() map[string]any {
	s.Helper()
	for {
		if f := s.frame(); f["beat"] == nil {
			return f
		}
	}
}

// frameIs reads a frame and says whether it has a field.
func (s socket) frameIs(field string) bool { s.Helper(); return s.frame()[field] != nil }

func (s socket) frame() map[string]any {
	s.Helper()
	if err := s.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		s.Fatal(err)
	}
	_, data, err := s.ReadMessage()
	if err != nil {
		s.Fatal(err)
	}
	var f map[string]any
	if err := json.Unmarshal(data, &f); err != nil {
		s.Fatalf("%s: %v", data, err)
	}
	return f
}

// goodbye closes a socket as a page does that is left.
func (s socket) goodbye() {
	s.Helper()
	_ = s.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseGoingAway, ""),
		time.Now().Add(time.Second))
	_ = s.Conn.Close()
}

func (s socket) say(text string) {
	s.Helper()
	if err := s.WriteMessage(websocket.TextMessage, []byte(text)); err != nil {
		s.Fatal(err)
	}
}

// TestHandshake: the origin must be ours and be there, the protocol ours, the
// person the game's student (OWASP ASVS 5.0, 4.4).
func TestHandshake(t *testing.T) {
	t.Parallel()
	s := start(t)
	f, other := storetest.Club(t, s.store, "hand"), storetest.Club(t, s.store, "other")
	for name, c := range map[string]struct {
		who    game.Actor
		change func(http.Header)
		want   int
	}{
		"own":          {f.Student, func(http.Header) {}, 101},
		"no origin":    {f.Student, func(h http.Header) { h.Del("Origin") }, 403},
		"other origin": {f.Student, func(h http.Header) { h.Set("Origin", "https://elsewhere.example") }, 403},
		"null origin":  {f.Student, func(h http.Header) { h.Set("Origin", "null") }, 403},
		"old protocol": {f.Student, func(h http.Header) { h.Set("Sec-WebSocket-Protocol", "drover.0") }, 422},
		"no session":   {game.Actor{}, func(http.Header) {}, 403},
		"guardian":     {f.Guardian, func(http.Header) {}, 404},
		"coach":        {f.Coach, func(http.Header) {}, 101},
		"other coach":  {other.Coach, func(http.Header) {}, 404},
		"foreign":      {other.Student, func(http.Header) {}, 404},
		"neighbour":    {f.Student2, func(http.Header) {}, 404},
	} {
		conn, res, err := s.as(c.who).dial(f.Game, c.change)
		if res == nil || res.StatusCode != c.want || (err == nil) != (c.want == 101) {
			t.Errorf("%s: %v, %v, want %d", name, res, err, c.want)
		}
		if conn != nil {
			conn.Close()
		}
	}
}

// TestWatch: the student sees at once that a coach watches, the coach can do
// nothing to the game, and when the coach goes the student sees that too.
func TestWatch(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "looking")
	student := s.as(f.Student).board(f.Game)
	student.next()
	coach := s.as(f.Coach).board(f.Game)
	first := coach.next()
	if g, _ := first["game"].(map[string]any); g["coach"] != true {
		t.Errorf("the coach's first frame: %v", first)
	}
	seen := func(b socket, kind string, want any) {
		t.Helper()
		f := b.next()
		act, _ := f["act"].(map[string]any)
		now, _ := f["now"].(map[string]any)
		if act["kind"] != kind || now["seen"] != want {
			t.Errorf("%v, want %s, seen %v", f, kind, want)
		}
	}
	seen(student, "watch", true)
	if now, _ := first["now"].(map[string]any); now["seen"] != true {
		t.Errorf("the coach's first frame comes before the student is told: %v", first)
	}
	for _, frame := range []string{`{"do":"move","id":"a","ply":0,"move":"e1d2"}`, `{"do":"resign","id":"b"}`,
		`{"do":"unseen","id":"c"}`, `{"do":"hand","id":"d","ply":0,"move":"e5e4"}`} {
		coach.say(frame)
		if got := coach.next(); got["no"] == nil {
			t.Errorf("%s by a coach: %v", frame, got)
		}
	}
	coach.goodbye()
	seen(student, "unseen", nil)
}

// TestHand: while the coach watches, a student's move waits for the coach's
// reply, which goes to both; when the coach leaves, the reply that is due comes.
func TestHand(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "byhand")
	d := f.Drill
	d.Defender, d.Name = ending.ByHand, "By hand"
	id, err := s.store.KeepDrill(ctx, f.Coach, d)
	if err != nil {
		t.Fatal(err)
	}
	task, err := s.store.Assign(ctx, f.Coach, id, []game.PersonID{f.Student.Person}, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := s.store.StartGame(ctx, f.Student, task)
	if err != nil {
		t.Fatal(err)
	}
	student := s.as(f.Student).board(g)
	student.next()
	coach := s.as(f.Coach).board(g)
	coach.next()
	student.next() // the coach watches
	turn := func(b socket) (turn string, act map[string]any) {
		t.Helper()
		f := b.next()
		now, _ := f["now"].(map[string]any)
		act, _ = f["act"].(map[string]any)
		turn, _ = now["turn"].(string)
		return turn, act
	}
	student.say(`{"do":"move","id":"a","ply":0,"move":"e1d2","took":1000}`)
	for _, b := range []socket{student, coach} {
		if turn, act := turn(b); turn != "hand" || act["reply"] != nil {
			t.Errorf("%s, %v", turn, act)
		}
	}
	coach.say(`{"do":"hand","id":"b","ply":1,"move":"e5e4"}`)
	for _, b := range []socket{student, coach} {
		turn, act := turn(b)
		if reply, _ := act["reply"].(map[string]any); turn != "you" || reply["san"] != "Ke4" {
			t.Errorf("%s, %v", turn, act)
		}
	}
	student.say(`{"do":"move","id":"c","ply":2,"move":"h1h4","took":1000}`)
	if turn, _ := turn(student); turn != "hand" {
		t.Error(turn)
	}
	coach.goodbye()
	if turn, act := turn(student); turn != "you" || act["reply"] == nil {
		t.Errorf("the coach has gone: %s, %v", turn, act)
	}
}

// TestMalformedFrames: each is answered with a sentence, the game is untouched
// and the socket lives.
func TestMalformedFrames(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "frames")
	b := s.as(f.Student).board(f.Game)
	if first := b.next(); first["game"] == nil {
		t.Fatalf("first frame %v", first)
	}
	for frame, no := range map[string]string{
		`{`: "bad", `[]`: "bad", `"x"`: "bad", ``: "bad", `{"do":"move","id":7}`: "bad",
		`{"do":"move","role":"coach"}`:                         "bad",
		`{"do":"fly","id":"a"}`:                                "bad",
		`{"do":"left","id":"b"}`:                               "bad",
		`{"do":"move","id":"c","ply":0,"move":"e1e8"}`:         "illegal",
		`{"do":"move","id":"d","ply":0,"move":"Kd2; drop"}`:    "illegal",
		`{"do":"move","id":"e","ply":-1,"move":"e1d2"}`:        "stale",
		`{"do":"move","id":"f","ply":2,"move":"e1d2"}`:         "stale",
		`{"do":"back","id":"g","ply":0}`:                       "turn",
		`{"do":"move","id":"` + strings.Repeat("x", 40) + `"}`: "bad",
	} {
		b.say(frame)
		got := b.next()
		if say, _ := got["say"].(string); got["no"] != no || !strings.HasSuffix(say, ".") {
			t.Errorf("%s: %v, want %s", frame, got, no)
		}
	}
	if err := b.WriteMessage(websocket.BinaryMessage, []byte{0, 1}); err != nil {
		t.Fatal(err)
	}
	if got := b.next(); got["no"] != "bad" {
		t.Errorf("binary: %v", got)
	}
	b.say(`{"do":"move","id":"good","ply":0,"move":"e1d2","took":1000}`)
	if act, _ := b.next()["act"].(map[string]any); act["id"] != "good" || act["seq"] != 1.0 {
		t.Errorf("after all that the move got %v", act)
	}
}

// TestFrameTooBig closes the socket with 1009, and the game goes on by another.
func TestFrameTooBig(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "big")
	p := s.as(f.Student)
	b := p.board(f.Game)
	b.next()
	b.say(`{"do":"move","id":"` + strings.Repeat("x", 5000) + `"}`)
	_, _, err := b.ReadMessage()
	if !websocket.IsCloseError(err, websocket.CloseMessageTooBig) {
		t.Errorf("closed by %v", err)
	}
	p.board(f.Game).next()
}

// TestFlood: more commands than a person can make are refused, and the socket
// lives.
func TestFlood(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "flood")
	b := s.as(f.Student).board(f.Game)
	b.next()
	busy := false
	for range 130 {
		b.say(`{"do":"fly"}`)
		busy = busy || b.next()["no"] == "busy"
	}
	if !busy {
		t.Error("130 commands at once were all answered")
	}
}

// TestFiveSockets: a sixth board of one person takes the place of one of the
// five: that may be dead without having said so.
func TestFiveSockets(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "five")
	p := s.as(f.Student)
	ended := make(chan error, 6)
	for range 6 {
		b := p.board(f.Game)
		b.next()
		go func() {
			_, _, err := b.ReadMessage()
			ended <- err
		}()
	}
	select {
	case <-ended:
	case <-time.After(20 * time.Second):
		t.Error("six boards of one person stay open")
	}
}

// TestNewCardClosesSockets: when a card is replaced, the old session's boards
// close with the code for 'signed out' within five seconds and a little.
func TestNewCardClosesSockets(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "card")
	s.working()
	b := s.as(f.Student).board(f.Game)
	b.next()
	if _, err := s.store.ReplaceCard(ctx, f.Coach, f.Student.Person); err != nil {
		t.Fatal(err)
	}
	if err := b.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.ReadMessage(); !websocket.IsCloseError(err, websocket.ClosePolicyViolation) {
		t.Errorf("closed by %v", err)
	}
}

// TestDrain closes boards with the code for a restart and says so to the
// balancer.
func TestDrain(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "drain")
	p := s.as(f.Student)
	b := p.board(f.Game)
	b.next()
	s.web.Drain(ctx)
	if _, _, err := b.ReadMessage(); !websocket.IsCloseError(err, websocket.CloseServiceRestart) {
		t.Errorf("closed by %v", err)
	}
	_, res, err := p.dial(f.Game)
	if err == nil || res.StatusCode != http.StatusServiceUnavailable {
		t.Fatalf("a new board while draining: %v, %v", res, err)
	}
	if text, err := io.ReadAll(res.Body); err != nil || !strings.Contains(string(text), "about to restart") ||
		strings.Contains(string(text), "many places") {
		t.Errorf("a new board is told %s, %v", text, err)
	}
	if got := p.get("/readyz"); got.status != http.StatusServiceUnavailable {
		t.Errorf("ready while draining: %d", got.status)
	}
	if got := p.get("/healthz"); got.status != http.StatusOK {
		t.Errorf("health while draining: %d", got.status)
	}
}
