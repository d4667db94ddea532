package live

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// Protocol is the socket's version, its subprotocol.
const Protocol = "drover.1"

// About is what the page is told of a game beside its moves.
type About struct {
	Title string // the ending
	Sub   string // which start of which drill
	Next  string // the address that the end leads to
	Again bool   // whether a new try can be begun
	Task  string // what is asked, where a quiet game has no stages to show
	First string // what the page says before the first move; empty: the plain words
	Pace  int    // milliseconds before the defender's reply is shown
	Trial bool   // a coach tries a drill out; the game is not read afterwards
	Test  string // which game of a test of five it is, "Test, game 2 of 5"; empty: of none
	Most  int    // moves within which a game of that test is passed; 0: no number
	Coach bool   // the one who connects watches, and moves for the defender by hand
}

// Frame is what a client sends: one command.
type Frame struct {
	Do   string `json:"do"`
	ID   string `json:"id"`
	Ply  int    `json:"ply"`
	Move string `json:"move"`
	Took int    `json:"took"`
	Step int    `json:"step"` // of help
}

// Command is the frame as a command of package practice. It checks nothing: the
// socket refuses unknown fields, and practice.Apply refuses the rest.
func (f Frame) Command() practice.Command {
	return practice.Command{Do: practice.Kind(f.Do), ID: f.ID, Ply: f.Ply, Move: f.Move, Took: f.Took, Step: f.Step}
}

type gameFrame struct {
	ID      string        `json:"id"`
	Title   string        `json:"title"`
	Sub     string        `json:"sub"`
	Mode    string        `json:"mode"`
	Pace    int           `json:"pace"`
	FEN     string        `json:"fen"`
	Side    string        `json:"side"`
	Stages  []stageFrame  `json:"stages"`
	Corners []string      `json:"corners"`
	Help    []ending.Help `json:"help"` // steps that may be looked at
	Pen     bool          `json:"pen"`  // whether the plan has his pen; now.cover says it of the men on the board
	Backs   int           `json:"backs"`
	Budget  int           `json:"budget"`
	Hold    bool          `json:"hold,omitempty"`   // the student defends a draw
	Wanted  int           `json:"wanted,omitempty"` // moves to be held
	Clock   int           `json:"clock,omitempty"`  // seconds of own thought
	Adds    int           `json:"adds,omitempty"`   // seconds that an own move adds to it
	Hand    bool          `json:"hand,omitempty"`   // a coach's hand may answer
	Coach   bool          `json:"coach,omitempty"`  // to the coach who watches
	Next    string        `json:"next"`
	Review  string        `json:"review"`
	Again   bool          `json:"again"`
	First   string        `json:"first,omitempty"` // words before the first move
	Quiet   bool          `json:"quiet,omitempty"` // nothing says right or wrong
	Loose   bool          `json:"loose,omitempty"` // it counts for nothing
	Test    string        `json:"test,omitempty"`  // which game of a test of five it is
	Most    int           `json:"most,omitempty"`  // moves within which a game of that test is passed
}

type stageFrame struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Aim  string `json:"aim"`
}

type moveFrame struct {
	UCI string `json:"uci"`
	SAN string `json:"san"`
}

type actFrame struct {
	Seq   int        `json:"seq"`
	ID    string     `json:"id"`
	Kind  string     `json:"kind"`
	Ply   int        `json:"ply"`
	No    int        `json:"no,omitempty"`
	Move  *moveFrame `json:"move,omitempty"`
	Reply *moveFrame `json:"reply,omitempty"`
	FEN   string     `json:"fen"`
	Mid   string     `json:"mid,omitempty"`
	Grade string     `json:"grade,omitempty"`
	Stage int        `json:"stage"`
	Back  bool       `json:"back,omitempty"`
	Why   []string   `json:"why,omitempty"`
	Par   int        `json:"par,omitempty"`
	Hint  *hintFrame `json:"hint,omitempty"`
	Who   string     `json:"who,omitempty"` // the coach's name, of an act of a coach
}

// hintFrame is what a step of help shows, for the position of its act.
type hintFrame struct {
	Step         ending.Help  `json:"step"`
	Wish         string       `json:"wish,omitempty"`
	Cover        []coverFrame `json:"cover,omitempty"`
	Pen          []string     `json:"pen,omitempty"`  // his own square first
	Gaps         [][2]string  `json:"gaps,omitempty"` // from where, to where
	Man          string       `json:"man,omitempty"`  // the square of the man that is to move
	Move         *moveFrame   `json:"move,omitempty"`
	Next         *moveFrame   `json:"next,omitempty"`  // in a hold drill: his next step
	HoldingMoves []moveFrame  `json:"holds,omitempty"` // in a hold drill: the moves that hold
}

type coverFrame struct {
	Man     string   `json:"man"` // king, queen, rook, bishop, knight
	At      string   `json:"at"`
	Squares []string `json:"squares"`
}

// Whose turn it is, as nowFrame says it.
const (
	turnYou  = "you"
	turnHand = "hand" // a coach is to move by hand
	turnGone = "gone" // the win, or the draw, is gone
	turnOver = "over"
)

type nowFrame struct {
	Seq   int         `json:"seq"`
	Ply   int         `json:"ply"`
	FEN   string      `json:"fen"`
	Turn  string      `json:"turn"`
	Legal [][2]string `json:"legal"`
	Check string      `json:"check"`
	Stage int         `json:"stage"`
	Par   int         `json:"par"`
	Move  int         `json:"move"`
	Left  int         `json:"left"`
	Backs int         `json:"backs"`
	Held  int         `json:"held,omitempty"` // moves held so far
	Time  int         `json:"time,omitempty"` // milliseconds left on the clock
	Seen  bool        `json:"seen,omitempty"` // a coach watches
	Who   string      `json:"who,omitempty"`  // the coach's name
	Cover string      `json:"cover"`          // what the second step of help shows: pen, gaps, cover
	Aim   *hintFrame  `json:"aim,omitempty"`  // drawn where moves come no nearer; it is no help
	Gone  *goneFrame  `json:"gone,omitempty"`
	End   *endFrame   `json:"end,omitempty"`
}

type reply struct {
	Game *gameFrame  `json:"game,omitempty"`
	Acts *[]actFrame `json:"acts,omitempty"`
	Act  *actFrame   `json:"act,omitempty"`
	Now  *nowFrame   `json:"now,omitempty"`
	Past []actFrame  `json:"past,omitempty"` // after a test: all acts once more, with what could not be told before
}

// Beat is the frame that says nothing but that the line is alive.
func Beat(n int) []byte { return fmt.Appendf(nil, `{"beat":%d}`, n) }

// Refusal is the frame that answers a command with an error: a short word for
// the page, a sentence for the person, nothing of the cause.
func Refusal(id string, err error) []byte {
	word, ok := practice.Refusal(err)
	if !ok {
		word = map[game.Kind]practice.No{game.Busy: "busy", game.Denied: practice.Denied, game.Missing: practice.Denied,
			game.Bad: practice.Bad}[game.KindOf(err)]
	}
	if word == "" {
		word = "away"
	}
	b, err := json.Marshal(struct {
		No  practice.No `json:"no"`
		ID  string      `json:"id"`
		Say string      `json:"say"`
	}{word, id, game.Saying(err)})
	if err != nil {
		return []byte(`{"no":"bad","id":"","say":"This could not be read."}`)
	}
	return b
}

// first is the frame that greets a watcher.
func (h *Hub) first(ctx context.Context, s practice.State, about About, after int) ([]byte, error) {
	if after > s.Seq() {
		after = 0
	}
	now, err := h.nowFrame(ctx, s)
	if err != nil {
		return nil, err
	}
	r := reply{Now: now}
	if after == 0 {
		r.Game = openingFrame(s, about)
	}
	acts, err := h.actFrames(ctx, s, after)
	if err != nil {
		return nil, err
	}
	r.Acts = &acts
	if after > 0 {
		if r.Past, err = h.past(ctx, s); err != nil {
			return nil, err
		}
	}
	return json.Marshal(r)
}

// since makes a frame for each act after a number; the last one says how the
// game stands.
func (h *Hub) since(ctx context.Context, s practice.State, after int) ([][]byte, error) {
	acts, err := h.actFrames(ctx, s, after)
	if err != nil {
		return nil, err
	}
	now, err := h.nowFrame(ctx, s)
	if err != nil {
		return nil, err
	}
	frames := make([][]byte, len(acts))
	for i := range acts {
		r := reply{Act: &acts[i], Now: now}
		if s.Acts[acts[i].Seq-1].End != "" {
			if r.Past, err = h.past(ctx, s); err != nil {
				return nil, err
			}
		}
		if frames[i], err = json.Marshal(r); err != nil {
			return nil, err
		}
	}
	return frames, nil
}

// past draws all acts of a test that has ended; nothing for other games.
func (h *Hub) past(ctx context.Context, s practice.State) ([]actFrame, error) {
	if s.Mode != practice.Test || s.End == "" {
		return nil, nil
	}
	return h.actFrames(ctx, s, 0)
}

func openingFrame(s practice.State, about About) *gameFrame {
	brief := s.Task.Brief(s)
	g := &gameFrame{
		ID: strconv.FormatInt(int64(s.Game), 10), Title: about.Title, Sub: about.Sub, Mode: string(s.Mode), Pace: about.Pace,
		FEN: s.Start, Side: sideLetter(s.Side), Backs: s.BacksLeft(), Budget: s.Budget, Next: about.Next, Again: about.Again,
		First: about.First, Review: "/games/" + strconv.FormatInt(int64(s.Game), 10),
		Corners: brief.Corners, Stages: []stageFrame{}, Help: s.Helps.List(),
		Hold: s.Task.Defends(), Clock: s.Clock, Adds: s.Increment, Hand: s.Defender == ending.ByHand, Coach: about.Coach,
		Loose: s.Loose || s.Trial, Test: about.Test, Most: about.Most,
	}
	if about.Trial {
		g.Review = ""
	}
	if s.Quiet {
		g.Quiet, g.Review = true, ""
		g.Stages = append(g.Stages, stageFrame{string(ending.Mate), "Your task", about.Task})
		return g
	}
	g.Pen, g.Wanted = brief.Pen, brief.Wanted
	for _, aim := range brief.Stages {
		g.Stages = append(g.Stages, stageFrame{string(aim.Stage), aim.Name, aim.Say})
	}
	return g
}

// Aim is what the page says above the board of a game that goes on: what to try for
// now. It is the sentence that the page's module finds in its first frame.
func Aim(ctx context.Context, j *ending.Judge, s practice.State, about About) (string, error) {
	switch {
	case s.End != "" || s.Gone:
		return "", nil
	case s.Quiet:
		return about.Task, nil
	case veiled(s):
		if about.Test != "" {
			return about.Test + ": no help, verdicts at the end.", nil
		}
		return "A test: no help, and the verdicts come at the end.", nil
	}
	at, err := s.Task.Stand(ctx, j, s)
	if err != nil {
		return "", fmt.Errorf("aim: %w", err)
	}
	aims := s.Task.Brief(s).Stages
	if i := stageIndex(s, at.Stage); i >= 0 && i < len(aims) {
		return aims[i].Say, nil
	}
	return "", nil
}

func sideLetter(c board.Color) string {
	if c == board.White {
		return "w"
	}
	return "b"
}

// actFrames draws the acts of a game after a number. The newest alone is drawn from
// the state at hand; more of them need a replay.
func (h *Hub) actFrames(ctx context.Context, now practice.State, after int) ([]actFrame, error) {
	if after == now.Seq()-1 {
		f, err := h.actFrame(ctx, now, now)
		return []actFrame{f}, err
	}
	s, err := practice.Begin(now.Setup)
	if err != nil {
		return nil, err
	}
	frames := []actFrame{}
	for _, a := range now.Acts {
		if s, err = s.Fold(a); err != nil {
			return nil, err
		}
		if a.Seq <= after {
			continue
		}
		f, err := h.actFrame(ctx, s, now)
		if err != nil {
			return nil, err
		}
		frames = append(frames, f)
	}
	return frames, nil
}

// actFrame draws the last act of a state, as the game that it belongs to stands now.
func (h *Hub) actFrame(ctx context.Context, s, now practice.State) (actFrame, error) {
	a := s.Last()
	f := actFrame{Seq: a.Seq, ID: a.Client, Kind: string(a.Kind), Ply: s.PlyBefore(), FEN: s.Pos.FEN(), Who: a.Who,
		Stage: noStage}
	if !veiled(now) {
		f.Stage, f.Par = stageIndex(s, a.Stage), practice.ShownPar(a.Stage, a.Par)
	}
	if s.Quiet {
		f.Par = 0
	}
	var err error
	switch a.Kind {
	case practice.Move:
		err = h.drawMove(ctx, &f, s, now.End != "")
	case practice.Help:
		f.Hint, err = h.drawStep(ctx, s, a.Help)
	case practice.Hand, practice.Unseen:
		f.drawReply(s, a)
	default:
	}
	return f, err
}

// noStage stands for a stage that is not told, or that the plan does not have.
const noStage = -1

// veiled says whether a game is a test that goes on: nothing in it may tell how
// it stands, not even the stage where there are several.
func veiled(s practice.State) bool {
	return s.Mode == practice.Test && s.Task.Staged() && s.End == ""
}

// stageIndex is the place of a stage in the list that the page has.
func stageIndex(s practice.State, stage ending.Stage) int {
	plan, ok := ending.PlanOf(s.Ending)
	switch {
	case !s.Task.Staged() || s.Quiet:
		return 0
	case !ok:
		return noStage
	}
	return plan.Index(stage)
}

// drawReply adds a reply that came in an act of its own.
func (f *actFrame) drawReply(s practice.State, a practice.Act) {
	if a.Reply == "" || len(s.Line) == 0 {
		return
	}
	t := s.Line[len(s.Line)-1]
	mid := t.After
	f.No, f.Mid, f.Reply = len(s.Line), mid.FEN(), &moveFrame{t.Reply.UCI(), mid.SAN(*t.Reply)}
}

// drawMove adds a move and, where the mode shows it, its verdict.
func (h *Hub) drawMove(ctx context.Context, f *actFrame, s practice.State, over bool) error {
	t := s.Line[len(s.Line)-1]
	mid := t.After
	f.No, f.Move, f.Mid = len(s.Line), &moveFrame{t.Move.UCI(), t.Before.SAN(t.Move)}, mid.FEN()
	if t.Reply != nil {
		f.Reply = &moveFrame{t.Reply.UCI(), mid.SAN(*t.Reply)}
	}
	if s.Quiet || !over && !s.Mode.Shows(t.Act.Grade, s.NoNearer()) {
		return nil
	}
	said, err := s.Task.Say(ctx, h.judge, s)
	f.Grade, f.Back, f.Why = string(said.Grade), said.Back, said.Why
	return err
}

// nowFrame says how the game stands.
func (h *Hub) nowFrame(ctx context.Context, s practice.State) (*nowFrame, error) {
	n := &nowFrame{
		Seq: s.Seq(), Ply: s.Ply(), FEN: s.Pos.FEN(), Turn: turnYou, Legal: [][2]string{},
		Move: len(s.Line) + 1, Left: max(s.Task.Left(s), 0), Held: heldSoFar(s),
		Backs: s.BacksLeft(), Time: s.TimeLeft(), Seen: len(s.Lines) > 0, Who: s.Watching(), Stage: noStage,
	}
	if s.Pos.InCheck() {
		n.Check = s.Pos.King(s.Pos.Turn()).String()
	}
	var err error
	switch {
	case s.End != "":
		n.Turn = turnOver
		n.End, err = h.endFrame(ctx, s)
	case s.Gone:
		n.Turn = turnGone
		n.Gone, err = h.goneFrame(ctx, s)
	default:
		err = h.goesOn(ctx, n, s)
	}
	if n.Turn != turnYou { // the move was made
		n.Move--
	}
	if (n.Turn == turnOver || n.Turn == turnGone) && len(s.Line) > 0 {
		n.Stage = stageIndex(s, s.Line[len(s.Line)-1].Act.Stage)
	}
	return n, err
}

// goesOn fills in what a game that goes on may do, and where it stands.
func (h *Hub) goesOn(ctx context.Context, n *nowFrame, s practice.State) error {
	if s.Waiting() {
		n.Turn = turnHand
	}
	for _, m := range s.Pos.Moves() {
		n.Legal = append(n.Legal, [2]string{m.UCI(), s.Pos.SAN(m)})
	}
	switch {
	case !s.Task.Staged() || s.Quiet:
		n.Stage = 0
		return nil
	case veiled(s):
		return nil
	}
	at, err := s.Task.Stand(ctx, h.judge, s)
	if err != nil {
		return err
	}
	n.Stage, n.Par, n.Cover = stageIndex(s, at.Stage), practice.ShownPar(at.Stage, at.Par), coverOf(at.Look.Plan)
	n.Aim, err = h.drawAim(ctx, s)
	return err
}

// coverOf names what the second step of help shows for the men on the board.
func coverOf(plan *ending.Plan) string {
	switch {
	case plan == nil || plan.Pawn:
		return "cover"
	case plan.Pen:
		return "pen"
	}
	return "gaps"
}

// heldSoFar counts the moves that kept a draw.
func heldSoFar(s practice.State) int {
	n := 0
	for i := range s.Line {
		if s.Line[i].Act.Grade == ending.Held {
			n++
		}
	}
	return n
}
