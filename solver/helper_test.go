package solver

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// shared returns tables that all tests use and that are never dropped, with the
// five basic mates built.
var shared = sync.OnceValue(func() *Tables {
	t := NewTables(Limit(1 << 40))
	if err := t.Basic(context.Background()); err != nil {
		panic(err)
	}
	return t
})

// rows reads a tab-separated file of testdata without its comments and its
// header line.
func rows(t testing.TB, name string) [][]string {
	t.Helper()
	file, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = file.Close() }()
	var all [][]string
	for in := bufio.NewScanner(file); in.Scan(); {
		if line := in.Text(); line != "" && line[0] != '#' {
			all = append(all, strings.Split(line, "\t"))
		}
	}
	if len(all) < 2 {
		t.Fatalf("%s has no rows", name)
	}
	return all[1:]
}

func number(t testing.TB, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// fen reads the placement, turn and en passant fields of a well-formed FEN.
func fen(t testing.TB, text string) Position {
	t.Helper()
	fields := strings.Fields(text)
	p := Position{EnPassant: NoSquare}
	at := Square(56)
	for _, c := range fields[0] {
		switch {
		case c == '/':
			at -= 16
		case c >= '1' && c <= '8':
			at += Square(c - '0')
		default:
			color := White
			if c >= 'a' {
				color, c = Black, c-'a'+'A'
			}
			p.Men[p.Count] = Man{Kind(strings.IndexRune(kindLetters, c)), color, at}
			p.Count++
			at++
		}
	}
	if fields[1] == "b" {
		p.Turn = Black
	}
	if fields[3] != "-" {
		p.EnPassant = square(fields[3])
	}
	if err := p.Validate(); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return p
}

// square reads a name such as "e4".
func square(name string) Square { return Square(name[1]-'1')*8 + Square(name[0]-'a') }

// text writes a position as FEN.
func (p Position) text() string {
	var b strings.Builder
	for r := 7; r >= 0; r-- {
		for f := range 8 {
			letter := "1"
			for _, m := range p.men() {
				if m.At == Square(r*8+f) {
					letter = kindLetters[m.Kind : m.Kind+1]
					if m.Color == Black {
						letter = strings.ToLower(letter)
					}
				}
			}
			b.WriteString(letter)
		}
		if r > 0 {
			b.WriteByte('/')
		}
	}
	board := b.String()
	for n := 8; n > 1; n-- {
		board = strings.ReplaceAll(board, strings.Repeat("1", n), strconv.Itoa(n))
	}
	return fmt.Sprintf("%s %c - %v 0 1", board, "wb"[p.Turn], p.EnPassant)
}

func probe(t testing.TB, p Position) Value {
	t.Helper()
	v, err := shared().Probe(context.Background(), p)
	if err != nil {
		t.Fatalf("%s: %v", p.text(), err)
	}
	return v
}

// materialOf returns the material of a name such as "KBNK" or "KRKQ", the
// attacker first.
func materialOf(name string) (m material) {
	at := strings.LastIndex(name, "K")
	for i, c := range name[1:at] {
		m.attack[i] = Kind(strings.IndexRune(kindLetters, c))
	}
	if at+1 < len(name) {
		m.defend = Kind(strings.IndexByte(kindLetters, name[at+1]))
	}
	return m
}

// count is how many of the 64^n placements, like men told apart, stand for one
// placement of the layout.
func (l *layout) count(placement int) int {
	w := l.weight(placement / l.slots)
	if l.own() == 2 && l.kinds[0] == l.kinds[1] {
		w *= 2
	}
	return w
}
