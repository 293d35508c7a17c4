package param

import "math"

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
