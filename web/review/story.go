package review

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// drawing builds a review page from a game's story: moves that were taken back
// belong to it.
type drawing struct {
	server Pages
	page   *GamePage
	state  practice.State
	age    int  // for which the reasons are worded
	shut   int  // the own move after which no stage was lost any more
	well   int  // moves that stand and were on course, or held the draw
	wrong  bool // a move that was taken back would have lost a stage, or the game
	stuck  int  // moves that came no nearer
}

func (d *drawing) all(ctx context.Context) error {
	story, err := d.state.Story()
	if err != nil {
		return err
	}
	first := d.state.First
	d.page.Positions = []Position{{FEN: first.FEN(), Label: "Start", Check: checked(first)}}
	for i, t := range story {
		if practice.ShownGrade(t.Act.Grade, t.Nearer) == practice.StuckGrade && !t.Away {
			d.stuck++
		}
		if i > 0 && story[i-1].Away {
			d.back(story[i-1], t)
		}
		if d.state.Task.Defends() {
			err = d.holdTurn(ctx, t)
		} else {
			err = d.turn(ctx, t)
		}
		if err != nil {
			return err
		}
	}
	d.sums()
	if d.age < ending.Fourteen {
		d.page.Looks = few(d.page.Looks)
	}
	return nil
}

// few are the cards for the shorter wording: of the moves that stand those that cost most, and
// all that were taken back.
func few(all []Look) []Look {
	most := practice.Fewest(all, func(l Look) (int, bool) { return l.weight, !l.Away })
	return slices.DeleteFunc(slices.Clone(all), func(l Look) bool {
		return !l.Away && !slices.ContainsFunc(most, func(m Look) bool { return m.Seq == l.Seq })
	})
}

// mostAlso is how many other moves are named.
const mostAlso = 6

// also names the other moves that kept the win in the position before an own move, those first
// that come nearest to mate; nothing where the fifty moves took it.
func (d *drawing) also(ctx context.Context, t practice.Told, v ending.Verdict) (string, error) {
	if v.Fifty {
		return "", nil
	}
	options, err := d.server.Judge.Options(ctx, t.Before)
	if err != nil {
		return "", err
	}
	options = slices.DeleteFunc(options, func(o ending.Option) bool { return !o.Wins() || o.Move.UCI() == t.Move.UCI() })
	slices.SortStableFunc(options, func(a, b ending.Option) int { return cmp.Compare(a.After.Plies, b.After.Plies) })
	if len(options) == 0 {
		return "No other move kept the win.", nil
	}
	var names []string
	for _, o := range options[:min(mostAlso, len(options))] {
		names = append(names, t.Before.SAN(o.Move))
	}
	say := "Also won: "
	if v.Grade == ending.WinGone {
		say = "These kept the win: "
		if len(options) == 1 {
			say = "This kept the win: "
		}
	}
	say += strings.Join(names, ", ")
	if more := len(options) - len(names); more > 0 {
		say += fmt.Sprintf(" and %d more", more)
	}
	return say + ".", nil
}

func checked(p board.Position) string {
	if !p.InCheck() {
		return ""
	}
	return p.King(p.Turn()).String()
}

// back adds the position to which a move that was taken back led.
func (d *drawing) back(away, next practice.Told) {
	label := fmt.Sprintf("%d %s taken back", away.No, away.Before.SAN(away.Move))
	d.add(Position{FEN: next.Before.FEN(), Label: label, Check: checked(next.Before)})
}

// add adds a position; its number in the story is its address.
func (d *drawing) add(p Position) int {
	p.Ply = len(d.page.Positions)
	d.page.Positions = append(d.page.Positions, p)
	return p.Ply
}

// turn adds a move and its reply: positions, the track's row, and a card where
// there is something to look at.
func (d *drawing) turn(ctx context.Context, t practice.Told) error {
	situation, err := d.state.Verdict(ctx, d.server.Judge, t.FullMove)
	if err != nil {
		return err
	}
	f, err := d.server.Judge.Facts(ctx, situation)
	if err != nil {
		return err
	}
	v := situation.Verdict
	before, after := (t.Act.Plies+1)/2, v.After.MateIn()
	if !v.After.Won() {
		after = 0
	}
	pos := d.position(t, distances(before, after, v))
	for _, sq := range f.Out {
		pos.Ways = append(pos.Ways, sq.String())
	}
	if d.age >= ending.Fourteen {
		if pos.Also, err = d.also(ctx, t, v); err != nil {
			return err
		}
	}
	row := TrackMove{Before: before, After: after, Won: v.Grade != ending.WinGone, Mate: f.Mate}
	row.Grade = string(practice.ShownGrade(t.Act.Grade, t.Nearer))
	say := ""
	if par := practice.ShownPar(t.Act.Stage, t.Act.Par); par > 0 {
		say = "best: " + practice.Moves(par)
	}
	ply := d.played(t, pos, row, say)
	d.lookAt(t, ply, f)
	lost := d.state.Lost(v) || t.Act.Grade == ending.WinGone
	d.wrong = d.wrong || lost && t.Away
	if lost && !t.Away {
		d.shut = t.No
	}
	return nil
}

// lookAt adds the card of a move that is to be looked at again.
func (d *drawing) lookAt(t practice.Told, ply int, f ending.Facts) {
	switch {
	case t.Stuck:
		d.look(t, ply, practice.StuckGrade, []string{ending.NoNearer(t.Nearer)})
	case t.Act.Grade != ending.OnCourse:
		d.look(t, ply, t.Act.Grade, f.For(d.age))
	case practice.ShownGrade(t.Act.Grade, t.Nearer) == ending.OnCourse:
		d.good(t)
	}
}

// good counts a move that went well.
func (d *drawing) good(t practice.Told) {
	if !t.Away {
		d.well++
	}
}

func (d *drawing) look(t practice.Told, ply int, grade ending.Grade, say []string) {
	d.page.Looks = append(d.page.Looks, Look{
		Grade: string(grade), Label: moveLabel(t), Ply: ply, Away: t.Away, Lead: say[0], Say: say[1:], Seq: t.Act.Seq,
		weight: t.Act.Weight(),
	})
}

func moveLabel(t practice.Told) string {
	return fmt.Sprintf("%d %s", t.No, t.Before.SAN(t.Move))
}

// position is the one after an own move.
func (d *drawing) position(t practice.Told, say string) Position {
	mid := t.After
	return Position{FEN: mid.FEN(), UCI: t.Move.UCI(), Label: moveLabel(t), Check: checked(mid), Say: say}
}

// played adds the positions after a move and its reply, and the track's row; it
// gives the number of the position after the move.
func (d *drawing) played(t practice.Told, pos Position, row TrackMove, say string) int {
	row.No, row.SAN, row.Away = t.No, t.Before.SAN(t.Move), t.Away
	row.Ply = d.add(pos)
	if t.Reply != nil {
		mid := t.After
		next := mid.Play(*t.Reply)
		row.Reply = mid.SAN(*t.Reply)
		label := fmt.Sprintf("%d … %s", t.No, row.Reply)
		d.add(Position{FEN: next.FEN(), UCI: t.Reply.UCI(), Label: label, Check: checked(next)})
	}
	d.track(t, row, say)
	return row.Ply
}

// holdTurn is turn for a hold drill: the row says how many moves held.
func (d *drawing) holdTurn(ctx context.Context, t practice.Told) error {
	situation, err := practice.HoldVerdict(ctx, d.server.Judge, t.FullMove)
	if err != nil {
		return err
	}
	v := situation.Verdict
	note := fmt.Sprintf("%d of %d held", v.Holding, v.Moves)
	ply := d.played(t, d.position(t, note), TrackMove{Grade: string(v.Grade), Note: note}, "")
	if v.Grade == ending.Held {
		d.good(t)
		return nil
	}
	facts, err := d.server.Judge.HoldFacts(ctx, situation)
	if err != nil {
		return err
	}
	d.look(t, ply, v.Grade, facts.For(d.age))
	return nil
}

// distances says how far mate was. After a move that cost something it stands
// beside what the best move would have left, so that the two differ by the cost.
func distances(before, after int, v ending.Verdict) string {
	switch {
	case v.Grade == ending.WinGone:
		return fmt.Sprintf("mate in %d before, no win after", before)
	case after == 0:
		return "mate"
	case v.Cost >= 2:
		return fmt.Sprintf("mate in %d after the best move, in %d after this one", before-1, after)
	}
	return fmt.Sprintf("mate in %d before, %d after", before, after)
}

// track puts a row under its visit to a stage.
func (d *drawing) track(t practice.Told, row TrackMove, say string) {
	stage := string(t.Act.Stage)
	if n := len(d.page.Groups); n == 0 || d.page.Groups[n-1].Stage != stage {
		d.page.Groups = append(d.page.Groups, TrackGroup{Stage: stage, Say: say})
	}
	g := &d.page.Groups[len(d.page.Groups)-1]
	g.Moves = append(g.Moves, row)
}

// sums says for each visit how many moves it took, and for the whole what went
// well.
func (d *drawing) sums() {
	for i := range d.page.Groups {
		g := &d.page.Groups[i]
		if i+1 < len(d.page.Groups) && d.lostTo(*g, d.page.Groups[i+1]) {
			g.Say = "then it was lost" // the best would say that it took fewer moves than it can
		}
		g.Say = groupWords(*g)
	}
	if d.stuck > 0 {
		d.habit()
	}
	n := len(d.state.Line)
	switch {
	case !d.state.Success() && d.well == 0: // nothing to name
	case d.state.Task.Defends():
		d.page.Well = fmt.Sprintf("%d of %s held the draw.", d.well, practice.Moves(n))
	case !d.state.Success():
		d.page.Well = fmt.Sprintf("%d of %s %s on course.", d.well, practice.Moves(n), were(d.well))
	case d.shut == 0 && d.wrong:
		d.page.Well = "no stage was lost, except by a move that was taken back."
	case d.shut == 0:
		d.page.Well = "no stage was lost on the way."
	case d.shut < n:
		d.page.Well = fmt.Sprintf("from move %d on, no stage was lost.", d.shut+1)
	}
}

// lostTo says whether a visit to a stage ended with the loss of one before it.
func (d *drawing) lostTo(g, next TrackGroup) bool {
	plan, ok := ending.PlanOf(d.state.Ending)
	return ok && plan.Index(ending.Stage(next.Stage)) < plan.Index(ending.Stage(g.Stage))
}

func were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// habit says beside the first move that came no nearer how often it was so.
func (d *drawing) habit() {
	for i := range d.page.Looks {
		if l := &d.page.Looks[i]; l.Grade == string(practice.StuckGrade) {
			l.Say = append(l.Say, fmt.Sprintf("Habit: no nearer, in %d of %s.", d.stuck, practice.Moves(len(d.state.Line))))
		}
	}
}

// groupWords says how many moves a visit to a stage took.
func groupWords(g TrackGroup) string {
	away := 0
	for _, m := range g.Moves {
		if m.Away {
			away++
		}
	}
	say := practice.Moves(len(g.Moves) - away)
	if g.Say != "" {
		say += ", " + g.Say
	}
	if away > 0 {
		say += fmt.Sprintf(", %d taken back", away)
	}
	return say
}
