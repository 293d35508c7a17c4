package param

import "math"

// Bars are the error bars of a value: its standard uncertainties towards lower and
// towards higher values, on the scale.
type Bars struct{ Down, Up float64 }

// leastSide is the part of the variance that stays on each side of a value that
// was brought to other conditions.
const leastSide = 1e-3

// bars returns the error bars of the value i, which differ where its interval is uneven.
func (p Parameters) bars(i int) Bars {
	v := Sq(p.ScaledStd(i))
	if p.Skew == nil {
		return Bars{math.Sqrt(v), math.Sqrt(v)}
	}
	side := func(skew float64) float64 { return math.Sqrt(max(v+skew, leastSide*v)) }
	return Bars{side(p.Skew[i][0]), side(p.Skew[i][1])}
}

// interval returns the ends of the 95 % interval of the value i with the error bars b.
func (p Parameters) interval(i int, b Bars) (low, high float64) {
	k := p.coverage(i)
	return p.IDs[i].Unscale(p.Scaled[i] - k*b.Down), p.IDs[i].Unscale(p.Scaled[i] + k*b.Up)
}

// Guarded returns the value i with the error bars and the interval that a decision counts
// on: to each side the standard uncertainty, or the longer error bar. A mixture of laws
// may leave more than 2.5 % beyond one end under one of them and less beyond the other;
// a decision must not.
func (p Parameters) Guarded(i int) (Estimate, Bars) {
	b, u := p.bars(i), p.ScaledStd(i)
	b = Bars{max(b.Down, u), max(b.Up, u)}
	e, _ := p.Get(p.IDs[i])
	e.Low, e.High = p.interval(i, b)
	return e, b
}
