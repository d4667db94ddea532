package web

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"net/http"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/live"
	"drover/game/practice"
	"drover/store"
	"drover/web/site"

	"github.com/gorilla/websocket"
)

// Limits of a socket (OWASP ASVS 5.0, 4.4).
const (
	maxFrame   = 4 << 10
	perMinute  = 100 // commands, sustained
	perPerson  = 5   // sockets
	writeLimit = 5 * time.Second
	pingEvery  = 25 * time.Second
	pongWithin = 60 * time.Second
	// commandLimit ends the wait for a command before the page gives up its line
	// (6 s), so that the page is told that the records are away.
	commandLimit = 5 * time.Second
	beatAfter    = 2 * time.Second // of silence, while the game goes on and its page is looked at
	closeSlow    = 1013
	closePolicy  = 1008
)

var upgradeBuffers sync.Pool

// socket joins a student to their game, or a coach who watches.
func (s *Server) socket(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	gameID, err := site.ID[game.GameID](r, "id")
	if err != nil {
		return err
	}
	info, err := s.Store.Game(r.Context(), a.Club, gameID)
	if err != nil {
		return err
	}
	own := info.Student.ID == a.Person // also of a coach who tries a drill out
	if !own && (a.Role == game.Student || info.Kind == store.OfTrial) {
		return site.Missing()
	}
	up := websocket.Upgrader{
		ReadBufferSize: 1 << 10, WriteBufferPool: &upgradeBuffers, Subprotocols: []string{live.Protocol},
		HandshakeTimeout: 10 * time.Second,
		CheckOrigin:      func(r *http.Request) bool { return r.Header.Get("Origin") == s.Origin() },
		Error: func(w http.ResponseWriter, _ *http.Request, status int, _ error) {
			http.Error(w, "This page cannot open a board here. Load it again.", status)
		},
	}
	if !websocket.IsWebSocketUpgrade(r) {
		if r.Header.Get("Sec-WebSocket-Key") != "" {
			s.SayOnce("no upgrade", 0, 0, func() {
				s.Log.Warn("a board could not open its live connection: a proxy in front does not pass websockets on; " +
					"it must pass the headers Upgrade and Connection (README.md has settings that work)")
			})
		}
		w.Header().Set("Upgrade", "websocket")
		http.Error(w, "A board opens a websocket here.", http.StatusUpgradeRequired)
		return nil
	}
	if !offers(r, live.Protocol) {
		return game.Fail(game.Bad, "This page belongs to another version of Drover. Load it again.")
	}
	if !s.sockets.admit(a) {
		return game.Fail(game.Away, "This server is about to restart. The page comes back by itself.")
	}
	conn, err := up.Upgrade(w, r, nil)
	if err != nil {
		s.sockets.leave(a)
		return nil //nolint:nilerr // the upgrader has answered
	}
	l := &line{server: s, conn: conn, actor: a, token: s.Token(r), game: gameID, own: make(chan []byte, 16),
		done: make(chan struct{}), request: site.RequestID(r)}
	about := s.About(info)
	about.Coach = !own
	l.watches = about.Coach
	have := after(r)
	l.atEnd(func() { s.sockets.leave(a) })
	// The line runs on its own, so that nothing of the request is kept for its life: no
	// buffers of net/http and no stack of the handlers.
	go s.safely("a socket", func() { l.open(about, have) })
	return nil
}

func offers(r *http.Request, protocol string) bool {
	for _, p := range websocket.Subprotocols(r) {
		if p == protocol {
			return true
		}
	}
	return false
}

// line is one socket: one reader, one writer; either ending ends both.
type line struct {
	server  *Server
	conn    *websocket.Conn
	actor   game.Actor
	token   club.Secret
	game    game.GameID
	request string      // its id
	own     chan []byte // frames for this socket alone
	done    chan struct{}
	watches bool        // a coach, another's game
	shown   atomic.Bool // somebody looks at the page
	used    time.Time   // when the session was last used by it; of the reader alone
	cut     bool        // the line broke, and may come back; of the reader alone
	ends    []func()    // what is done when it ends

	mu    sync.Mutex // over the reader's deadline
	ended bool       // the reader is to end, whatever it was about to do
}

// alive gives the reader more time, unless it is to end.
func (l *line) alive(string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	until := time.Now().Add(pongWithin)
	if l.ended {
		until = time.Now()
	}
	return l.conn.SetReadDeadline(until)
}

// end ends the reader, and with it the writer.
func (l *line) end() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.ended = true
	_ = l.conn.SetReadDeadline(time.Now()) // an error means that it has ended
}

// open joins the game and leaves the socket to a reader and a writer whose stacks are
// small, since they begin anew. The page has all acts up to the number have.
func (l *line) open(about live.About, have int) {
	ctx, cancel := context.WithCancel(context.Background())
	l.atEnd(cancel, func() { _ = l.conn.Close() }, l.server.sockets.add(l))
	open := false
	defer func() {
		if !open {
			l.finish()
		}
	}()
	if about.Coach { // no frame goes out to an adult before the student can see it
		leave, err := l.server.Hub.LookOn(ctx, l.actor, l.game)
		if err != nil {
			l.away("watch a game", err)
			return
		}
		l.atEnd(func() { leave(l.cut) })
	}
	watcher, first, err := l.server.Hub.Join(ctx, l.actor, l.game, about, have)
	if err != nil {
		l.away("join a game", err)
		return
	}
	l.atEnd(func() { l.server.Hub.Leave(watcher) })
	open = true
	writing := make(chan struct{})
	go l.writer(first, watcher, writing)
	go l.reader(ctx, writing)
}

// writer writes until either side ends, and ends the reader.
func (l *line) writer(first []byte, w *live.Watcher, writing chan<- struct{}) {
	defer close(writing)
	defer l.conn.Close()
	l.server.safely("a socket's writer", func() { l.write(first, w) })
}

// reader reads until either side ends, ends the writer, and then the line.
func (l *line) reader(ctx context.Context, writing <-chan struct{}) {
	defer l.finish()
	l.server.safely("a socket's reader", func() { l.read(ctx) })
	close(l.done)
	<-writing
}

// atEnd keeps what is to be done when the line ends, the last first.
func (l *line) atEnd(do ...func()) { l.ends = append(l.ends, do...) }

func (l *line) finish() {
	for _, do := range slices.Backward(l.ends) {
		l.server.safely("the end of a socket", do)
	}
}

// away ends a line that cannot have its game now; the page comes back.
func (l *line) away(what string, err error) {
	l.server.Seldom(what, "request", l.request, "game", l.game, "err", err)
	l.close(websocket.CloseTryAgainLater, "away")
}

// after is the number of the last act that the page has; nonsense means none.
func after(r *http.Request) int {
	var n int
	if err := json.Unmarshal([]byte(r.URL.Query().Get("after")), &n); err != nil || n < 0 {
		return 0
	}
	return n
}

// read takes commands until the socket ends. Each is answered; a malformed one
// with a sentence, and the socket lives.
func (l *line) read(ctx context.Context) {
	l.conn.SetReadLimit(maxFrame)
	l.conn.SetPongHandler(l.alive)
	for l.alive("") == nil {
		kind, data, err := l.conn.ReadMessage()
		if err != nil {
			l.cut = !websocket.IsCloseError(err, websocket.CloseNormalClosure, websocket.CloseGoingAway)
			return
		}
		if !l.server.sockets.allow(l.actor, time.Now()) {
			l.say(live.Refusal("", game.Fail(game.Busy, "That was very fast. Wait a moment.")))
			continue
		}
		if answer := l.answer(ctx, kind, data); answer != nil && !l.say(answer) {
			return
		}
	}
}

// answer carries out one frame; nil where the act itself is the answer.
func (l *line) answer(ctx context.Context, kind int, data []byte) []byte {
	var f live.Frame
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil || kind != websocket.TextMessage {
		return live.Refusal("", practice.Refuse(practice.Bad, "This could not be read. Load the page again."))
	}
	if f.Do == "show" || f.Do == "hide" { // nothing of the game
		l.shown.Store(f.Do == "show")
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, commandLimit)
	defer cancel()
	if f.Do == string(practice.Left) || f.Do == string(practice.Stop) || l.watches && f.Do != string(practice.Hand) {
		f.Do = "" // the server's own
	}
	frame, err := l.server.Hub.Do(ctx, l.actor, l.game, f.Command())
	if err != nil {
		if _, ok := practice.Refusal(err); !ok && ctx.Err() == nil {
			l.server.Seldom("command", "game", l.game, "err", err)
		}
		return live.Refusal(f.ID, err)
	}
	l.use(ctx)
	return frame
}

// use counts a command that was carried out as a use of the session, so that nobody is
// signed out for being idle while they play. That a session is over the sockets find out
// by themselves.
func (l *line) use(ctx context.Context) {
	if now := l.server.Now(); now.Sub(l.used) > time.Minute {
		l.used = now
		if _, err := l.server.Store.Session(ctx, l.token); err != nil && game.KindOf(err) != game.Missing {
			l.server.Seldom("use of a session", "request", l.request, "err", err)
		}
	}
}

// say queues a frame for this socket alone; false when it has ended.
func (l *line) say(frame []byte) bool {
	select {
	case l.own <- frame:
		return true
	case <-l.done:
		return false
	default:
		return false // it does not read its answers
	}
}

// write sends frames, pings, and a beat after some silence.
func (l *line) write(first []byte, w *live.Watcher) {
	ping, silence := time.NewTicker(pingEvery), time.NewTicker(l.server.beat)
	defer ping.Stop()
	defer silence.Stop()
	if l.send(first) != nil {
		return
	}
	for beats := 0; ; {
		select {
		case <-l.done:
			return
		case f, ok := <-w.Frames:
			if !ok {
				l.close(closeSlow, "slow")
				return
			}
			if l.send(f) != nil {
				return
			}
			silence.Reset(l.server.beat)
		case f := <-l.own:
			if l.send(f) != nil {
				return
			}
			silence.Reset(l.server.beat)
		case <-silence.C:
			if !l.shown.Load() || w.Over() {
				continue
			}
			if beats++; l.send(live.Beat(beats)) != nil {
				return
			}
		case <-ping.C:
			if l.conn.WriteControl(websocket.PingMessage, nil, time.Now().Add(writeLimit)) != nil {
				return
			}
		}
	}
}

func (l *line) send(frame []byte) error {
	if err := l.conn.SetWriteDeadline(time.Now().Add(writeLimit)); err != nil {
		return err
	}
	return l.conn.WriteMessage(websocket.TextMessage, frame)
}

func (l *line) close(code int, reason string) {
	// An error means that the other side is gone already.
	_ = l.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, reason), time.Now().Add(writeLimit))
}

// rate is a token bucket: perMinute tokens per minute, and as many at once.
type rate struct {
	tokens float64
	at     time.Time
}

func (r *rate) take(now time.Time) bool {
	r.tokens = min(perMinute, r.tokens+now.Sub(r.at).Minutes()*perMinute)
	r.at = now
	if r.tokens < 1 {
		return false
	}
	r.tokens--
	return true
}

// sockets counts and drains the open sockets; http.Server does neither.
type sockets struct {
	mu    sync.Mutex
	open  map[*line]struct{}
	count map[game.Actor]int
	rates map[game.Actor]*rate // a person's, over all sockets of this node
	drawn bool
	empty chan struct{}
}

func newSockets() *sockets {
	return &sockets{open: map[*line]struct{}{}, count: map[game.Actor]int{}, rates: map[game.Actor]*rate{},
		empty: make(chan struct{})}
}

func (s *sockets) admit(a game.Actor) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.drawn {
		return false
	}
	if s.count[a] >= perPerson { // one may be dead without having said so: it makes room
		for l := range s.open {
			if l.actor == a {
				l.end()
				delete(s.open, l)
				break
			}
		}
	}
	s.count[a]++
	return true
}

// allow takes one message from a person's allowance. A person who has not said
// anything for a minute has all of it, and is forgotten.
func (s *sockets) allow(a game.Actor, now time.Time) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	r, ok := s.rates[a]
	if !ok {
		for other, r := range s.rates {
			if now.Sub(r.at) > time.Minute {
				delete(s.rates, other)
			}
		}
		r = &rate{tokens: perMinute, at: now}
		s.rates[a] = r
	}
	return r.take(now)
}

func (s *sockets) leave(a game.Actor) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.count[a]--; s.count[a] == 0 {
		delete(s.count, a)
	}
	if s.drawn && len(s.count) == 0 {
		close(s.empty)
	}
}

func (s *sockets) add(l *line) (remove func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.open[l] = struct{}{}
	if s.drawn { // admitted just before the drain
		l.close(websocket.CloseServiceRestart, "restart")
		l.end()
	}
	return func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		delete(s.open, l)
	}
}

// tokens are the sessions of the open sockets, each once.
func (s *sockets) tokens() []club.Secret {
	s.mu.Lock()
	defer s.mu.Unlock()
	seen := map[club.Secret]bool{}
	for l := range s.open {
		seen[l.token] = true
	}
	return slices.Collect(maps.Keys(seen))
}

// signedOut closes the sockets of sessions that are over.
func (s *sockets) signedOut(over []club.Secret) {
	ended := map[club.Secret]bool{}
	for _, t := range over {
		ended[t] = true
	}
	s.mu.Lock()
	var lines []*line
	for l := range s.open {
		if ended[l.token] {
			lines = append(lines, l)
		}
	}
	s.mu.Unlock()
	for _, l := range lines {
		l.close(closePolicy, "signed out")
		l.end()
	}
}

func (s *sockets) draining() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.drawn
}

// drain closes all sockets with the code for a restart. It may be called twice.
func (s *sockets) drain(ctx context.Context) {
	s.mu.Lock()
	first := !s.drawn
	s.drawn = true
	var lines []*line
	for l := range s.open {
		lines = append(lines, l)
	}
	if first && len(s.count) == 0 {
		close(s.empty)
	}
	s.mu.Unlock()
	for _, l := range lines {
		l.close(websocket.CloseServiceRestart, "restart")
		l.end()
	}
	select {
	case <-s.empty:
	case <-ctx.Done():
	}
}
