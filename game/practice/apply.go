package practice

import (
	"context"
	"errors"
	"fmt"

	"drover/game"
	"drover/game/ending"
)

// No is the short word of a refusal on the socket.
type No string

// The refusals.
const (
	Stale   No = "stale"   // the position has changed since
	Illegal No = "illegal" // not a legal move
	NotTurn No = "turn"    // not the student's move now
	Over    No = "ended"   // the game has ended
	Denied  No = "denied"  // not this person, or not in this game
	Bad     No = "bad"     // cannot be read
)

// Error makes the word an error, the inner cause of a refusal.
func (n No) Error() string { return string(n) }

// Refuse makes a refusal: the word for the page and a sentence for the person.
func Refuse(n No, say string) error {
	kinds := map[No]game.Kind{Stale: game.Conflict, Over: game.Gone, Denied: game.Denied}
	kind, ok := kinds[n]
	if !ok {
		kind = game.Bad
	}
	return game.Wrap(kind, say, n)
}

// Refusal finds the word of a refusal; ok is false for other errors.
func Refusal(err error) (No, bool) {
	var n No
	ok := errors.As(err, &n)
	return n, ok
}

// Apply answers a command: the act that follows, or a refusal that changes
// nothing. It is pure: the same state and command give the same act.
func Apply(ctx context.Context, j *ending.Judge, s State, c Command) (Act, error) {
	if err := allowed(s, c); err != nil {
		return Act{}, err
	}
	a := Act{Seq: s.Seq() + 1, Kind: c.Do, By: c.By, Client: c.ID, At: c.At}
	if coaching(c.Do) {
		a.Who = c.Who
	}
	switch c.Do {
	case Move:
		if over := s.overTime(c); over > 0 {
			return flag(a, over), nil
		}
		if s.Hold {
			return holdMove(ctx, j, s, c, a)
		}
		return move(ctx, j, s, c, a)
	case Flag:
		return s.flagged(c, a)
	case Watch:
		return a, nil
	case Unseen, Hand:
		return byHand(ctx, j, s, c, a)
	case Help:
		return help(ctx, j, s, c, a)
	case Back:
		return back(s, a)
	case Helped:
		return a, nil
	case Resign:
		return resign(ctx, j, s, a)
	case Anew:
		if s.Gone {
			return resign(ctx, j, s, a)
		}
		a.End = Restarted
		return a, nil
	case Left:
		if s.Gone {
			return resign(ctx, j, s, a)
		}
		a.End = Abandoned
		return a, nil
	}
	return Act{}, Refuse(Bad, "This page asked for something unknown. Load it again.")
}

// mostActs is the number of acts after which nobody begins to watch any more. The
// student's own acts are bounded by the rules: see DEVELOPERS.md.
const mostActs = 4_000

func allowed(s State, c Command) error {
	switch {
	case !plain(c.ID):
		return Refuse(Bad, "This page sent an id that is too long or cannot be read. Load it again.")
	case c.Coach != coaching(c.Do) && c.Do != Unseen, !c.Coach && c.By != s.Student && c.Do != Left:
		return Refuse(Denied, "This is another person's game.")
	case c.Do == Unseen:
		return nil
	case c.Do == Helped && s.Assisted:
		return Refuse(Stale, "That is noted already.")
	case c.Do == Helped:
		return nil
	case s.End != "":
		return Refuse(Over, "This game has ended.")
	case s.Gone && (c.Do == Move || c.Do == Help):
		return Refuse(NotTurn, goneHere(s))
	case s.Waiting() && (c.Do == Move || c.Do == Help || c.Do == Back):
		return Refuse(NotTurn, "Your coach makes his move. It comes in a moment.")
	case c.Do == Watch && s.Seq() >= mostActs:
		return Refuse(Over, "This game has been watched very often. You can read it when it has ended.")
	case c.Do == Watch:
		return nil
	case c.Ply != s.Ply() && c.Do != Left:
		return Refuse(Stale, "The board has changed since. Look again, then move.")
	}
	return nil
}

func goneHere(s State) string {
	if s.Hold {
		return "The draw is gone here. Take the move back, or begin a new try."
	}
	return "The win is gone here. Take the move back, or begin a new try."
}

// help notes a step of help in the stage that it is for; what it shows is
// computed from the position and never stored.
func help(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	if a.Help = ending.Help(c.Step); !s.Helps.Has(a.Help) {
		return a, Refuse(Denied, "This drill does not give that help. The aim is always there.")
	}
	if s.Hold {
		a.Stage = ending.Holding
		return a, nil
	}
	at, err := Now(ctx, j, s)
	a.Stage = at.Stage
	return a, err
}

func back(s State, a Act) (Act, error) {
	if len(s.Line) == 0 {
		return a, Refuse(NotTurn, "There is no move to take back.")
	}
	if s.BacksLeft() == 0 {
		return a, Refuse(Denied, "No move can be taken back in this try.")
	}
	return a, nil
}

// plain says whether a client's id is short and printable.
func plain(id string) bool {
	for _, c := range []byte(id) {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return len(id) <= 32
}

func resign(ctx context.Context, j *ending.Judge, s State, a Act) (Act, error) {
	var err error
	a.End, err = declined(ctx, j, s)
	return a, err
}

// declined is the end of a game that the student gives up: where the win was
// gone, what that made of it.
func declined(ctx context.Context, j *ending.Judge, s State) (End, error) {
	switch {
	case !s.Gone:
		return Resigned, nil
	case s.Pos.Stalemate():
		return Stalemate, nil
	case s.Pos.Dead():
		return Dead, nil
	case s.Hold && s.Pos.Checkmate():
		return Mated, nil
	case s.Hold:
		return LetGo, nil
	}
	fifty, err := byFifty(ctx, j, s)
	if fifty {
		return Fifty, err
	}
	return Drawn, err
}

// byFifty says whether only the fifty-move rule took the win of the last move.
func byFifty(ctx context.Context, j *ending.Judge, s State) (bool, error) {
	n := len(s.Line)
	if n == 0 || s.Line[n-1].Act.Grade != ending.WinGone {
		return false, nil
	}
	situation, err := s.Verdict(ctx, j, s.Line[n-1])
	return situation.Verdict.Fifty, err
}

func move(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	m, err := s.Pos.Find(c.Move)
	if err != nil {
		return a, Refuse(Illegal, game.Saying(err))
	}
	at, err := Now(ctx, j, s)
	if err != nil {
		return a, err
	}
	v, err := j.Judge(ctx, s.Pos, m, at.Inner)
	if err != nil {
		return a, fmt.Errorf("judge: %w", err)
	}
	a.Move, a.Grade, a.Cost, a.Plies = m.UCI(), v.Grade, v.Cost, v.Before.Plies
	a.Stage, a.Par = at.Stage, at.Par
	a.Took = counted(s, c)
	next, err := s.Fold(a)
	if err != nil {
		return a, err
	}
	if a.End = next.ending(); a.End == "" {
		a, err = reply(ctx, j, s, next, a)
	}
	if err == nil && a.End == "" && a.Grade == ending.WinGone && s.Mode == Test {
		if a.End = Drawn; v.Fifty {
			a.End = Fifty
		}
	}
	return a, err
}

// counted is the time of thought that counts: what the client says, but never
// more than has passed since the board last changed.
func counted(s State, c Command) int {
	took := max(c.Took, 0)
	for i := len(s.Acts) - 1; i >= 0; i-- {
		if a := s.Acts[i]; a.Kind == Move || a.Kind == Back || a.Reply != "" {
			took = min(took, int(max(c.At.Sub(a.At).Milliseconds(), 0)))
			break
		}
	}
	return min(took, 3_600_000)
}

// reply adds the defender's answer and what it ends.
func reply(ctx context.Context, j *ending.Judge, s, next State, a Act) (Act, error) {
	if next.Pos.Stalemate() {
		if s.Mode == Test {
			a.End = Stalemate
		}
		return a, nil
	}
	if s.Defender == ByHand && len(s.Lines) > 0 && a.Grade != ending.WinGone {
		return a, nil // it comes in an act of its own
	}
	r, err := j.Reply(ctx, next.Pos, s.Defender, s.Seed)
	if err != nil {
		return a, fmt.Errorf("reply: %w", err)
	}
	a.Reply = r.UCI()
	if next, err = s.Fold(a); err != nil {
		return a, err
	}
	if a.Grade == ending.WinGone {
		if a.End = next.ending(); a.End == "" && s.Mode == Test && next.Pos.Dead() {
			a.End = Dead
		}
		return a, nil
	}
	return replied(ctx, j, next, a)
}

// replied adds to an act what its reply ends; next is the state after it.
func replied(ctx context.Context, j *ending.Judge, next State, a Act) (Act, error) {
	if a.End = next.ending(); a.End != "" {
		return a, nil
	}
	return reached(ctx, j, next, a)
}

// ending is the end that the board alone makes. A position in which the win
// is gone is not one but in Apply, since the student may take the move back.
func (s State) ending() End {
	gone := s.Gone
	switch {
	case s.Pos.Checkmate():
		return Mated
	case s.Times() >= 5:
		return Fivefold
	case s.Times() >= 3 && s.Mode == Test && s.Pos.Turn() == s.Side:
		return Threefold
	case s.Pos.HalfMoves() >= 100 && !gone:
		return Fifty
	}
	return ""
}

// reached ends a game at its drill's last stage, or at its number of moves.
func reached(ctx context.Context, j *ending.Judge, s State, a Act) (Act, error) {
	l, err := j.Look(ctx, s.Pos)
	if err != nil {
		return a, fmt.Errorf("look: %w", err)
	}
	if done(l, s.Setup) {
		a.End = Reached
	} else if s.Budget > 0 && len(s.Line) >= s.Budget {
		a.End = OverMoves
	}
	return a, nil
}

// done says whether a stage that does not end with mate is complete.
func done(l ending.Look, s Setup) bool {
	if l.Plan == nil || !l.Won() || s.Target == ending.Mate {
		return false
	}
	if own, ok := ending.PlanOf(s.Ending); ok && own.Pawn {
		return l.Plan != own || l.Stage > own.Index(s.Target)
	}
	i := l.Plan.Index(s.Target)
	return i >= 0 && l.Plan.Steps[i].Region > 0 && l.Held[l.Plan.Steps[i].Region-1]
}
