package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

type probeCommand struct {
	FEN []string `arg:"" optional:"" help:"Positions as FENs, each in quotes. Without any, one is read from each line of standard input."`
}

// probed is one line of output.
type probed struct {
	FEN       string       `json:"fen"`
	Ending    string       `json:"ending"`
	Outcome   string       `json:"outcome"`     // for the side to move
	Plies     *int         `json:"plies"`       // to mate; null in a draw
	MateIn    *int         `json:"mate_in"`     // moves that the winner has still to make; null in a draw
	UnderRule string       `json:"under_fifty"` // the outcome under the fifty-move rule, from the FEN's clock
	Fifty     string       `json:"fifty"`       // "exact", or "approximate" where the count may start anew
	Dead      bool         `json:"dead"`        // no series of moves leads to mate (FIDE Laws 5.2.2)
	Stage     *string      `json:"stage"`
	Par       *int         `json:"par"`
	Held      *[3]bool     `json:"held"`
	Moves     []probedMove `json:"moves"`
}

type probedMove struct {
	Move    string  `json:"move"`
	SAN     string  `json:"san"`
	Outcome string  `json:"outcome"` // for the mover
	Plies   *int    `json:"plies"`
	MateIn  *int    `json:"mate_in"`
	Stage   *string `json:"stage"`
	Par     *int    `json:"par"`
	Cost    *int    `json:"cost"`  // null where the win is gone, and for the defender's moves
	Grade   *string `json:"grade"` // null for the defender's moves
}

type refused struct {
	FEN   string `json:"fen"`
	Error string `json:"error"`
}

// Run answers each position with a line, in order; a bad one gets a line that
// says what is wrong, and makes the exit status 1 at the end.
func (c probeCommand) Run(ctx context.Context, std streams) error {
	out := bufio.NewWriterSize(std.out, 1<<16)
	p := prober{judge: ending.NewJudge(solver.NewTables()), out: json.NewEncoder(out)}
	p.out.SetEscapeHTML(false)
	if err := p.judge.Ready(ctx); err != nil {
		return err
	}
	err := p.all(ctx, c.FEN, std.in)
	if flushed := out.Flush(); err == nil {
		err = flushed
	}
	if err == nil && p.failed {
		err = errShown
	}
	return err
}

type prober struct {
	judge  *ending.Judge
	out    *json.Encoder
	failed bool
}

func (p *prober) all(ctx context.Context, fens []string, in io.Reader) error {
	for _, fen := range fens {
		if err := p.one(ctx, fen); err != nil {
			return err
		}
	}
	if len(fens) > 0 {
		return nil
	}
	lines := bufio.NewReaderSize(in, maxLine)
	for {
		line, err := readLine(lines)
		if errors.Is(err, io.EOF) {
			return ctx.Err()
		}
		if err != nil {
			return fmt.Errorf("read standard input: %w", err)
		}
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		if err := p.one(ctx, line); err != nil {
			return err
		}
	}
}

// maxLine is how much of a line is looked at; a FEN has fewer than 100 bytes.
const maxLine = 4 << 10

// readLine reads a line and cuts it where it is too long for any FEN, so that
// the lines after it are still answered.
func readLine(r *bufio.Reader) (string, error) {
	line, more, err := r.ReadLine()
	text := string(line)
	for more && err == nil {
		_, more, err = r.ReadLine()
	}
	return text, err
}

func (p *prober) one(ctx context.Context, fen string) error {
	line, err := p.probe(ctx, fen)
	if game.KindOf(err) == game.Bad {
		p.failed = true
		return p.out.Encode(refused{fen, game.Saying(err)})
	}
	if err != nil {
		return err
	}
	return p.out.Encode(line)
}

func (p *prober) probe(ctx context.Context, fen string) (probed, error) {
	pos, err := board.ParseFEN(fen)
	if err != nil {
		return probed{}, err
	}
	look, answers, err := p.judge.Survey(ctx, pos)
	if err != nil {
		return probed{}, err
	}
	line := probed{FEN: fen, Ending: look.Name, Outcome: outcomes[look.Outcome], UnderRule: outcomes[look.UnderFifty()],
		Moves: make([]probedMove, len(answers)), Fifty: "approximate"}
	if look.FiftyExact() {
		line.Fifty = "exact"
	}
	if line.Dead, err = p.judge.Dead(pos); err != nil {
		return probed{}, err
	}
	line.Plies, line.MateIn = distance(look)
	line.Stage, line.Par = stage(look)
	if look.Plan != nil && !look.Plan.Pawn {
		line.Held = &look.ShutOut
	}
	for i, a := range answers {
		line.Moves[i] = probedMove{Move: a.Move.UCI(), SAN: pos.SAN(a.Move), Outcome: outcomes[-a.After.Outcome]}
		m := &line.Moves[i]
		m.Plies, m.MateIn = distance(a.After)
		m.Stage, m.Par = stage(a.After)
		if a.Grade != "" {
			g := string(a.Grade)
			m.Grade = &g
		}
		if a.Grade != "" && a.Grade != ending.WinGone {
			m.Cost = &answers[i].Cost
		}
	}
	return line, nil
}

var outcomes = map[solver.Outcome]string{solver.Win: "win", solver.Draw: "draw", solver.Loss: "loss"}

// distance is how far a position is from mate; nothing in a draw.
func distance(l ending.Look) (plies, moves *int) {
	if l.Outcome == solver.Draw {
		return nil, nil
	}
	n := l.MateIn()
	if l.Outcome == solver.Loss {
		n = l.Plies / 2
	}
	return &l.Plies, &n
}

// stage is a position's stage and its par; nothing where there is no plan or
// no win.
func stage(l ending.Look) (*string, *int) {
	if l.Stage < 0 {
		return nil, nil
	}
	s := string(l.Plan.Steps[l.Stage].Stage)
	return &s, &l.Par
}
