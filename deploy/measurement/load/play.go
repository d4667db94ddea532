package load

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/gorilla/websocket"
)

// protocol is the socket's version that the driver speaks.
const protocol = "drover.1"

// patience is how long an answer may take before the driver gives a socket up.
const patience = 20 * time.Second

// Game is a game at its start, with the moves that its student is going to make.
type Game struct {
	ID    int64
	Moves []string // coordinates
}

// Play is a game over an open socket.
type Play struct {
	site *Site
	game Game
	conn *websocket.Conn
	next int // the number of the next move, from 0
}

// Join opens the board of a game, which is at its start, and waits for its first frame.
func (s *Site) Join(ctx context.Context, who Person, g Game) (*Play, error) {
	h := http.Header{"Origin": {s.Base}, "Cookie": {who.cookie}}
	d := websocket.Dialer{NetDialContext: s.dial, HandshakeTimeout: patience, Subprotocols: []string{protocol},
		ReadBufferSize: 1 << 10, WriteBufferSize: 1 << 8}
	address := fmt.Sprintf("ws%s/live/games/%d", strings.TrimPrefix(s.Base, "http"), g.ID)
	conn, res, err := d.DialContext(ctx, address, h)
	if err != nil {
		if res != nil {
			err = fmt.Errorf("%w: %s", err, res.Status)
		}
		return nil, fmt.Errorf("open the board of game %d: %w", g.ID, err)
	}
	_ = res.Body.Close() // of a handshake there is nothing left
	p := &Play{site: s, game: g, conn: conn}
	if _, err := p.read(); err != nil {
		p.Close()
		return nil, err
	}
	return p, nil
}

// Left is how many moves are still to be made.
func (p *Play) Left() int { return len(p.game.Moves) - p.next }

// command is what a page sends.
type command struct {
	Do   string `json:"do"`
	ID   string `json:"id"`
	Ply  int    `json:"ply"`
	Move string `json:"move"`
	Took int    `json:"took"`
}

// answer is the part of a frame that the driver looks at.
type answer struct {
	Act *struct {
		ID  string `json:"id"`
		Seq int    `json:"seq"`
	} `json:"act"`
	No  string `json:"no"`
	ID  string `json:"id"`
	Say string `json:"say"`
}

// Refused is the server's word for a command that it did not carry out.
type Refused struct{ No, Say string }

// Error implements [error].
func (r Refused) Error() string { return "refused, " + r.No + ": " + r.Say }

// Move makes the next move and waits until it is acknowledged.
func (p *Play) Move() error {
	c := command{Do: "move", ID: fmt.Sprintf("load-%d", p.next), Ply: 2 * p.next, Move: p.game.Moves[p.next], Took: 2000}
	p.site.Ledger.sent(p.game.ID, c.ID, c.Move)
	if err := p.conn.SetWriteDeadline(time.Now().Add(patience)); err != nil {
		return fmt.Errorf("game %d: %w", p.game.ID, err)
	}
	if err := p.conn.WriteJSON(c); err != nil {
		return fmt.Errorf("game %d: %w", p.game.ID, err)
	}
	for {
		a, err := p.read()
		switch {
		case err != nil:
			return err
		case a.No != "":
			return Refused{a.No, a.Say}
		case a.Act != nil && a.Act.ID == c.ID:
			p.site.Ledger.acknowledged(p.game.ID, c.ID, a.Act.Seq)
			p.next++
			return nil
		}
	}
}

// read takes one frame.
func (p *Play) read() (a answer, err error) {
	if err := p.conn.SetReadDeadline(time.Now().Add(patience)); err != nil {
		return a, fmt.Errorf("game %d: %w", p.game.ID, err)
	}
	_, data, err := p.conn.ReadMessage()
	if err == nil {
		err = json.Unmarshal(data, &a)
	}
	if err != nil {
		return a, fmt.Errorf("game %d: %w", p.game.ID, err)
	}
	return a, nil
}

// Close leaves the board as a page does.
func (p *Play) Close() {
	_ = p.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseGoingAway, ""),
		time.Now().Add(time.Second)) // here and below the server may be gone
	_ = p.conn.Close()
}

// restLimit is longer than the server's pings are apart.
const restLimit = 2 * time.Minute

// rest takes one frame of a board on which nobody moves; pings are answered within.
func (p *Play) rest() error {
	if err := p.conn.SetReadDeadline(time.Now().Add(restLimit)); err != nil {
		return err
	}
	_, _, err := p.conn.ReadMessage()
	return err
}
