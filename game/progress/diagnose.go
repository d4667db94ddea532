package progress

import "math"

// Tally counts a student's own moves in one stage and how many of them were
// bad: cost 2 or more, the win gone, or each fourth without coming nearer.
type Tally struct{ N, K int }

// Add adds up two tallies.
func (t Tally) Add(o Tally) Tally { return Tally{t.N + o.N, t.K + o.K} }

// Finding is what the rule says of the stages of one ending.
type Finding struct {
	Stage     int     // index of the weakest stage, or -1: none stands out
	Posterior float64 // probability that the best candidate is weak
	N, K      int     // own moves and bad moves in that candidate
}

// The rule holds bad moves per own move in each stage against those of healthy
// students of the same strength. The chance of a bad move is
//
//	logit p = theta + offset of the stage + 0.12 z (+ delta if the stage is weak)
//
// with theta the student's strength, z a standard normal. A Bayes mixture of
// 'none is weak' and 'stage s is weak', one half each, is weighed by the
// tallies. All constants come from healthy simulated students.
const (
	strengthMean, strengthSpread = -2.2, 1.2
	noise                        = 0.12
	named                        = 0.70 // least posterior that names a stage
	badShare                     = 0.15 // least (k+1)/(n+4) that names a stage
)

var (
	strengths = grid(-5.5, 2.5, 0.2)
	excesses  = []float64{0.7, 1.05, 1.4, 1.8, 2.3, 3.1}

	// Nodes and weights of the expectation over z (Gauss-Hermite, five and three
	// points).
	fine   = []node{{0, .5333}, {1.3556, .2221}, {-1.3556, .2221}, {2.857, .0113}, {-2.857, .0113}}
	coarse = []node{{0, .54}, {1.3556, .23}, {-1.3556, .23}}
)

type node struct{ z, weight float64 }

// offsets say how much harder than the ending's mean a stage is for everybody,
// in logits, sum 0. They are data: an ending without a row has none.
var offsets = map[string][]float64{
	"KQK":  {-.14, .14},
	"KRK":  {-.45, .12, .33},
	"KBBK": {-.49, .05, .44},
	"KBNK": {-.36, -.04, .12, .28},
}

func grid(from, to, step float64) []float64 {
	var g []float64
	for x := from; x <= to+step/2; x += step {
		g = append(g, x)
	}
	return g
}

// Weakest applies the rule to the tallies of an ending's stages.
func Weakest(code string, stages []Tally) Finding {
	none, weak := math.Inf(-1), make([]float64, len(stages))
	for s := range weak {
		weak[s] = math.Inf(-1)
	}
	for _, theta := range strengths {
		prior := -(theta - strengthMean) * (theta - strengthMean) / (2 * strengthSpread * strengthSpread)
		plain, excess := make([]float64, len(stages)), make([]float64, len(stages))
		all := prior
		for s, t := range stages {
			base := theta + offset(code, s)
			plain[s] = likelihood(t, base, fine)
			excess[s] = averaged(t, base)
			all += plain[s]
		}
		none = add(none, all+math.Log(.5))
		for s := range stages {
			weak[s] = add(weak[s], all-plain[s]+excess[s]+math.Log(.5/float64(len(stages))))
		}
	}
	return decide(stages, none, weak)
}

func decide(stages []Tally, none float64, weak []float64) Finding {
	total, best := none, 0
	for s, w := range weak {
		total = add(total, w)
		if w > weak[best] {
			best = s
		}
	}
	f := Finding{Stage: -1}
	if len(stages) == 0 {
		return f
	}
	t := stages[best]
	f.Posterior, f.N, f.K = math.Exp(weak[best]-total), t.N, t.K
	if f.Posterior >= named && float64(t.K+1)/float64(t.N+4) >= badShare {
		f.Stage = best
	}
	return f
}

func offset(code string, stage int) float64 {
	if row := offsets[code]; stage < len(row) {
		return row[stage]
	}
	return 0
}

// likelihood is the log of E_z[p^k (1-p)^(n-k)] at a logit.
func likelihood(t Tally, base float64, nodes []node) float64 {
	sum := math.Inf(-1)
	for _, n := range nodes {
		x := base + noise*n.z
		sum = add(sum, math.Log(n.weight)-float64(t.K)*soft(-x)-float64(t.N-t.K)*soft(x))
	}
	return sum
}

// averaged is the likelihood averaged over the excess of a weak stage.
func averaged(t Tally, base float64) float64 {
	sum := math.Inf(-1)
	for _, d := range excesses {
		sum = add(sum, likelihood(t, base+d, coarse)-math.Log(float64(len(excesses))))
	}
	return sum
}

// soft is log(1 + e^x), the negative log of 1 - p at logit x.
func soft(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

// add is log(e^a + e^b).
func add(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// Enough is the number of games of an ending before the first look.
const Enough = 5

// Named applies the rule to the games of one ending, oldest first, one tally a
// stage each: a stage is named only if the last two looks, one after each game
// from the fifth on, agree. missing is how many games there must still be
// before a stage can be named.
func Named(code string, games [][]Tally) (f Finding, missing int) {
	if len(games) < Enough {
		return Finding{Stage: -1}, Enough - len(games)
	}
	f = Weakest(code, Sum(games))
	before := Finding{Stage: -1}
	if len(games) > Enough {
		before = Weakest(code, Sum(games[:len(games)-1]))
	}
	if before.Stage != f.Stage {
		f.Stage = -1
	}
	return f, 0
}

// Sum adds up the games stage by stage.
func Sum(games [][]Tally) []Tally {
	var sum []Tally
	for _, g := range games {
		for s, t := range g {
			if s == len(sum) {
				sum = append(sum, Tally{})
			}
			sum[s] = sum[s].Add(t)
		}
	}
	return sum
}
