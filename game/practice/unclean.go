package practice

// The limits of a clean stage: no move costs as much, and not as many in a row come no
// nearer. CleanMoves is the third.
const (
	CleanCost  = 3
	CleanStuck = 6
)

// CleanMoves is the most moves in which a stage is clean: half as many again as the
// fewest, and at least two more.
func CleanMoves(par int) int { return par + max(2, (par+1)/2) }

// Fault is a reason why a stage was not clean.
type Fault int

// The faults, in the order in which a page names them.
const (
	Unfinished Fault = iota // the next stage was not reached, nor the end
	Aided                   // help in the stage
	TooLong                 // more moves than CleanMoves
	TooDear                 // a move that cost CleanCost or more
	TooStuck                // CleanStuck moves in a row that came no nearer
)

// Faults says why a stage was not clean, by its row and the greatest cost of a move in it.
// How many moves in a row came no nearer is not kept of a stage: it is named where nothing
// else explains the row.
func (r StageResult) Faults(dearest int) []Fault {
	if r.Clean {
		return nil
	}
	var out []Fault
	for f, is := range [...]bool{
		Unfinished: !r.Completed, Aided: r.Helps > 0, TooLong: r.Moves > CleanMoves(r.Par), TooDear: dearest >= CleanCost,
	} {
		if is {
			out = append(out, Fault(f))
		}
	}
	if out == nil {
		out = []Fault{TooStuck}
	}
	return out
}
