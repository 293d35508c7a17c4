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
// method.
//
// Source: theory (8.5) for the difference of two mean squares, otherwise (8.6).
func (g *Crossed) Interval(share Share, confidence float64) study.Interval {
	tail := (1 - confidence) / 2
	var squares []stat.MeanSquare
	var weights []float64
	for i, c := range g.combination(share) {
		if math.Abs(c) > 1e-12 { // what rounding leaves of terms that cancel is none
			squares, weights = append(squares, g.squares()[i]), append(weights, c)
		}
	}
	lo, hi := stat.SumLimits(squares, weights, tail)
	if len(squares) == 2 && weights[1] < 0 {
		lo, hi = stat.DifferenceLimits(squares[0], squares[1], tail) // weights are equal but for the sign
		lo, hi = weights[0]*lo, weights[0]*hi
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

// Tolerance returns the [OfLimits] of a share.
func (g *Crossed) Tolerance(share Share, width float64) float64 {
	return OfLimits(math.Sqrt(g.Variance(share)), width)
}

// OfLimits returns six standard deviations of a measurement in percent of the width between two
// limits, in the same unit. Below 10 % a gauge is good, above 30 % it is not fit for the limit.
//
// Source: common practice; older texts take 5.15 standard deviations.
func OfLimits(std, width float64) float64 { return 100 * 6 * std / width }

// Categories returns the number of distinct categories that the gauge can tell among
// these parts, 1.41 times the ratio of standard deviations, rounded down.
//
// Source: common practice.
func (g *Crossed) Categories() int {
	return int(1.41 * math.Sqrt(g.Variance(PartToPart)/g.Variance(GaugeRR)))
}
