package solver

import (
	"flag"
	"math/rand/v2"
	"strings"
	"testing"
)

var everyEnding = flag.Bool("every", false, "compare the slow solver on every ending of four men, which takes minutes")

// samples is how many random positions of an ending of four men are compared.
const samples = 2_000_000

// The slow solver for every material agrees in full on the endings of three men,
// and on random positions of those of four: some of each sort, all of them with
// -every, none under the race detector.
func TestGeneral(t *testing.T) {
	t.Parallel()
	names := strings.Fields("KQK KRK KPK KRKN KPKP")
	switch {
	case racing:
		names = names[:3]
	case *everyEnding:
		names = nil
		for _, e := range allEndings() {
			for _, w := range e.winners() {
				names = append(names, w.name())
			}
		}
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			g := newGeneral(materialOf(name), func(p Position) Value { return probe(t, p) }).solve()
			table := tableOf(t, name)
			if g.lone == 2 {
				for i := range g.attack {
					g.compare(t, table, i)
				}
				return
			}
			r := rand.New(rand.NewPCG(9, 2))
			for range samples {
				g.compare(t, table, r.IntN(len(g.attack)))
			}
		})
	}
}

// compare holds both values of a placement against the table.
func (g *general) compare(t *testing.T, table *table, i int) {
	t.Helper()
	s := g.spot(i)
	for m, man := range g.men {
		if !mayStand(man.Kind, s[m]) || g.occupied(&s).count() < len(g.men) {
			return // no placement of the table
		}
	}
	attack := g.attack[i]
	if attack == barred {
		attack = 0
	}
	var got [2]Value
	if table.mate != nil {
		at := table.find(s[0], [2]Square{s[1], s[2]}, s[g.lone])
		got = [2]Value{table.mate.value(at, true), table.mate.value(at, false)}
	}
	slow := values{[]uint8{attack}, []uint8{g.defend[i]}}
	if want := [2]Value{slow.value(0, true), slow.value(0, false)}; got != want {
		p := g.position(&s, White)
		t.Fatalf("%s: attacker, defender to move %+v; slow solver %+v", p.text(), got, want)
	}
}
