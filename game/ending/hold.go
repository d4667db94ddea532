package ending

import (
	"context"
	"math"
	"slices"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// The two grades of a hold drill, in which the student defends a draw.
const (
	Held     Grade = "held"      // the draw is kept, or better
	DrawGone Grade = "draw gone" // the attacker wins now
)

// HoldStage is the one stage of a hold drill.
const HoldStage Stage = "hold"

// Hold is an ending in which the student defends a draw.
type Hold struct {
	Code string // material, the attacker's men first, as in "KPK"
	Name string // as a page writes it
	Aim  string // what to try for, one sentence
	fit  func(p board.Position) bool
}

// holds is data: a hold drill's ending is added here. The aims are common
// practice, without a source.
var holds = []Hold{
	{"KPK", "King against king and pawn", "Stay in front of the pawn: it must not get past you.", always},
	{"KBPK", "King against bishop and wrong rook pawn", "Get into the corner before the pawn, and stay there.",
		wrongRookPawn},
	{"KRKB", "Bishop against rook",
		"Keep the bishop near your king. At the edge, go to a corner that your bishop cannot reach.", always},
	{"KRKN", "Knight against rook", "Keep the knight beside your king, and away from the corner.", always},
	{"KRKP", "Pawn against rook", "Keep your king beside the pawn, and move the pawn on.", always},
	{"KQKP", "Pawn on the seventh against queen",
		"Keep your king by the pawn. If she checks, step in front of it or away.", onSeventh},
}

func always(board.Position) bool { return true }

// wrongRookPawn says whether the pawn is a rook's and the bishop never guards
// the square on which it would queen.
func wrongRookPawn(p board.Position) bool {
	pawn, bishop := theMan(p, board.Pawn), theMan(p, board.Bishop)
	last := 0
	if p.At(pawn).Color == board.White {
		last = 7
	}
	return (pawn.File() == 0 || pawn.File() == 7) && (pawn.File()+last)%2 != (bishop.File()+bishop.Rank())%2
}

func onSeventh(p board.Position) bool {
	pawn := theMan(p, board.Pawn)
	return pawn.Rank() == map[board.Color]int{board.White: 6, board.Black: 1}[p.At(pawn).Color]
}

// theMan finds the only man of a kind.
func theMan(p board.Position, kind board.Kind) board.Square {
	for sq := board.Square(0); sq < 64; sq++ {
		if m := p.At(sq); m.There && m.Kind == kind {
			return sq
		}
	}
	return 0
}

// Holds lists the endings of hold drills, in teaching order; a copy.
func Holds() []Hold { return slices.Clone(holds) }

// HoldOf finds the hold drill of an ending by its code.
func HoldOf(code string) (*Hold, bool) {
	for _, h := range holds {
		if h.Code == code {
			return &h, true
		}
	}
	return nil, false
}

// HoldVerdict is the judgement of a move that defends a draw.
type HoldVerdict struct {
	Grade   Grade
	After   Look
	Holding int // legal moves that kept the draw, of Moves
	Moves   int
}

// JudgeHold grades a move of the defending side, made from p, a position that
// is not lost for it. Under the fifty-move rule a win that comes too late is
// none (FIDE Laws 9.3).
func (j *Judge) JudgeHold(ctx context.Context, p board.Position, m board.Move) (HoldVerdict, error) {
	after, err := j.Look(ctx, p.Play(m))
	if err != nil {
		return HoldVerdict{}, err
	}
	keeps, err := j.HoldingMoves(ctx, p)
	if err != nil {
		return HoldVerdict{}, err
	}
	v := HoldVerdict{Grade: Held, After: after, Holding: len(keeps), Moves: len(p.Moves())}
	if after.UnderFifty() == solver.Win {
		v.Grade = DrawGone
	}
	return v, nil
}

// Press chooses the attacker's move in p, a position of a hold drill: the
// quickest mate where it wins, else the move after which the fewest replies
// hold. A move that stalemates, gives the last man away or loses comes last.
// Among equals the seed and the position decide.
func (j *Judge) Press(ctx context.Context, p board.Position, seed int64) (board.Move, error) {
	options, err := j.Options(ctx, p)
	if err != nil {
		return board.Move{}, err
	}
	if len(options) == 0 {
		return board.Move{}, game.Fail(game.Gone, "The game is over.")
	}
	most, best := math.MinInt, []board.Move{}
	for _, o := range options {
		score, err := j.pressing(ctx, p, o)
		if err != nil {
			return board.Move{}, err
		}
		if score > most {
			most, best = score, best[:0]
		}
		if score == most {
			best = append(best, o.Move)
		}
	}
	return best[pick(seed, p.Key(), len(best))], nil
}

// pressing ranks a move of the attacker, the greatest first.
func (j *Judge) pressing(ctx context.Context, p board.Position, o Option) (int, error) {
	next := p.Play(o.Move)
	switch {
	case o.Wins():
		return 1<<20 - o.After.Plies, nil
	case o.After.Outcome == solver.Win:
		return -1 << 20, nil
	case next.Stalemate(), next.Dead():
		return -1 << 16, nil
	}
	keeps, err := j.HoldingMoves(ctx, next)
	if err != nil {
		return 0, err
	}
	if takesLast(next, keeps) {
		return -1<<15 - len(keeps), nil
	}
	return -len(keeps), nil
}

// takesLast says whether one of some moves takes the last man that could mate.
func takesLast(p board.Position, moves []board.Move) bool {
	for _, m := range moves {
		if m.Capture && p.Play(m).Dead() {
			return true
		}
	}
	return false
}

// Firmest is, among the moves that hold, the one after which the attacker's best
// try still leaves the most replies that hold. ok is false where no move holds.
func (j *Judge) Firmest(ctx context.Context, p board.Position, seed int64) (best board.Move, ok bool, err error) {
	keeps, err := j.HoldingMoves(ctx, p)
	if err != nil {
		return best, false, err
	}
	most := -1
	for _, m := range keeps {
		room, err := j.room(ctx, p.Play(m), seed)
		if err != nil {
			return best, false, err
		}
		if room > most {
			most, best = room, m
		}
	}
	return best, most >= 0, nil
}

// room is the number of replies that hold after the attacker's best try; a game
// that is over as a draw has all the room there is.
func (j *Judge) room(ctx context.Context, p board.Position, seed int64) (int, error) {
	if len(p.Moves()) == 0 || p.Dead() {
		return 64, nil
	}
	m, err := j.Press(ctx, p, seed)
	if err != nil {
		return 0, err
	}
	next := p.Play(m)
	if len(next.Moves()) == 0 || next.Dead() {
		return 64, nil
	}
	keeps, err := j.HoldingMoves(ctx, next)
	return len(keeps), err
}

// HoldStarts picks starts of a hold drill: White defends and is to move, no side
// wins, at least one move loses, and no move ends it at once by taking the last
// man. Of the kinds there are 'random' and 'only', where one move alone holds.
func (j *Judge) HoldStarts(ctx context.Context, h *Hold, w Wanted) (Picked, error) {
	if w.Kind != AtRandom && w.Kind != OnlyMove {
		return Picked{}, game.Fail(game.Bad,
			"A hold drill starts at random, or where only one move holds. Choose one of these.")
	}
	look := func(s *seeking, sp solver.Position) (p board.Position, fits bool, err error) {
		v, err := j.value(s.ctx, sp)
		if err != nil || v.Outcome != solver.Draw {
			return p, false, err
		}
		if p, err = s.board(sp); err != nil || !h.fit(p) {
			return p, false, err
		}
		if err := s.spend(perSurvey); err != nil {
			return p, false, err
		}
		s.found.Looked++
		fits, err = j.holdFits(s.ctx, p, w.Kind)
		return p, fits, err
	}
	return j.search(ctx, h.Code, solver.Black, w, look)
}

func (j *Judge) holdFits(ctx context.Context, p board.Position, kind string) (bool, error) {
	keeps, err := j.HoldingMoves(ctx, p)
	if err != nil || len(keeps) == len(p.Moves()) || kind == OnlyMove && len(keeps) != 1 {
		return false, err
	}
	return !takesLast(p, keeps), nil
}

// HoldPasted reads FENs, one on each line, as starts of a hold drill; see Pasted.
func (j *Judge) HoldPasted(ctx context.Context, h *Hold,
	text string) (starts []board.Position, problems []string, err error) {
	return eachLine(text, func(line string) (board.Position, error) { return j.holdPasted(ctx, h, line) })
}

func (j *Judge) holdPasted(ctx context.Context, h *Hold, line string) (board.Position, error) {
	p, l, err := j.readStart(ctx, line, h.Code, h.Name)
	switch {
	case err != nil:
		return p, err
	case l.Turn == l.Attacker:
		return p, game.Fail(game.Bad, "the stronger side is to move; a hold drill starts with the defender to move")
	case l.UnderFifty() == solver.Loss:
		return p, game.Fail(game.Bad, "it is lost already, no move holds the draw")
	}
	return p, nil
}
