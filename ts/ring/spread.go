package ring

import "conewright/ts/param"

// Spread is a computed value with its uncertainty: standard uncertainty and the
// ends of the 95 % interval, in the unit of the value.
type Spread struct {
	Value, Std, Low, High float64
}

// unevenAs returns v with the standard uncertainty u and an interval that is longer
// on the side on which that of id is.
func unevenAs(p param.Parameters, id param.ID, v, u float64) Spread {
	b := param.Bars{Down: u, Up: u}
	if i := p.Index(id); i >= 0 {
		if s := p.ScaledStd(i); s > 0 {
			_, g := p.Guarded(i)
			b = param.Bars{Down: u * g.Down / s, Up: u * g.Up / s}
		}
	}
	return Spread{v, u, v - p.Coverage*b.Down, v + p.Coverage*b.Up}
}

// normalSpread is a value with a 95 % interval of 1.96 standard uncertainties.
func normalSpread(value, std float64) Spread {
	return Spread{value, std, value - 1.96*std, value + 1.96*std}
}
