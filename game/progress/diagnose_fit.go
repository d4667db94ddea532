package progress

import (
	"math"

	"drover/game/practice"
)

// Sample is what a healthy student did in the stages of one ending.
type Sample struct {
	Ending string
	Stages []Tally
}

// Fitted are the constants of the diagnosis that a new ending or other students
// change.
type Fitted struct {
	Attraction []float64            `json:"attraction"` // by class of move
	Offsets    map[string][]float64 `json:"offsets"`    // by ending, one number per stage, sum 0
}

// fitRounds is how often each constant is fitted anew; both settle within half.
const fitRounds = 30

// Fit finds the constants under which the moves of healthy students are
// likeliest.
func Fit(samples []Sample) Fitted {
	v := fitAttraction(samples)
	f := Fitted{v[:], map[string][]float64{}}
	by := map[string][]Sample{}
	for _, s := range samples {
		by[s.Ending] = append(by[s.Ending], s)
	}
	for code, own := range by {
		f.Offsets[code] = v.fitOffsets(own)
	}
	return f
}

// fitAttraction scales each class until the moves that were not the best are
// spread over the classes as they were made.
func fitAttraction(samples []Sample) attractions {
	v := attractions{1, 1, 1, 1, 1, 1}
	for range fitRounds {
		var made, due attractions
		for _, s := range samples {
			for _, t := range s.Stages {
				v.compare(t, &made, &due)
			}
		}
		for c := 1; c < len(v); c++ {
			if due[c] > 0 {
				v[c] *= made[c] / due[c]
			}
		}
	}
	scale := practice.Attraction[1] / v[1]
	for c := 1; c < len(v); c++ {
		v[c] *= scale
	}
	return v
}

// compare adds the moves of a stage that were not the best, by class, and how
// many of each class were due.
func (v *attractions) compare(t Tally, made, due *attractions) {
	all, drawn := 0.0, 0.0
	for c := 1; c < len(v); c++ {
		all += float64(t.Weights.Made[c])
		drawn += float64(t.Weights.Offered[c]) * v[c]
	}
	for c := 1; c < len(v) && drawn > 0; c++ {
		made[c] += float64(t.Weights.Made[c])
		due[c] += all * float64(t.Weights.Offered[c]) * v[c] / drawn
	}
}

// fitOffsets climbs to the likeliest offsets, each student at the strength that
// fits best, by steps of Newton.
func (v *attractions) fitOffsets(samples []Sample) []float64 {
	row := make([]float64, len(samples[0].Stages))
	for range fitRounds {
		slope, bend := make([]float64, len(row)), make([]float64, len(row))
		for _, s := range samples {
			theta := v.strength(s, row)
			for i, t := range s.Stages {
				const h = 0.05
				below, at, beyond := v.logChance(t.Weights, theta+row[i]-h, lost[0]), v.logChance(t.Weights, theta+row[i], lost[0]),
					v.logChance(t.Weights, theta+row[i]+h, lost[0])
				slope[i] += (beyond - below) / (2 * h)
				bend[i] -= (beyond - 2*at + below) / (h * h)
			}
		}
		mean := 0.0
		for i := range row {
			if bend[i] > 0 {
				row[i] += slope[i] / bend[i]
			}
			mean += row[i] / float64(len(row))
		}
		for i := range row {
			row[i] -= mean
		}
	}
	return row
}

// strength is the strength at which a student's moves are likeliest.
func (v *attractions) strength(s Sample, row []float64) float64 {
	best, most := 0.0, math.Inf(-1)
	for _, theta := range strengths {
		away := (theta - strengthMean) / strengthSpread
		sum := -away * away / 2
		for i, t := range s.Stages {
			sum += v.logChance(t.Weights, theta+row[i], lost[0])
		}
		if sum > most {
			best, most = theta, sum
		}
	}
	return best
}
