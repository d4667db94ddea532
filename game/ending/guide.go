package ending

import "fmt"

// Worded is one thing said in both wordings.
type Worded struct{ Eight, Fourteen string }

// For is the wording for a reader of an age, Eight or Fourteen.
func (w Worded) For(age int) string {
	if age >= Fourteen {
		return w.Fourteen
	}
	return w.Eight
}

// Guide is the method of one ending, as the guide has it.
type Guide struct {
	Code  string // material, as a plan or a hold drill has it
	Name  string
	Hold  bool
	Steps []GuideStep
}

// GuideStep is one stage of the method: what it wants, what usually goes wrong in it,
// and which ready drills train against that.
type GuideStep struct {
	Stage   Stage
	Wants   Worded
	Often   Worded // the usual failure; about the board, and never scolding
	Drill   string // the ending of the ready drills against it
	Against string // their kind of start; AtRandom: those that begin in the stage
}

// guideRow is what the guide says of a stage beside what plans and tables say.
type guideRow struct {
	code    string
	stage   Stage
	wants   string // for fourteen; for eight it is the plan's aim
	often   Worded
	against string
}

// guideRows is data: each stage of each ending that is taught, and each ending of a hold
// drill, has a row. The usual failures are common practice, without a source.
var guideRows = []guideRow{
	{"KQK", Edge, "Let each move of the queen take squares from his pen. When none does, bring the king nearer.",
		Worded{"Your king stays at home, and the queen works alone.",
			"The king stays at home. The queen alone cannot mate, and every late king move costs a tempo."}, KingMoves},
	{"KQK", Mate, "Keep him on the edge, bring the king, and count his free squares before each quiet move.",
		Worded{"He has no square left, and it is no check: stalemate.",
			"The queen takes his last square without a check: stalemate, a draw by article 5.2.1 of the FIDE Laws."}, Traps},

	{"KRK", Centralise, "Cut him off with the rook along a rank or a file, and use king and rook together.",
		Worded{"The rook moves to and fro, and your king comes late.",
			"The rook moves to and fro while the king stays on its first ranks, and he stays in the centre."}, AtRandom},
	{"KRK", Edge, "Keep the rook's line shut, and move it one rank or file on when your king guards the way back.",
		Worded{"A check comes too early, and he steps past the rook.",
			"A check comes too early: he steps past the rook, and his pen grows again."}, ChecksCost},
	{"KRK", Mate, "Take the opposition, kings face to face with him to move, then mate along the edge.",
		Worded{"You need it to be his turn. One quiet rook move does that.",
			"The position is right and the turn is not. A waiting move of the rook along its line passes the turn."}, AtRandom},

	{"KRRK", Edge, "One rook shuts a rank or a file, and the other takes the next one, far away from his king.",
		Worded{"A rook stands beside him, and he takes it.",
			"A rook stands next to his king without a guard. Take it to the far end of its line first."}, Traps},
	{"KRRK", Mate, "Hold the last line but one with one rook, and check on the last with the other, both far from him.",
		Worded{"The rook that shuts him in moves away.",
			"The rook that shuts the last line but one moves off it, and he steps out."}, AtRandom},

	{"KBBK", Centralise, "Put the bishops on neighbouring diagonals, and let the king fill what they leave open.",
		Worded{"The bishops stand apart, and he walks through between them.",
			"The bishops are not on neighbouring diagonals, so his king passes between them."}, AtRandom},
	{"KBBK", Edge, "Let both bishops shut neighbouring diagonals, and step closer with the king whenever no gap opens.",
		Worded{"One gap stays open, and he walks back inside.",
			"One gap is left open. Look for it before each move: often one move alone closes it."}, OnlyMove},
	{"KBBK", Corner, "Drive him into a corner with king and bishops, and count his free squares before each quiet move.",
		Worded{"He has no square in the corner, and no check: stalemate.",
			"All his squares go at once without a check: stalemate. Or a bishop beside him has no guard."}, Traps},

	{"KBNK", Centralise, "Bring king and knight to the centre. The bishop covers one colour, and they cover the other.",
		Worded{"The knight stays behind, far from your king.",
			"King and knight come late. The bishop alone leaves him every square of the other colour."}, AtRandom},
	{"KBNK", Edge, "Let king, bishop and knight shut a net around the centre, and close each gap before he is there.",
		Worded{"He finds a gap between your men and goes back.",
			"He slips through a gap between two men. Often one move alone keeps the net shut."}, OnlyMove},
	{"KBNK", Corner, "Drive him out of the wrong corner and along the edge, to a corner of the bishop's colour.",
		Worded{"He sits in a corner that your bishop cannot reach.",
			"He waits in the corner of the other colour, where mate cannot be forced, or turns back on the way out of it."},
		WrongCorner},
	{"KBNK", Mate, "Shut him in beside the right corner, then check with bishop and knight in turn, and mate.",
		Worded{"He has no square in the corner, and no check: stalemate.",
			"A quiet move takes his last square: stalemate. Count his squares before each move."}, Traps},

	{"KPK", Front, "Win a key square: with the king on it the pawn wins, whoever is to move.",
		Worded{"The pawn runs ahead, and your king comes second.",
			"Pawn first, king second: his king takes the opposition in front of the pawn, and it is a draw."}, OnlyMove},
	{"KPK", Escort, "Keep the king ahead of the pawn or beside it, and win the opposition before each step of the pawn.",
		Worded{"The pawn moves too early, and he stands in front of it.",
			"The pawn moves one step too early: he stands in front of it, and it ends in stalemate or without the pawn."},
		Traps},
	{"KPK", Mate, "Mate with the new queen: shrink his pen, bring the king, and count his free squares.",
		Worded{"He has no square left, and it is no check: stalemate.",
			"The new queen takes his last square without a check: stalemate, a draw."}, Traps},
}

// holdRows is guideRows for the endings of hold drills.
var holdRows = []guideRow{
	{"KPK", HoldStage, "Stay in front of the pawn, go straight back when you must, and take the opposition when his king comes.",
		Worded{"Your king steps back to the side, and the pawn goes through.",
			"The king goes back to the side instead of straight back, and the attacker gets the opposition."}, OnlyMove},
	{"KBPK", HoldStage, "Reach the corner square in front of the pawn: the bishop has the other colour and cannot drive you out.",
		Worded{"Your king is late, and his king shuts the corner.",
			"The king is a tempo late: bishop and king guard the squares around the corner before it is there."}, OnlyMove},
	{"KRKB", HoldStage, "Keep king and bishop together. At the edge, go to a corner of the colour that your bishop does not have.",
		Worded{"Your king goes to a corner of the bishop's colour.",
			"The king goes to a corner of the bishop's own colour, where rook and king win the bishop or mate."}, OnlyMove},
	{"KRKN", HoldStage, "Keep king and knight side by side and off the corner, so that no rook move attacks both.",
		Worded{"The knight jumps far away, and he catches it.",
			"King and knight are parted: the rook takes the knight's squares, and it is caught."}, OnlyMove},
	{"KRKP", HoldStage, "Keep the king beside the pawn, and push it when his king is too far to help the rook.",
		Worded{"Your king leaves the pawn, and the rook wins it.",
			"The king is cut off from its pawn, and the rook wins it, or his king comes back in time."}, OnlyMove},
	{"KQKP", HoldStage, "Guard the queening square. With a bishop's pawn or a rook's pawn stalemate can save you.",
		Worded{"Your king is driven away, and she takes the pawn.",
			"The king steps in front of its own pawn or away from it, and his king wins a tempo to come nearer."}, OnlyMove},
}

// Guides lists the guide in teaching order: what is taught, then what is held.
func Guides() []Guide {
	var out []Guide
	for _, plan := range Taught() {
		out = append(out, guideOf(plan))
	}
	for _, h := range Holds() {
		out = append(out, holdGuide(h))
	}
	return out
}

// GuideOf finds the method of an ending.
func GuideOf(code string, hold bool) (Guide, bool) {
	for _, g := range Guides() {
		if g.Code == code && g.Hold == hold {
			return g, true
		}
	}
	return Guide{}, false
}

func guideOf(plan Plan) Guide {
	g := Guide{Code: plan.Code, Name: plan.Name}
	for _, step := range plan.Steps {
		row := guideFor(guideRows, plan.Code, step.Stage)
		s := GuideStep{Stage: step.Stage, Wants: Worded{step.Aim, joined(row.wants, step.done())}, Often: row.often,
			Drill: plan.Code, Against: row.against}
		if plan.Pawn && step.Stage == Mate { // the queen's own drills
			s.Drill = queening
		}
		g.Steps = append(g.Steps, s)
	}
	return g
}

func holdGuide(h Hold) Guide {
	row := guideFor(holdRows, h.Code, HoldStage)
	return Guide{Code: h.Code, Name: h.Name, Hold: true, Steps: []GuideStep{{Stage: HoldStage,
		Wants: Worded{h.Aim, row.wants}, Often: row.often, Drill: h.Code, Against: row.against}}}
}

// queening is the ending that a pawn's plan goes on to.
const queening = "KQK"

// guideFor finds the row of a stage; an empty one where there is none, which a test
// refuses.
func guideFor(rows []guideRow, code string, stage Stage) guideRow {
	for _, row := range rows {
		if row.code == code && row.stage == stage {
			return row
		}
	}
	return guideRow{}
}

// done says with a number when a stage is done; empty where the mate or the pawn says it.
func (s Step) done() string {
	if s.Region == 0 {
		return ""
	}
	return fmt.Sprintf("Done when he is shut out of the inner %d squares for good.", 4*s.Region*s.Region)
}

func joined(first, second string) string {
	if second == "" {
		return first
	}
	return first + " " + second
}
