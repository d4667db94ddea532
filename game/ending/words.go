package ending

// The ages for which sentences are worded.
const (
	Eight    = 8
	Fourteen = 14
)

// words are the words for a stage, in one place; what is empty here nobody says.
type words struct {
	name  string // as a coach calls it
	young string // as a child of eight reads it, where that is another
	mark  string // the one word under its mark
	place string // the part of the board, or of the work, that it is about
	goal  string // what one goes on to, as in "to the edge"
	plain string // what is done in it, for somebody who does not play chess
	aim   string // what a child keeps in mind in it, in eight words or fewer
}

var stageWords = map[Stage]words{
	Centralise: {"Centralise", "To the middle", "centre", "the centre", "", "shut the lone king out of the middle",
		"Shut him out of the middle."},
	Edge: {"Drive to the edge", "", "edge", "the edge", "the edge", "drive him to the edge",
		"Drive him to the edge."},
	Corner: {"Drive to the corner", "", "corner", "the corner", "the corner", "drive him to the corner",
		"Drive him to the right corner."},
	Mate: {"Mate", "", "mate", "the mate", "mate", "mate", "Close him in, then mate."},
	Front: {"Get in front", "", "front", "getting in front of the pawn", "",
		"bring the king in front of the pawn", "Bring your king in front of the pawn."},
	Escort: {"Escort the pawn", "", "escort", "escorting the pawn", "escorting the pawn",
		"lead the pawn to the last row", "Lead the pawn to the last row."},
	HoldStage: {"Hold the draw", "", "hold", "the game", "", "hold the draw", "Hold the draw."},
}

// Name gives the stage as a page writes it.
func (s Stage) Name() string { return stageWords[s].name }

// For gives the name for a reader of an age, Eight or Fourteen: a child of eight need
// not know the coach's word.
func (s Stage) For(age int) string {
	if w := stageWords[s]; age == Eight && w.young != "" {
		return w.young
	}
	return s.Name()
}

// Word is the one word that stands under a mark of the stage, as "centre".
func (s Stage) Word() string { return stageWords[s].mark }

// Goal names the stage as what one goes on to, as in "to the edge"; empty for a stage
// that no plan goes on to.
func (s Stage) Goal() string { return stageWords[s].goal }

// Plain says what is done in the stage to somebody who does not play chess.
func (s Stage) Plain() string { return stageWords[s].plain }

// KeepInMind is what a child keeps in mind in the stage, in eight words or fewer.
func (s Stage) KeepInMind() string { return stageWords[s].aim }

// Place names the part of the board, or of the work, that the stage is about.
func (s Stage) Place() string {
	if w := stageWords[s]; w.place != "" {
		return w.place
	}
	return "the game"
}

// LostAt says at which part of a game something went wrong, in two pieces: a page may
// draw the stage's mark between them.
func (s Stage) LostAt() (at, where string) {
	switch s {
	case Mate:
		return "just before ", s.Goal()
	case Front, Escort:
		return "while ", s.Place()
	}
	return "at ", s.Place()
}

// LostOn is LostAt of many games, in two pieces too.
func (s Stage) LostOn() (at, where string) {
	switch s {
	case Centralise:
		return "before he is out of ", s.Place()
	case Edge, Corner:
		return "on the way to ", s.Place()
	case Mate, Front, Escort:
	}
	return s.LostAt()
}

// Lost is LostAt in one piece.
func (s Stage) Lost() string {
	at, where := s.LostAt()
	return at + where
}
