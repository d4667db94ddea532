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
	Resting No = "resting" // no guardian's consent stands
)

// Error makes the word an error, the inner cause of a refusal.
func (n No) Error() string { return string(n) }

// Refuse makes a refusal: the word for the page and a sentence for the person.
func Refuse(n No, say string) error {
	kinds := map[No]game.Kind{Stale: game.Conflict, Over: game.Gone, Denied: game.Denied, Resting: game.Denied}
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

// Apply answers a command: the state after the act that follows, its last one, or a
// refusal that changes nothing. It is pure: the same state and command give the same
// act. What the command does becomes an act, the act is folded, and the state that
// follows decides whether the game has ended.
func Apply(ctx context.Context, j *ending.Judge, s State, c Command) (State, error) {
	if err := allowed(s, c); err != nil {
		return s, err
	}
	a, err := acted(ctx, j, s, c)
	if err != nil {
		return s, err
	}
	next, err := s.Fold(a)
	if err != nil {
		return s, err
	}
	end, err := ended(ctx, j, next)
	if err == nil && end == "" && a.Kind == Move {
		end, err = answered(ctx, j, &next)
	}
	if err != nil {
		return s, err
	}
	next.finish(end)
	return next, nil
}

// answered adds the reply to a move after which the game goes on, where one comes now,
// and gives the end that it makes.
func answered(ctx context.Context, j *ending.Judge, s *State) (End, error) {
	r, err := s.task().Answer(ctx, j, *s)
	if err != nil {
		return "", fmt.Errorf("reply: %w", err)
	}
	if r == nil {
		return "", nil
	}
	s.answer(*r)
	return ended(ctx, j, *s)
}

// acted is the act of a command; whether it ends the game is not its concern.
func acted(ctx context.Context, j *ending.Judge, s State, c Command) (Act, error) {
	a := Act{Seq: s.Seq() + 1, Kind: c.Do, By: c.By, Client: c.ID, At: c.At}
	if coaching(c.Do) {
		a.Who = c.Who
	}
	switch c.Do {
	case Move:
		return moved(ctx, j, s, c, a)
	case Flag:
		return s.flagged(c, a)
	case Unseen, Hand:
		return byHand(ctx, j, s, c, a)
	case Help:
		return help(ctx, j, s, c, a)
	case Back:
		return back(s, a)
	case Watch, Helped, Resign, Anew, Left, Stop:
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
	case c.Coach != coaching(c.Do) && c.Do != Unseen, !c.Coach && c.By != s.Student && !ours(c.Do):
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
	case c.Ply != s.Ply() && !ours(c.Do):
		return Refuse(Stale, "The board has changed since. Look again, then move.")
	}
	return nil
}

// ours says whether an act is the server's own.
func ours(k Kind) bool { return k == Left || k == Stop }

func goneHere(s State) string {
	return s.task().Gone() + " here. Take the move back, or begin a new try."
}

// help notes a step of help in the stage that it is for; what it shows is
// computed from the position and never stored.
func help(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	if a.Help = ending.Help(c.Step); !s.Helps.Has(a.Help) {
		return a, Refuse(Denied, "This drill does not give that help. The aim is always there.")
	}
	at, err := s.task().Stand(ctx, j, s)
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

// moved is the act of a move with its judgement; of a move that comes after the clock
// has run out, the flag.
func moved(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	if over := s.overTime(c); over > 0 {
		return flag(a, over), nil
	}
	m, err := s.Pos.Find(c.Move)
	if err != nil {
		return a, Refuse(Illegal, game.Saying(err))
	}
	v, err := s.task().Judge(ctx, j, s, m)
	if err != nil {
		return a, fmt.Errorf("judge: %w", err)
	}
	a = v.onto(a)
	a.Move, a.Took = m.UCI(), counted(s, c)
	return a, nil
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

// stops are the ends of a game that goes on and is stopped by an act.
var stops = map[Kind]End{Resign: Resigned, Anew: Restarted, Left: Abandoned}

// ended is the end that the last act of a state makes; empty where it makes none. It
// is the one place that decides it; what a move ends is the task's to say.
func ended(ctx context.Context, j *ending.Judge, s State) (End, error) {
	switch a := s.Acts[len(s.Acts)-1]; {
	case a.Kind == Flag:
		return Time, nil
	case a.Kind == Stop:
		return Stopped, nil
	case stops[a.Kind] != "" && s.Gone:
		return declined(ctx, j, s)
	case stops[a.Kind] != "":
		return stops[a.Kind], nil
	case a.Move != "" || a.Reply != "":
		return s.task().End(ctx, j, s)
	}
	return "", nil
}

// declined is the end of a stopped game that the student gives up: what the move
// made of it.
func declined(ctx context.Context, j *ending.Judge, s State) (End, error) {
	switch {
	case s.Pos.Stalemate():
		return Stalemate, nil
	case s.Pos.Dead():
		return Dead, nil
	}
	return s.task().Declined(ctx, j, s)
}
