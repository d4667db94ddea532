package ending

import (
	"context"

	"drover/game/board"
	"drover/solver"
)

// Facts are the computed reasons for a grade; Sentences puts them into words.
// A fact that does not apply is empty.
type Facts struct {
	Grade  Grade
	Cost   int
	Mate   bool           // the move mates
	Best   string         // the better move in SAN, where one would have cost less by 2 or that keeps the win
	Keeps  bool           // after a slip: Best would have kept the region that was given up
	Waited bool           // the move only had to pass the turn, and did
	Closed int            // the region, 1 to 3, that the move has shut him out of
	Opened int            // the region that a slip gives up
	Out    []board.Square // after a slip: his way out
	Stayed bool           // he could step out, and this time did not
	Went   bool           // he has stepped out
	Hangs  board.Man      // the man that falls: when the win goes, or where the win is kept without it
	HangAt board.Square
	Taken  bool // it was taken at once
	Forked bool // it cannot be saved, though not taken yet
	Stale  bool // the move stalemates
	Left   board.Square
	Only   bool         // Left is the square that he had before the move
	Fifty  bool         // only the fifty-move rule takes the win away
	Taking board.Square // after a detour: a square that the better move takes from him
	Takes  bool         // there is one
	PenWas int          // squares of his pen before and after; 0 where the ending has none
	PenIs  int
	Least  bool // his pen is smaller now than ever before in this game, and no longer open
	Steps  int  // squares that he can step to now
	Moves  int  // to mate now, with best play
}

// Situation is a judged move and what followed it.
type Situation struct {
	Before  board.Position
	Move    board.Move
	Verdict Verdict
	Reply   *board.Move // nil where none followed
	Pen     int         // the smallest that his pen was in the game before the move; 0: not known
}

// OpenPen is the number of squares from which on his pen counts as open: no
// hurdles are drawn round it, and nothing is said of its shrinking.
const OpenPen = 24

// Facts computes the reasons for a verdict.
func (j *Judge) Facts(ctx context.Context, s Situation) (Facts, error) {
	after := s.Before.Play(s.Move)
	f := Facts{Grade: s.Verdict.Grade, Cost: s.Verdict.Cost, Mate: after.Checkmate(), Steps: len(after.Moves()),
		Moves: s.Verdict.After.MateIn()}
	if f.Mate {
		return f, nil
	}
	best, ok, err := j.Best(ctx, s.Before)
	if err != nil {
		return f, err
	}
	if ok && (f.Cost >= 2 || f.Grade == WinGone) {
		f.Best = s.Before.SAN(best.Move)
	}
	switch f.Grade {
	case WinGone:
		err = j.whyGone(ctx, &f, s, after)
	case Slip:
		f.Opened = s.Verdict.Before.Plan.Steps[s.Verdict.Stage-1].Region
		if f.loose(s, after) {
			break
		}
		if f.Keeps, err = j.keeps(ctx, s.Before.Play(best.Move), f.Opened); err == nil {
			err = j.whyOut(ctx, &f, s, after)
		}
	case OnCourse:
		err = j.whyGood(ctx, &f, s, after)
	case Detour:
		if !f.loose(s, after) {
			f.Taking, f.Takes = takes(after, s.Before.Play(best.Move))
		}
	}
	return f, err
}

// keeps says whether a region holds in a position.
func (j *Judge) keeps(ctx context.Context, p board.Position, region int) (bool, error) {
	sp, err := toSolver(p)
	if err != nil {
		return false, err
	}
	held, err := j.tables.Held(ctx, sp)
	return held[region-1], err
}

// takes finds a square that the lone king may step to after the move that was
// made and not after the better one, the nearest to the centre.
func takes(after, better board.Position) (sq board.Square, ok bool) {
	had := map[board.Square]bool{}
	for _, m := range better.Moves() {
		had[m.To] = true
	}
	most := -1
	for _, m := range after.Moves() {
		if !had[m.To] && fromRim(m.To) > most {
			most, sq, ok = fromRim(m.To), m.To, true
		}
	}
	return sq, ok
}

// loose finds a man that may be taken though the win is kept without it.
func (f *Facts) loose(s Situation, after board.Position) bool {
	moves := after.Moves()
	if s.Reply != nil && s.Reply.Capture {
		f.Taken, moves = true, []board.Move{*s.Reply}
	}
	for _, m := range moves {
		if m.Capture {
			f.Hangs, f.HangAt = after.At(m.To), m.To
			return true
		}
	}
	return false
}

func (j *Judge) whyGone(ctx context.Context, f *Facts, s Situation, after board.Position) error {
	lone := after.Turn()
	switch {
	case s.Verdict.Fifty:
		f.Fifty = true
	case after.Stalemate():
		f.Stale = true
		f.Left, f.Only = missing(s.Before, after, lone)
	default:
		return j.whyLost(ctx, f, s, after)
	}
	return nil
}

// missing finds a square that the lone king had before the move and has no
// more: the one that would have saved the win.
func missing(before, after board.Position, lone board.Color) (board.Square, bool) {
	king := before.King(lone)
	for sq := board.Square(0); sq < 64; sq++ {
		if sq != king && steps(sq, king) <= 1 && open(before, lone, sq) && !open(after, lone, sq) {
			return sq, true
		}
	}
	return 0, false
}

// open says whether the lone king may stand on a square of p.
func open(p board.Position, lone board.Color, sq board.Square) bool {
	m := p.At(sq)
	return (!m.There || m.Color != lone || m.Kind == board.King) && !p.Covers(1-lone, sq)
}

// whyLost finds the man that falls: to a capture that he has now, or after a
// saving move to which every answer loses one.
func (j *Judge) whyLost(ctx context.Context, f *Facts, s Situation, p board.Position) error {
	if s.Reply != nil && s.Reply.Capture {
		f.Hangs, f.HangAt, f.Taken = p.At(s.Reply.To), s.Reply.To, true
		return nil
	}
	saving, err := j.HoldingMoves(ctx, p)
	if err != nil {
		return err
	}
	for _, m := range saving {
		if m.Capture {
			f.Hangs, f.HangAt = p.At(m.To), m.To
			return nil
		}
	}
	for _, m := range saving {
		if at, ok, err := j.falls(ctx, p.Play(m)); err != nil || ok {
			f.Hangs, f.HangAt, f.Forked = p.At(at), at, true
			return err
		}
	}
	return nil
}

// HoldingMoves lists the moves of the side to move that keep the other from winning.
func (j *Judge) HoldingMoves(ctx context.Context, p board.Position) ([]board.Move, error) {
	options, err := j.Options(ctx, p)
	if err != nil {
		return nil, err
	}
	var found []board.Move
	for _, o := range options {
		if o.After.Outcome != solver.Win {
			found = append(found, o.Move)
		}
	}
	return found, nil
}

// falls says whether each move of the attacker in p leaves a man to be taken
// with a draw, and where the man stands that most of them leave.
func (j *Judge) falls(ctx context.Context, p board.Position) (board.Square, bool, error) {
	count := map[board.Square]int{}
	for _, m := range p.Moves() {
		next := p.Play(m)
		saving, err := j.HoldingMoves(ctx, next)
		if err != nil {
			return 0, false, err
		}
		taken := false
		for _, r := range saving {
			if r.Capture {
				count[r.To]++
				taken = true
			}
		}
		if !taken {
			return 0, false, nil
		}
	}
	at, most := board.Square(0), 0
	for sq := board.Square(0); sq < 64; sq++ {
		if count[sq] > most && p.At(sq).There {
			at, most = sq, count[sq]
		}
	}
	return at, most > 0, nil
}

// whyOut follows the lone king from a slip to a square that the lost region
// kept him from, by his own reply where there is one.
func (j *Judge) whyOut(ctx context.Context, f *Facts, s Situation, p board.Position) error {
	step := s.Reply
	if s.Reply != nil {
		l, err := j.Look(ctx, p.Play(*s.Reply))
		if err != nil {
			return err
		}
		f.Stayed = l.Plan == s.Verdict.Before.Plan && l.ShutOut[f.Opened-1]
		f.Went = !f.Stayed
	}
	if step == nil || f.Stayed {
		var err error
		if step, err = j.wayOut(ctx, p, f.Opened); err != nil {
			return err
		}
	}
	way, err := j.follow(ctx, p, step, f.Opened)
	f.Out = way
	return err
}

// longWay is how many steps of a way out are followed.
const longWay = 4

// follow walks on from a step of the lone king, the attacker answering with the
// quickest mate, until he stands on the region's squares; nothing where he does
// not get there soon.
func (j *Judge) follow(ctx context.Context, p board.Position, step *board.Move, region int) ([]board.Square, error) {
	var way []board.Square
	for step != nil && len(way) < longWay {
		way = append(way, step.To)
		if onRegion(step.To, region) {
			return way, nil
		}
		p = p.Play(*step)
		best, ok, err := j.Best(ctx, p)
		if err != nil || !ok {
			return nil, err
		}
		p = p.Play(best.Move)
		if step, err = j.wayOut(ctx, p, region); err != nil {
			return nil, err
		}
	}
	return nil, nil
}

// onRegion says whether a square is one that a region bars: 1 the four centre
// squares, 2 the middle sixteen, 3 the inner thirty-six.
func onRegion(sq board.Square, region int) bool { return fromRim(sq) >= 4-region }

// wayOut is the reply that takes the king out: onto the region's squares if
// there is one, else the one from which he is farthest from being shut out.
func (j *Judge) wayOut(ctx context.Context, p board.Position, region int) (*board.Move, error) {
	var found *board.Move
	most := 0
	for _, m := range p.Moves() {
		sp, err := toSolver(p.Play(m))
		if err != nil {
			return nil, err
		}
		if m.Capture {
			continue
		}
		n, ok, err := j.tables.Par(ctx, sp, region)
		if err != nil {
			return nil, err
		}
		if !ok {
			n = 100
		}
		score := 4*n + fromRim(m.To)
		if onRegion(m.To, region) {
			score += 1000
		}
		if n > 0 && score > most {
			found, most = &m, score
		}
	}
	return found, nil
}

func (j *Judge) whyGood(ctx context.Context, f *Facts, s Situation, after board.Position) error {
	v := s.Verdict
	lone := after.Turn()
	if v.Before.Plan == nil {
		return nil
	}
	var err error
	if f.Closed, err = j.closed(ctx, v.Before, after); err != nil {
		return err
	}
	if v.Before.Plan.Pen {
		f.PenWas, f.PenIs = len(Pen(s.Before, lone)), len(Pen(after, lone))
		f.Least = f.PenIs < f.PenWas && f.PenIs <= OpenPen && (s.Pen == 0 || f.PenIs < s.Pen)
	}
	passed, err := j.passed(ctx, s.Before)
	if err != nil {
		return err
	}
	f.Waited = v.Cost == 0 && passed > 0 && passed <= v.After.Plies
	return nil
}

// closed is the greatest region of the plan that a move has shut him out of:
// he still stands on it in after, has to leave it, and cannot come back. (A
// region that holds after the move with him outside held before it as well, by
// that very move.)
func (j *Judge) closed(ctx context.Context, before Look, after board.Position) (int, error) {
	sp, err := toSolver(after)
	if err != nil {
		return 0, err
	}
	for r := 3; r >= 1; r-- {
		if before.ShutOut[r-1] || !before.Plan.uses(r) {
			continue
		}
		if n, ok, err := j.tables.Par(ctx, sp, r); err != nil || ok && n == 0 {
			return r, err
		}
	}
	return 0, nil
}

// uses says whether a region completes a stage of the plan.
func (p *Plan) uses(region int) bool {
	for _, s := range p.Steps {
		if s.Region == region {
			return true
		}
	}
	return false
}

// passed is the distance to mate in plies if the attacker could let the turn
// pass; 0 where that would not win.
func (j *Judge) passed(ctx context.Context, p board.Position) (int, error) {
	sp, err := toSolver(p)
	if err != nil {
		return 0, err
	}
	sp.Turn, sp.EnPassant = 1-sp.Turn, solver.NoSquare
	if err := sp.Validate(); err != nil {
		return 0, nil //nolint:nilerr // the turn cannot pass here: he would stand in check
	}
	v, err := j.value(ctx, sp)
	if err != nil || v.Outcome != solver.Loss {
		return 0, err
	}
	return v.Plies, nil
}

// Pen is the set of squares that the lone king could walk to, his own
// included, if nobody else moved.
func Pen(p board.Position, lone board.Color) []board.Square {
	barred := p.Cover(1 - lone)
	pen := []board.Square{p.King(lone)}
	barred[pen[0]] = true
	for i := 0; i < len(pen); i++ {
		for sq := board.Square(0); sq < 64; sq++ {
			if barred[sq] || steps(sq, pen[i]) > 1 {
				continue
			}
			barred[sq] = true
			if m := p.At(sq); !m.There || m.Color != lone {
				pen = append(pen, sq)
			}
		}
	}
	return pen
}
