// Package export has what is kept of a student as a document that can be taken along: its
// shape, and how it is written as JSON, as PGN and as a page to read.
package export

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// Format and Version name the shape of the document. Version counts up where a field changes
// its meaning or goes; a field that is added changes nothing.
const (
	Format  = "drover.export"
	Version = 1
)

// Schema describes the document by JSON Schema (draft 2020-12).
//
//go:embed schema.json
var Schema []byte

// Document is all that is kept of one student, but for what was told to the welfare officer.
type Document struct {
	Format  string    `json:"format"`
	Version int       `json:"version"`
	MadeAt  time.Time `json:"made_at"`
	Club    string    `json:"club"`
	Zone    string    `json:"-"` // the club's time zone, for the page to read
	Student Student   `json:"student"`
}

// Student is a student with everything that hangs on it.
type Student struct {
	Number   int        `json:"number"`
	Nickname string     `json:"nickname"`
	Wording  int        `json:"wording"` // sentences for eight or for fourteen years
	Groups   []string   `json:"groups"`
	AddedAt  time.Time  `json:"added_at"`
	LeftAt   *time.Time `json:"left_at"`
	Settings *Settings  `json:"settings"` // null: all as it comes
	Consents []Consent  `json:"consents"`
	Drills   []Set      `json:"drills"`
	Games    []Game     `json:"games"`
	Stages   []Stage    `json:"stages"`
	Bells    []Bell     `json:"bells"`
	Checks   []Task     `json:"checks"`
	Terms    []Term     `json:"terms"`
	Readings []Reading  `json:"readings"`
}

// Term is a signed report on a term.
type Term struct {
	Title  string          `json:"title"`
	From   Date            `json:"from"`
	To     Date            `json:"to"`
	By     string          `json:"signed_by"`
	Signed time.Time       `json:"signed_at"`
	Remark string          `json:"remark"`
	Said   json.RawMessage `json:"said"`
}

// Settings is how the student has the board.
type Settings struct {
	Pace   *int   `json:"pace_ms"`
	Sounds bool   `json:"sounds"`
	Turned bool   `json:"turned"`
	Big    bool   `json:"big"`
	Scheme string `json:"scheme"`
}

// Consent is a row of the log of consents. By names a guardian to that guardian and to the
// club alone; it is empty where it is another's.
type Consent struct {
	On        Date   `json:"on"`
	By        string `json:"by"`
	TakenBack bool   `json:"taken_back"`
	Version   string `json:"notice"`
}

// Set is a drill that was set.
type Set struct {
	Name     string     `json:"name"`
	Ending   string     `json:"ending"`
	SetBy    string     `json:"set_by"`
	OpensAt  time.Time  `json:"opens_at"`
	DueOn    *Date      `json:"due_on"`
	PassedAt *time.Time `json:"passed_at"`
}

// Game is a game with every act.
type Game struct {
	ID          int64      `json:"id"`
	Kind        string     `json:"kind"`
	Ending      string     `json:"ending"`
	Hold        bool       `json:"hold"`
	Mode        string     `json:"mode"`
	Defender    string     `json:"defender"`
	Start       string     `json:"start_fen"`
	StartedAt   time.Time  `json:"started_at"`
	EndedAt     *time.Time `json:"ended_at"`
	End         string     `json:"end"`
	Result      string     `json:"result"`
	FailedStage string     `json:"failed_stage"`
	Moves       int        `json:"moves"`
	Par         int        `json:"par"`
	Counts      bool       `json:"counts"`
	Acts        []Act      `json:"acts" db:"-"`
}

// Act is one thing that somebody did in a game and what followed it.
type Act struct {
	Game  int64     `json:"-"`
	Seq   int       `json:"seq"`
	Kind  string    `json:"kind"`
	Coach bool      `json:"by_coach"`
	At    time.Time `json:"at"`
	Move  string    `json:"move"`
	Reply string    `json:"reply"`
	Grade string    `json:"grade"`
	Cost  int       `json:"cost"`
	Stage string    `json:"stage"`
	Par   int       `json:"par"`
	Took  int       `json:"took_ms"`
	Help  int       `json:"help"`
	End   string    `json:"end"`
}

// Stage is the total of one stage of one game; the game itself may be gone.
type Stage struct {
	Game      int64     `json:"game"`
	Ending    string    `json:"ending"`
	Stage     string    `json:"stage"`
	EndedAt   time.Time `json:"ended_at"`
	Moves     int       `json:"moves"`
	Bad       int       `json:"bad"`
	Par       int       `json:"par"`
	Slips     int       `json:"slips"`
	Helps     int       `json:"helps"`
	Seconds   int       `json:"seconds"`
	Completed bool      `json:"completed"`
	Clean     bool      `json:"clean"`
}

// Bell is a stage that is mastered.
type Bell struct {
	Ending string `json:"ending"`
	Stage  string `json:"stage"`
	On     Date   `json:"on"`
}

// Task is a task of a starting check.
type Task struct {
	BegunAt time.Time `json:"begun_at"`
	No      int       `json:"no"`
	Ending  string    `json:"ending"`
	Start   string    `json:"fen"`
	Answer  string    `json:"answer"`
	Passed  *bool     `json:"passed"`
}

// Reading is who read or did what of the student: a role, never a name.
type Reading struct {
	At   time.Time `json:"at"`
	Role string    `json:"role"`
	What string    `json:"what"`
}

// Date is a calendar day.
type Date struct{ time.Time }

// MarshalJSON writes the day alone.
func (d Date) MarshalJSON() ([]byte, error) { return json.Marshal(d.Format(time.DateOnly)) }

// WriteJSON writes a document.
func (d Document) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	if err := e.Encode(d); err != nil {
		return fmt.Errorf("write the export: %w", err)
	}
	return nil
}

// WritePGN writes the games with a move, one after another (PGN standard, S. J. Edwards 1994).
func (d Document) WritePGN(w io.Writer) error {
	for _, g := range d.Student.Games {
		text, err := g.pgn(d)
		if err != nil {
			return fmt.Errorf("game %d: %w", g.ID, err)
		}
		if _, err := io.WriteString(w, text); err != nil {
			return fmt.Errorf("write the games: %w", err)
		}
	}
	return nil
}

// line folds the acts of a game and gives the line that stands.
func (g Game) line() (practice.State, error) {
	acts := make([]practice.Act, len(g.Acts))
	for i, a := range g.Acts {
		acts[i] = practice.Act{Seq: a.Seq, Kind: practice.Kind(a.Kind), At: a.At, Move: a.Move, Reply: a.Reply,
			Grade: ending.Grade(a.Grade), Cost: a.Cost, Stage: ending.Stage(a.Stage), Par: a.Par, Took: a.Took,
			Help: ending.Help(a.Help), End: practice.End(a.End)}
	}
	set := practice.Setup{Ending: g.Ending, Start: g.Start, Mode: practice.Mode(g.Mode), Defender: g.Defender,
		Task: practice.TaskOf(g.Hold)}
	if strings.Contains(g.Start, " b ") {
		set.Side = board.Black
	}
	return practice.Folded(set, acts)
}

func (g Game) pgn(d Document) (string, error) {
	s, err := g.line()
	if err != nil || len(s.Line) == 0 {
		return "", err
	}
	out := board.Game{Event: ending.NameOf(g.Ending), Site: d.Club, Date: g.StartedAt, White: d.Student.Nickname, Black: "Drover",
		Start: s.First, Result: s.Points()}
	if s.Side == board.Black {
		out.White, out.Black = out.Black, out.White
	}
	for _, m := range s.Line {
		out.Moves = append(out.Moves, board.Annotated{Move: m.Move})
		if m.Reply != nil {
			out.Moves = append(out.Moves, board.Annotated{Move: *m.Reply})
		}
	}
	return out.PGN(), nil
}
