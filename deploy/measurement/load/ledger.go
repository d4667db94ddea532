package load

import (
	"fmt"
	"iter"
	"sync"
)

// Entry is an act as the database has it.
type Entry struct {
	Game   int64
	Seq    int
	Client string // the id that the driver gave it
	Move   string
}

// Ledger is all that was sent and what of it was acknowledged.
type Ledger struct {
	mu    sync.Mutex
	lines map[lineKey]*ledgerLine
	games map[int64]bool
}

type lineKey struct {
	game   int64
	client string
}

type ledgerLine struct {
	move  string
	acked int // the number that the server gave; 0: it has said nothing
	rows  int // that the database has of it
}

// NewLedger is an empty ledger.
func NewLedger() *Ledger {
	return &Ledger{lines: map[lineKey]*ledgerLine{}, games: map[int64]bool{}}
}

func (l *Ledger) sent(g int64, client, move string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.lines[lineKey{g, client}] = &ledgerLine{move: move}
	l.games[g] = true
}

func (l *Ledger) acknowledged(g int64, client string, seq int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.lines[lineKey{g, client}].acked = seq
}

// Games are those in which something was sent.
func (l *Ledger) Games() []int64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := make([]int64, 0, len(l.games))
	for g := range l.games {
		out = append(out, g)
	}
	return out
}

// Balance is what a ledger and a database say of each other.
type Balance struct {
	Acked   int
	Lost    int // acknowledged, and not in the database
	Doubled int // in the database more than once
	Changed int // acknowledged with another number or move
	Strange int // in the database, and never sent
}

// Holds says whether nothing is wrong. What was sent and not acknowledged may be in the
// database or not.
func (b Balance) Holds() bool { return b.Lost+b.Doubled+b.Changed+b.Strange == 0 }

// String is the balance in words.
func (b Balance) String() string {
	return fmt.Sprintf("%d acknowledged: %d lost, %d doubled, %d changed, %d strange", b.Acked, b.Lost, b.Doubled,
		b.Changed, b.Strange)
}

// Check compares the ledger with the acts that the database has of its games.
func (l *Ledger) Check(rows iter.Seq[Entry]) Balance {
	l.mu.Lock()
	defer l.mu.Unlock()
	var b Balance
	for _, line := range l.lines {
		line.rows = 0
	}
	for e := range rows {
		line, ok := l.lines[lineKey{e.Game, e.Client}]
		switch {
		case !ok:
			b.Strange++
			continue
		case line.rows > 0:
			b.Doubled++
		case line.acked != 0 && (line.acked != e.Seq || line.move != e.Move):
			b.Changed++
		}
		line.rows++
	}
	for _, line := range l.lines {
		if line.acked != 0 {
			b.Acked++
			if line.rows == 0 {
				b.Lost++
			}
		}
	}
	return b
}
