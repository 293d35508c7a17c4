package gauge

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/study"
)

// Share is a part of the variation in a crossed study.
type Share int

// The shares of a crossed study.
const (
	Repeatability    Share = iota // the same operator measures the same part again
	OperatorAlone                 // operators differ, whatever the part
	InteractionAlone              // operators differ, each part in its own way; 0 if pooled
	Reproducibility               // OperatorAlone and InteractionAlone
	GaugeRR                       // Repeatability and Reproducibility
	PartToPart                    // the parts themselves
	Total                         // GaugeRR and PartToPart
)

// includes are the elementary shares in each share.
func (s Share) includes() []Share {
	switch s {
	case Reproducibility:
		return []Share{OperatorAlone, InteractionAlone}
	case GaugeRR:
		return []Share{Repeatability, OperatorAlone, InteractionAlone}
	case Total:
		return []Share{Repeatability, OperatorAlone, InteractionAlone, PartToPart}
	}
	return []Share{s}
}

// squares returns the mean squares of part, operator, interaction and repeats; pooled,
// the last is that of interaction and repeats together, and the one before counts nothing.
func (g *Crossed) squares() []stat.MeanSquare {
	s := []stat.MeanSquare{g.Part.square(), g.Operator.square(), g.Interaction.square(), g.Repeat.square()}
	if g.Pooled {
		s[3] = g.plain()
	}
	return s
}

// combination returns the factors of squares that make the variance of a share:
//
//	repeats MS_E,   interaction (MS_I - MS_E)/t,   operator (MS_O - MS_I)/(p t),   part (MS_P - MS_I)/(o t)
//
// with MS_E in place of MS_I if pooled.
//
// Source: expected mean squares of the random model, textbook. Theory (8.16).
func (g *Crossed) combination(share Share) [4]float64 {
	inner := 2
	if g.Pooled {
		inner = 3
	}
	var c [4]float64
	switch t := float64(g.Trials); share {
	case Repeatability:
		c[3] = 1
	case InteractionAlone:
		if !g.Pooled {
			c[2], c[3] = 1/t, -1/t
		}
	case OperatorAlone:
		c[1] = 1 / (float64(g.Parts) * t)
		c[inner] = -c[1]
	case PartToPart:
		c[0] = 1 / (float64(g.Operators) * t)
		c[inner] = -c[0]
	default:
		for _, s := range share.includes() {
			for i, x := range g.combination(s) {
				c[i] += x
			}
		}
	}
	return c
}

// Variance returns the variance of a share; elementary shares that come out negative
// are 0, also in the sums.
func (g *Crossed) Variance(share Share) float64 {
	var v float64
	for _, s := range share.includes() {
		var one float64
		for i, c := range g.combination(s) {
			one += c * g.squares()[i].Value
		}
		v += max(0, one)
	}
	return v
}

// Interval returns the interval of the variance of a share, by the modified large sample
// method. Reproducibility with an interaction takes its two positive terms as one mean
// square, by Welch and Satterthwaite.
//
// Source: theory (8.5) and (8.6); the last sentence derived, and held against simulated coverage.
func (g *Crossed) Interval(share Share, confidence float64) study.Interval {
	tail := (1 - confidence) / 2
	var squares []stat.MeanSquare
	var weights []float64
	var positive []study.Term
	var minus stat.MeanSquare
	for i, c := range g.combination(share) {
		s := g.squares()[i]
		switch {
		case c > 1e-12:
			squares, weights = append(squares, s), append(weights, c)
			positive = append(positive, study.Term{Std: math.Sqrt(c * s.Value), Dof: s.Dof})
		case c < -1e-12:
			minus = stat.MeanSquare{Value: -c * s.Value, Dof: s.Dof}
		}
	}
	var lo, hi float64
	switch {
	case len(squares) == 0:
		return study.Interval{}
	case len(squares) == 1 && minus.Dof == 0:
		return study.Spread{Variance: weights[0] * squares[0].Value, Dof: squares[0].Dof}.Interval(confidence)
	case minus.Dof == 0:
		lo, hi = stat.SumLimits(squares, weights, tail)
	default:
		plus := study.Combine(positive...)
		lo, hi = stat.DifferenceLimits(stat.MeanSquare{Value: plus.Variance, Dof: plus.Dof}, minus, tail)
	}
	// A share that was cut off at 0 can leave the variance above the limit.
	return study.Interval{Lo: max(0, lo), Hi: max(0, hi, g.Variance(share))}
}

// Contribution returns the part of the total variance, in percent.
func (g *Crossed) Contribution(share Share) float64 {
	return 100 * g.Variance(share) / g.Variance(Total)
}

// Study returns the part of the total standard deviation, in percent: for GaugeRR what
// is called %GRR. It depends on how much the parts differ, so a set of like parts makes any
// gauge look bad.
func (g *Crossed) Study(share Share) float64 { return 10 * math.Sqrt(g.Contribution(share)) }

// Tolerance returns six standard deviations of a share in percent of the width between two
// limits, in the unit of the values.
//
// Source: common practice; older texts take 5.15 standard deviations.
func (g *Crossed) Tolerance(share Share, width float64) float64 {
	return 100 * 6 * math.Sqrt(g.Variance(share)) / width
}

// Categories returns the number of distinct categories that the gauge can tell among
// these parts, 1.41 times the ratio of standard deviations, rounded down.
//
// Source: common practice.
func (g *Crossed) Categories() int {
	return int(1.41 * math.Sqrt(g.Variance(PartToPart)/g.Variance(GaugeRR)))
}
