package progress

import (
	"math"
	"slices"

	"drover/game/practice"
)

// The model behind the diagnosis. Each own move is held against what its
// position made possible, so that a hard position counts against nobody. A
// student of strength theta plays the best move but in a share
//
//	e = 1 / (1 + exp(-(theta + offset of the stage + 0.15 z)))
//
// of the moves, z a standard normal; there the eye falls on any legal move, the
// more seldom the more it costs (attraction). On top of that a share w of the
// moves is lost: any legal move is as good as another. With o_c for the share of
// the legal moves in class c (see practice.Weights), a move is of class c with
// probability
//
//	(1-w) ((1-e) [c is best] + e o_c v_c / sum(o v)) + w o_c.
//
// All constants come from healthy simulated students, who choose by distance
// with noise: attraction and offsets are what 'drover cohort --offsets' prints of
// 60 students of each kind, seed 1.
const (
	strengthMean, strengthSpread = -1.2, 1.2
	noise                        = 0.15 // of theta, from stage to stage
)

var (
	strengths = steps(-4, 1.5, 0.25)

	// lost are the shares w, and usual how often a student
	// has each of them in the stages that are not weak; hardly ever the last.
	lost  = []float64{.01, .04, .1, .2, .3, .45, .6, .8}
	usual = []float64{.3, .3, .2, .05, .05, .05, .05}

	// excess is how much more of a weak stage is lost, at least, than of the others.
	excess = 0.1

	attraction = attractions(practice.Attraction)
)

// attractions say how much a move of each class draws a careless eye, the best
// move as 1.
type attractions [practice.Classes]float64

// offsets say how much more often a careless move comes up in a stage than in
// the ending's mean, beyond what its positions explain, in logits, sum 0. They
// are data: an ending without a row has none.
var offsets = map[string][]float64{
	"KQK":  {.05, -.05},
	"KRK":  {.06, -.06, 0},
	"KRRK": {-.03, .03},
	"KBBK": {.01, .02, -.03},
	"KBNK": {.07, .02, 0, -.09},
}

func steps(from, to, step float64) []float64 {
	var g []float64
	for x := from; x <= to+step/2; x += step {
		g = append(g, x)
	}
	return g
}

func offset(code string, stage int) float64 {
	if row := offsets[code]; stage < len(row) {
		return row[stage]
	}
	return 0
}

// surface is the likelihood of a stage's moves, or its log, for each strength and share.
type surface [][]float64

// likelihood is the surface of one stage, averaged over the noise of theta, the
// greatest as 1.
func likelihood(t Tally, hard float64) surface {
	out, top := logLikelihood(t, hard), math.Inf(-1)
	for _, row := range out {
		top = max(top, slices.Max(row))
	}
	for _, row := range out {
		for k := range row {
			row[k] = max(math.Exp(row[k]-top), least)
		}
	}
	return out
}

// logLikelihood is the log of the surface of one stage.
func logLikelihood(t Tally, hard float64) surface {
	raw, out := sharp(t, hard), make(surface, len(strengths))
	for i := range strengths {
		out[i] = make([]float64, len(lost))
		for k := range lost {
			out[i][k] = blurred(raw, i, k)
		}
	}
	return out
}

// sharp is the log of the surface of one stage without the noise.
func sharp(t Tally, hard float64) surface {
	raw := make(surface, len(strengths))
	for i, theta := range strengths {
		raw[i] = make([]float64, len(lost))
		for k, w := range lost {
			raw[i][k] = attraction.logChance(t.Weights, theta+hard, w)
		}
	}
	return raw
}

// blurred averages the surface over the noise around one point; further away than
// reach there is next to none.
func blurred(raw surface, i, k int) float64 {
	const reach = 3
	from, to := max(i-reach, 0), min(i+reach, len(raw)-1)
	top, sum := math.Inf(-1), 0.0
	for j := from; j <= to; j++ {
		top = max(top, raw[j][k])
	}
	for j := from; j <= to; j++ {
		sum += blur[i][j] * math.Exp(raw[j][k]-top)
	}
	return top + math.Log(sum)
}

// least keeps what can hardly be so far above zero that a product over the stages
// of a plan still is.
const least = 1e-75

// blur are the weights with which the noise moves theta on the grid.
var blur = func() [][]float64 {
	b := make([][]float64, len(strengths))
	for i, at := range strengths {
		sum := 0.0
		for _, to := range strengths {
			sum += bell(to-at, noise)
		}
		for _, to := range strengths {
			b[i] = append(b[i], bell(to-at, noise)/sum)
		}
	}
	return b
}()

func bell(x, spread float64) float64 { return math.Exp(-x * x / (2 * spread * spread)) }

// logChance is the log of the chance of the moves made, in positions like those
// of the stage on average.
func (v *attractions) logChance(w practice.Weights, theta, lost float64) float64 {
	all, drawn := 0.0, 0.0
	for c, o := range w.Offered {
		all += float64(o)
		drawn += float64(o) * v[c]
	}
	if all == 0 {
		return 0
	}
	e := 1 / (1 + math.Exp(-theta))
	sum := 0.0
	for c, n := range w.Made {
		if n == 0 {
			continue
		}
		p := e * float64(w.Offered[c]) * v[c] / drawn
		if c == 0 {
			p += 1 - e
		}
		sum += float64(n) * math.Log((1-lost)*p+lost*float64(w.Offered[c])/all)
	}
	return sum
}
