package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"drover/game/ending"
	"drover/solver"
)

// probing runs `drover probe` and gives its lines and exit status.
func probing(t testing.TB, in string, args ...string) (lines []map[string]any, status int) {
	t.Helper()
	var out, errs bytes.Buffer
	status = run(context.Background(), append([]string{"probe"}, args...), streams{strings.NewReader(in), &out, &errs})
	if errs.Len() > 0 {
		t.Errorf("written to standard error: %s", errs.String())
	}
	for _, text := range strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n") {
		var line map[string]any
		if err := json.Unmarshal([]byte(text), &line); text != "" && err != nil {
			t.Fatalf("%v in %q", err, text)
		}
		lines = append(lines, line)
	}
	return lines, status
}

// fields are those of a line, without its moves.
func fields(t *testing.T, line map[string]any) string {
	t.Helper()
	rest := map[string]any{}
	for k, v := range line {
		if k != "moves" {
			rest[k] = v
		}
	}
	text, err := json.Marshal(rest)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestProbe has a position for each sort of answer. The distances of the first
// ones are published with their positions: KRK 16, KBBK 19, KBNK 33 moves (OEIS
// A225552, A225557, A225556). Par is Drover's own measure; package solver tests
// it against a plain solver.
func TestProbe(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]string{
		"8/8/8/8/8/8/2k5/KNB5 w - - 0 1": `{"dead":false,"ending":"KBNK","fen":"8/8/8/8/8/8/2k5/KNB5 w - - 0 1",` +
			`"fifty":"exact","held":[false,false,false],"mate_in":33,` +
			`"outcome":"win","par":3,"plies":65,"stage":"centralise","under_fifty":"win"}`,
		"8/8/8/8/1Bk5/8/8/K2B4 w - - 0 1": `{"dead":false,"ending":"KBBK","fen":"8/8/8/8/1Bk5/8/8/K2B4 w - - 0 1",` +
			`"fifty":"exact","held":[false,false,false],"mate_in":19,` +
			`"outcome":"win","par":3,"plies":37,"stage":"centralise","under_fifty":"win"}`,
		// the rook's start with the clock run down: a win, but not within fifty moves
		"8/8/8/8/8/2k5/1R6/K7 w - - 70 90": `{"dead":false,"ending":"KRK","fen":"8/8/8/8/8/2k5/1R6/K7 w - - 70 90",` +
			`"fifty":"exact","held":[false,false,false],"mate_in":16,` +
			`"outcome":"win","par":5,"plies":31,"stage":"centralise","under_fifty":"draw"}`,
		"8/8/8/8/8/2k5/1R6/K7 w - - 69 90": `{"dead":false,"ending":"KRK","fen":"8/8/8/8/8/2k5/1R6/K7 w - - 69 90",` +
			`"fifty":"exact","held":[false,false,false],"mate_in":16,` +
			`"outcome":"win","par":5,"plies":31,"stage":"centralise","under_fifty":"win"}`,
		// Black attacks, and it is Black's turn
		"k7/1r6/2K5/8/8/8/8/8 b - - 0 1": `{"dead":false,"ending":"KRK","fen":"k7/1r6/2K5/8/8/8/8/8 b - - 0 1",` +
			`"fifty":"exact","held":[false,false,false],"mate_in":16,` +
			`"outcome":"win","par":5,"plies":31,"stage":"centralise","under_fifty":"win"}`,
		// checkmate and stalemate (Staunton, The Chess-Player's Text Book, 1849)
		"8/8/8/8/8/6k1/8/r5K1 w - - 3 9": `{"dead":false,"ending":"KRK","fen":"8/8/8/8/8/6k1/8/r5K1 w - - 3 9",` +
			`"fifty":"exact","held":[true,true,true],"mate_in":0,` +
			`"outcome":"loss","par":0,"plies":0,"stage":"mate","under_fifty":"loss"}`,
		"7k/8/7K/8/8/8/8/6Q1 b - - 0 1": `{"dead":false,"ending":"KQK","fen":"7k/8/7K/8/8/8/8/6Q1 b - - 0 1",` +
			`"fifty":"exact","held":[false,false,false],"mate_in":null,` +
			`"outcome":"draw","par":null,"plies":null,"stage":null,"under_fifty":"draw"}`,
		// no plan: too little to mate with
		"8/8/4k3/8/8/8/8/4K2N w - - 0 1": `{"dead":true,"ending":"KNK","fen":"8/8/4k3/8/8/8/8/4K2N w - - 0 1",` +
			`"fifty":"exact","held":null,"mate_in":null,` +
			`"outcome":"draw","par":null,"plies":null,"stage":null,"under_fifty":"draw"}`,
		// pawns and men on both sides, published with the others (28 and 35 moves): the count may start anew
		"8/8/8/1k6/8/8/K5P1/8 w - - 0 1": `{"dead":false,"ending":"KPK","fen":"8/8/8/1k6/8/8/K5P1/8 w - - 0 1",` +
			`"fifty":"approximate","held":null,"mate_in":28,` +
			`"outcome":"win","par":28,"plies":55,"stage":"front","under_fifty":"win"}`,
	} {
		lines, status := probing(t, "", fen)
		if len(lines) != 1 || status != 0 {
			t.Fatalf("%s: %d lines, status %d", fen, len(lines), status)
		}
		if got := fields(t, lines[0]); got != want {
			t.Errorf("%s:\n got %s\nwant %s", fen, got, want)
		}
	}
}

// TestProbeMoves looks at the moves of one position: order, grade and cost of
// the attacker's, and null where there is none.
func TestProbeMoves(t *testing.T) {
	t.Parallel()
	lines, _ := probing(t, "k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1\n"+
		"k7/8/BK6/3N4/8/8/8/8 b - - 1 1\n"+
		"8/3K4/1k6/8/8/8/8/Q7 w - - 0 1\n"+
		"7k/8/7K/8/8/8/8/6Q1 b - - 0 1\n")
	of := func(line int, move string) string {
		for _, m := range lines[line]["moves"].([]any) {
			if m.(map[string]any)["move"] == move {
				return fields(t, m.(map[string]any))
			}
		}
		return "none"
	}
	for _, c := range []struct {
		line       int
		move, want string
	}{
		{0, "f1a6", `{"cost":0,"grade":"on course","mate_in":3,"move":"f1a6",` +
			`"outcome":"win","par":3,"plies":6,"san":"Ba6","stage":"mate"}`},
		{0, "b6a5", `{"cost":10,"grade":"slip","mate_in":13,"move":"b6a5",` +
			`"outcome":"win","par":1,"plies":26,"san":"Ka5","stage":"corner"}`},
		{1, "a8b8", `{"cost":null,"grade":null,"mate_in":3,"move":"a8b8",` +
			`"outcome":"loss","par":3,"plies":5,"san":"Kb8","stage":"mate"}`},
		{2, "a1a5", `{"cost":null,"grade":"win gone","mate_in":null,"move":"a1a5",` +
			`"outcome":"draw","par":null,"plies":null,"san":"Qa5+","stage":null}`},
	} {
		if got := of(c.line, c.move); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.move, got, c.want)
		}
	}
	if moves, ok := lines[3]["moves"].([]any); !ok || len(moves) != 0 {
		t.Errorf("a stalemate's moves are %v, want an empty list", lines[3]["moves"])
	}
}

// TestProbeRefuses: a bad line is answered with what is wrong, the others are
// answered all the same, in order, and the exit status is 1.
func TestProbeRefuses(t *testing.T) {
	t.Parallel()
	good := "8/8/8/4k3/8/8/8/4K2R w - - 0 1"
	in := strings.Join([]string{
		good, "8/8/8/4k4/8/8/8/4K2R w - - 0 1", "", "  ", "8/8/8/3kK3/8/8/8/7R w - - 0 1\r", strings.Repeat("8/", 100_000),
		good + "\r",
		"8/8/8/4k3/8/8/PP6/3QK3 w - - 0 1", "\xff\xfe", "4k3/8/8/8/8/8/8/4K2R w K - 0 1", good,
	}, "\n")
	lines, status := probing(t, in)
	if status != 1 {
		t.Errorf("status %d, want 1", status)
	}
	want := []string{"", "row 5 has nine squares", "kings stand side by side", "FEN has six fields", "", "there are 5 men",
		"FEN has six fields", "castling", ""}
	if len(lines) != len(want) {
		t.Fatalf("%d lines, want %d", len(lines), len(want))
	}
	for i, say := range want {
		got, refused := lines[i]["error"].(string)
		if refused != (say != "") || !strings.Contains(got, say) {
			t.Errorf("line %d: %v", i, lines[i])
		}
		if refused && len(lines[i]) != 2 {
			t.Errorf("line %d has more than fen and error: %v", i, lines[i])
		}
		if !refused && lines[i]["fen"] != good {
			t.Errorf("line %d is of another position: %v", i, lines[i]["fen"])
		}
	}
}

// TestProbeArguments: arguments are answered in their order, and standard input
// is then left alone.
func TestProbeArguments(t *testing.T) {
	t.Parallel()
	a, b := "8/8/8/4k3/8/8/8/4K2R w - - 0 1", "8/8/8/4k3/8/8/8/4K2Q b - - 0 1"
	lines, status := probing(t, "nonsense\n", a, b)
	if status != 0 || len(lines) != 2 || lines[0]["fen"] != a || lines[1]["fen"] != b {
		t.Errorf("status %d: %v", status, lines)
	}
	if lines, status := probing(t, ""); status != 0 || len(lines) != 1 || lines[0] != nil {
		t.Errorf("nothing asked: status %d, %v", status, lines)
	}
}

// broken fails to read.
type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("the pipe burst") }

// TestProbeReadFails: a failing input is said on standard error.
func TestProbeReadFails(t *testing.T) {
	t.Parallel()
	var out, errs bytes.Buffer
	status := run(context.Background(), []string{"probe"}, streams{broken{}, &out, &errs})
	if status != 1 || !strings.Contains(errs.String(), "the pipe burst") {
		t.Errorf("status %d, %s", status, errs.String())
	}
}

// BenchmarkProbe answers the attacker's positions of bishop and knight, the
// ending with the most moves: positions a second, a core.
func BenchmarkProbe(b *testing.B) {
	judge := ending.NewJudge(solver.NewTables())
	if err := judge.Ready(context.Background()); err != nil {
		b.Fatal(err)
	}
	p := prober{judge: judge, out: json.NewEncoder(io.Discard)}
	rng := rand.New(rand.NewPCG(1, 1))
	var fens []string
	for len(fens) < 1000 {
		at := rng.Perm(64)[:4]
		var men [64]byte
		for i, c := range []byte("KBNk") {
			men[at[i]] = c
		}
		fen := placement(men) + " w - - 0 1"
		if _, err := p.probe(context.Background(), fen); err == nil {
			fens = append(fens, fen)
		}
	}
	b.ResetTimer()
	for i := range b.N {
		if err := p.one(context.Background(), fens[i%len(fens)]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "positions/s")
}
