package param

import (
	"math"

	"conewright/ts/notice"

	"gonum.org/v1/gonum/mat"
)

// Part says to which part of the [Budget] a source of error belongs.
type Part uint8

// The parts of a budget.
const (
	NoisePart Part = iota
	ModelPart
	BenchPart
	RepeatPart
)

// Component is one independent source of error with its effect on all values
// at once. Components of two sets with the same Source are the same error and
// cancel where the sets are compared, unless they are marked as Own.
type Component struct {
	Source string // "resistor", "added mass 15 g", "coil model lossy", ...
	Part   Part
	// Own says that the error belongs to this set alone: it does not cancel
	// against a component of the same Source in another set.
	Own bool
	// Effect is the change of each value for one standard deviation of the
	// source, in the order of Parameters.IDs and on its scale (see Parameters).
	Effect []float64
	// Scatter names the estimate of a scatter that the size of Effect comes from: the kind of
	// repeat. Components of one estimate are known equally well. "": none.
	Scatter string
	// Dof are the degrees of freedom behind the size of Effect; 0: it is known well enough
	// not to matter.
	Dof float64
	// Assumed says that the size rests on common practice and not on this bench.
	Assumed bool
}

// Parameters is what is known of one driver in one condition: values and their
// joint uncertainty. Each value is kept on a scale of its own, the natural
// logarithm for quantities that are always positive (Info.Positive) and
// the value itself for the others, because on that scale errors are closest to
// normal and nearly all derived values are linear.
type Parameters struct {
	IDs    []ID          // in printing order
	Scaled []float64     // values on their scale
	Origin []Origin      // how each value came to be
	Noise  *mat.SymDense // covariance from the noise of the sweeps, on the scale; nil: none
	// Components are the other sources. The total covariance is
	// Noise + sum over components of Effect Effect'.
	Components []Component
	// Coverage is the factor from standard uncertainty to the half-width of the
	// 95 % interval of a value without skew, as far as the noise is concerned: 1.96 where it is
	// well known, more where few degrees of freedom stand behind it. With components of few
	// degrees of freedom the factor of a value is that of its Dist.
	Coverage float64
	// Skew is what the variance of each value has too much or too little of on its
	// lower and on its upper side, on the scale. Where one of several things may be
	// true that say different values, the interval is not even on both sides: it
	// reaches Coverage sqrt(variance + skew) down and up. nil: none.
	Skew     [][2]float64
	Mounting Mounting
	// Temperature of the driver in kelvin, for Re and Qes.
	Temperature float64
	// Doubts are reasons to think that the values are not those of one driver alone, in free
	// air and with nothing on its cone. As long as there are any no verdict rests on them.
	Doubts []notice.Notice
	// OneDriver says that somebody made sure of it, so that nothing is doubted.
	OneDriver bool
	// MeterOff is the logarithm of a meter reading of Re over Re where the two contradict each
	// other, so that the reading has no part in the values; 0: no such reading.
	MeterOff float64
}

// Index returns the position of id in IDs, or -1 if the data could not give it.
func (p Parameters) Index(id ID) int {
	for i, have := range p.IDs {
		if have == id {
			return i
		}
	}
	return -1
}

// Get returns the estimate of one quantity; false if the data could not give it.
func (p Parameters) Get(id ID) (Estimate, bool) {
	i := p.Index(id)
	if i < 0 {
		return Estimate{}, false
	}
	var part [4]float64 // variances on the scale
	if p.Noise != nil { // rounding may leave a variance a little below zero
		part[NoisePart] = max(0, p.Noise.At(i, i))
	}
	for _, c := range p.Components {
		part[c.Part] += c.Effect[i] * c.Effect[i]
	}
	v := id.Unscale(p.Scaled[i])
	slope := 1.0 // d value / d scaled
	if id.Info().Positive {
		slope = v
	}
	u := math.Sqrt(part[NoisePart] + part[ModelPart] + part[BenchPart] + part[RepeatPart])
	low, high := p.interval(i, p.bars(i))
	return Estimate{
		ID: id, Value: v, Std: slope * u, Origin: p.Origin[i], Low: low, High: high,
		Budget: Budget{
			Noise:  slope * math.Sqrt(part[NoisePart]),
			Model:  slope * math.Sqrt(part[ModelPart]),
			Bench:  slope * math.Sqrt(part[BenchPart]),
			Repeat: slope * math.Sqrt(part[RepeatPart]),
		},
	}, true
}

// All returns the estimates of everything that is known, in printing order.
func (p Parameters) All() []Estimate {
	all := make([]Estimate, 0, len(p.IDs))
	for _, id := range p.IDs {
		e, _ := p.Get(id)
		all = append(all, e)
	}
	return all
}

// Covariance returns the total covariance on the scale of Parameters, in the
// order of IDs.
func (p Parameters) Covariance() *mat.SymDense {
	n := len(p.IDs)
	v := mat.NewSymDense(n, nil)
	if p.Noise != nil {
		v.CopySym(p.Noise)
	}
	for _, c := range p.Components {
		v.SymRankOne(v, 1, mat.NewVecDense(n, c.Effect))
	}
	return v
}

// ScaledStd returns the standard uncertainty of the value i on its scale.
func (p Parameters) ScaledStd(i int) float64 {
	var v float64
	if p.Noise != nil { // as in Get
		v = max(0, p.Noise.At(i, i))
	}
	for _, c := range p.Components {
		v += c.Effect[i] * c.Effect[i]
	}
	return math.Sqrt(v)
}

// Sq returns the square.
func Sq(x float64) float64 { return x * x }
