package export_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"drover/game/board"
	"drover/game/export"

	"github.com/corentings/chess/v2"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// sample has something of everything.
func sample() export.Document {
	at := time.Date(2026, 11, 3, 18, 30, 0, 0, time.UTC)
	day, pace, passed := export.Date{Time: at}, 800, true
	return export.Document{Format: export.Format, Version: export.Version, MadeAt: at, Club: "Ferry <Lane>", Student: export.Student{
		Number: 105, Nickname: "Wren \"W\" <b>", Wording: 8, Groups: []string{"Tuesday"}, AddedAt: at, LeftAt: &at,
		Settings: &export.Settings{Pace: &pace, Scheme: "dark"},
		Consents: []export.Consent{{On: day, By: "Una", Version: "2"}, {On: day, TakenBack: true, Version: "2"}},
		Drills:   []export.Set{{Name: "Rook", Ending: "KRK", SetBy: "Ines", OpensAt: at, DueOn: &day, PassedAt: &at}},
		Games: []export.Game{{ID: 7, Kind: "drill", Ending: "KRK", Mode: "practice", Defender: "longest", Start: "8/8/8/8/8/1K6/7R/k7 w - - 0 1",
			StartedAt: at, EndedAt: &at, End: "mate", Result: "clean", Moves: 1, Par: 1, Counts: true,
			Acts: []export.Act{{Seq: 1, Kind: "move", At: at, Move: "h2h1", Grade: "on course", Stage: "mate", Par: 1, Took: 900, End: "mate"}}}},
		Stages: []export.Stage{{Game: 7, Ending: "KRK", Stage: "mate", EndedAt: at, Moves: 1, Par: 1, Completed: true, Clean: true}},
		Bells:  []export.Bell{{Ending: "KRK", Stage: "mate", On: day}}, Checks: []export.Task{{BegunAt: at, No: 1, Ending: "KQK",
			Start: "8/8/8/8/8/1K6/7Q/k7 w - - 0 1", Answer: "mate", Passed: &passed}},
		Terms:    []export.Term{{Title: "Autumn", From: day, To: day, By: "Ines", Signed: at, Remark: "Well", Said: json.RawMessage(`{"lead":"x"}`)}},
		Readings: []export.Reading{{At: at, Role: "coach", What: "report read"}},
	}}
}

// TestJSONKeepsToItsSchema holds a full and an empty export against the schema by a validator
// of another make (github.com/santhosh-tekuri/jsonschema, JSON Schema draft 2020-12); no field
// stands in one of them alone.
func TestJSONKeepsToItsSchema(t *testing.T) {
	t.Parallel()
	raw, err := jsonschema.UnmarshalJSON(bytes.NewReader(export.Schema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("export.json", raw); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("export.json")
	if err != nil {
		t.Fatal(err)
	}
	empty := export.Document{Format: export.Format, Version: export.Version, Student: export.Student{Wording: 8, Groups: []string{},
		Consents: []export.Consent{}, Drills: []export.Set{}, Games: []export.Game{}, Stages: []export.Stage{}, Bells: []export.Bell{},
		Checks: []export.Task{}, Terms: []export.Term{}, Readings: []export.Reading{}}}
	for name, d := range map[string]export.Document{"full": sample(), "empty": empty} {
		var b bytes.Buffer
		if err := d.WriteJSON(&b); err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	var wrong map[string]any
	var b bytes.Buffer
	if err := sample().WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b.Bytes(), &wrong); err != nil {
		t.Fatal(err)
	}
	wrong["more"] = 1
	if schema.Validate(wrong) == nil {
		t.Error("the schema takes a field that it does not describe")
	}
}

// TestPGNIsRead: a library of another make reads the games back (github.com/corentings/chess).
func TestPGNIsRead(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	if err := sample().WritePGN(&b); err != nil {
		t.Fatal(err)
	}
	update, err := chess.PGN(strings.NewReader(b.String()))
	if err != nil {
		t.Fatalf("%v in %s", err, b.String())
	}
	g := chess.NewGame(update)
	if len(g.Moves()) != 1 || g.Outcome() != chess.WhiteWon || !strings.Contains(b.String(), "Rh1#") {
		t.Errorf("read back as %v of\n%s", g, b.String())
	}
	if _, err := board.ParseFEN(sample().Student.Games[0].Start); err != nil {
		t.Error(err)
	}
}

// TestPageEscapes: names of people are no markup on the page, which loads nothing.
func TestPageEscapes(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	if err := sample().WriteHTML(&b); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, bad := range []string{"<b>", "<Lane>", "<script", "http", "src="} {
		if strings.Contains(page, bad) {
			t.Errorf("the page holds %s", bad)
		}
	}
	for _, want := range []string{"What Ferry &lt;Lane&gt; keeps of", "3 November 2026", "taken back"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}

// TestPageIsPlain: the page to read gives times where the club is, and says in words what came of
// a game and what somebody did; a game that was stopped while practice rested is not lost.
func TestPageIsPlain(t *testing.T) {
	t.Parallel()
	d := sample()
	d.Zone, d.Student.Nickname = "Asia/Tokyo", "Wren" // nine hours ahead
	stopped := d.Student.Games[0]
	stopped.Result, stopped.End, stopped.Counts = "stopped", "stopped", false
	d.Student.Games = append(d.Student.Games, stopped)
	var b bytes.Buffer
	if err := d.WriteHTML(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Made on 4 November 2026", "<td>won or held alone</td>",
		"<td>stopped while practice rested; it counts for nothing</td>",
		"<td>4 November 2026, 03:30</td><td>a coach</td><td>read the report of Wren</td>"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the page lacks %q: %s", want, b.String())
		}
	}
}
