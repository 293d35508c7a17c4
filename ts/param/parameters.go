package param

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Origin says how a value came to be.
type Origin uint8

// The origins.
const (
	FromFit Origin = iota // an unknown of the fit
	Entered               // given by the user
	Derived               // computed from the others
)

// String returns the word used in JSON.
func (o Origin) String() string { return [...]string{"fitted", "entered", "derived"}[o] }

// Budget splits a standard uncertainty into its parts, all in the unit of the
// value. The parts are independent: Std is the root of the sum of squares.
type Budget struct {
	Noise  float64 // of the sweeps
	Model  float64 // choice of the coil and suspension model
	Bench  float64 // resistor, leads, masses, diameter, air: what the user's equipment adds
	Repeat float64 // between repeats of one condition
}

// Estimate is one value with its uncertainty, in SI units.
type Estimate struct {
	ID        ParamID
	Value     float64
	Std       float64 // standard uncertainty, everything included
	Low, High float64 // ends of the 95 % interval
	Origin    Origin
	Budget    Budget
}

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
}

// Parameters is what is known of one driver in one condition: values and their
// joint uncertainty. Each value is kept on a scale of its own, the natural
// logarithm for quantities that are always positive (ParamInfo.Positive) and
// the value itself for the others, because on that scale errors are closest to
// normal and nearly all derived values are linear.
type Parameters struct {
	IDs    []ParamID     // in printing order
	Scaled []float64     // values on their scale
	Origin []Origin      // how each value came to be
	Noise  *mat.SymDense // covariance from the noise of the sweeps, on the scale; nil: none
	// Components are the other sources. The total covariance is
	// Noise + sum over components of Effect Effect'.
	Components []Component
	// Coverage is the factor from standard uncertainty to the half-width of the
	// 95 % interval of a value without skew: 1.96 where the uncertainty is well
	// known, more where few degrees of freedom stand behind it.
	Coverage float64
	// Skew is what the variance of each value has too much or too little of on its
	// lower and on its upper side, on the scale. Where one of several things may be
	// true that say different values, the interval is not even on both sides: it
	// reaches Coverage sqrt(variance + skew) down and up. nil: none.
	Skew     [][2]float64
	Mounting Mounting
	// Temperature of the driver in kelvin, for Re and Qes.
	Temperature float64
}

// Scale returns the value on the scale that Parameters uses for id.
func (id ParamID) Scale(value float64) float64 {
	if paramTable[id].Positive {
		return math.Log(value)
	}
	return value
}

// Unscale is the inverse of Scale.
func (id ParamID) Unscale(scaled float64) float64 {
	if paramTable[id].Positive {
		return math.Exp(scaled)
	}
	return scaled
}

// Index returns the position of id in IDs, or -1 if the data could not give it.
func (p Parameters) Index(id ParamID) int {
	for i, have := range p.IDs {
		if have == id {
			return i
		}
	}
	return -1
}

// Get returns the estimate of one quantity; false if the data could not give it.
func (p Parameters) Get(id ParamID) (Estimate, bool) {
	i := p.Index(id)
	if i < 0 {
		return Estimate{}, false
	}
	var part [4]float64 // variances on the scale
	if p.Noise != nil {
		part[NoisePart] = p.Noise.At(i, i)
	}
	for _, c := range p.Components {
		part[c.Part] += c.Effect[i] * c.Effect[i]
	}
	v := id.Unscale(p.Scaled[i])
	slope := 1.0 // d value / d scaled
	if paramTable[id].Positive {
		slope = v
	}
	u := math.Sqrt(part[NoisePart] + part[ModelPart] + part[BenchPart] + part[RepeatPart])
	low, high := p.Interval(i, p.bars(i))
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

// bars returns the lengths of both arms of the value i, on the scale: what u is
// for a value with the same uncertainty on both sides.
func (p Parameters) bars(i int) Bars {
	v := Sq(p.ScaledStd(i))
	if p.Skew == nil {
		return Bars{math.Sqrt(v), math.Sqrt(v)}
	}
	side := func(skew float64) float64 { return math.Sqrt(max(v+skew, leastSide*v)) }
	return Bars{side(p.Skew[i][0]), side(p.Skew[i][1])}
}

// Interval returns the ends of the 95 % interval of the value i with the arms b.
func (p Parameters) Interval(i int, b Bars) (low, high float64) {
	return p.IDs[i].Unscale(p.Scaled[i] - p.Coverage*b.Down), p.IDs[i].Unscale(p.Scaled[i] + p.Coverage*b.Up)
}

// Guard returns the arms that a decision counts on: the standard uncertainty, or
// the arm of the interval where that is longer. A mixture of laws may leave more
// than 2.5 % beyond one end under one of them and less beyond the other; a decision
// must not.
func (p Parameters) Guard(i int) Bars {
	b, u := p.bars(i), p.ScaledStd(i)
	return Bars{max(b.Down, u), max(b.Up, u)}
}

// Bars are the standard uncertainties towards lower and towards higher values.
type Bars struct{ Down, Up float64 }

// Plus adds an independent error with the standard uncertainty u.
func (b Bars) Plus(u float64) Bars { return Bars{math.Hypot(b.Down, u), math.Hypot(b.Up, u)} }

// leastSide is the part of the variance that stays on each side of a value that
// was brought to other conditions.
const leastSide = 1e-3

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

// Usable refuses parameter sets that no decision may rest on: values or
// uncertainties that are not finite numbers.
func (p Parameters) Usable() error {
	for i, id := range p.IDs {
		if u := p.ScaledStd(i); math.IsNaN(p.Scaled[i]) || math.IsInf(p.Scaled[i], 0) || math.IsNaN(u) || math.IsInf(u, 0) {
			return &Refusal{Code: "not-finite", Message: fmt.Sprintf("the fit found no finite value for %v, so nothing can be decided", id),
				Advice: "look at the curve for points that do not belong to it, and fit again over a narrower band"}
		}
	}
	return nil
}

// Clone copies what a conversion writes to.
func (p Parameters) Clone() Parameters {
	p.Scaled = slices.Clone(p.Scaled)
	if p.Noise != nil {
		n := mat.NewSymDense(len(p.IDs), nil)
		n.CopySym(p.Noise)
		p.Noise = n
	}
	p.Components = slices.Clone(p.Components)
	for i := range p.Components {
		p.Components[i].Effect = slices.Clone(p.Components[i].Effect)
	}
	return p
}

// Transform carries the uncertainty through y' = T y.
func (p *Parameters) Transform(t *mat.Dense) {
	n := len(p.IDs)
	if p.Noise != nil {
		var tn, v mat.Dense
		tn.Mul(t, p.Noise)
		v.Mul(&tn, t.T())
		for i := range n {
			for j := i; j < n; j++ {
				p.Noise.SetSym(i, j, v.At(i, j))
			}
		}
	}
	for i := range p.Components {
		e := mat.NewVecDense(n, nil)
		e.MulVec(t, mat.NewVecDense(n, p.Components[i].Effect))
		p.Components[i].Effect = e.RawVector().Data
	}
}

// ScaledStd returns the standard uncertainty of the value i on its scale.
func (p Parameters) ScaledStd(i int) float64 {
	var v float64
	if p.Noise != nil {
		v = p.Noise.At(i, i)
	}
	for _, c := range p.Components {
		v += c.Effect[i] * c.Effect[i]
	}
	return math.Sqrt(v)
}

func Sq(x float64) float64 { return x * x }
