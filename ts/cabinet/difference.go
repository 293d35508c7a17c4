package cabinet

import (
	"fmt"
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Curve is a level over frequency with its standard uncertainty, in dB.
type Curve struct{ Freq, Level, Std []float64 }

// Levels returns the level of a driver over its own one far above the resonance.
func (c Cabinet) Levels(p param.Parameters, freq []float64) (Curve, error) {
	d, err := DriverOf(p)
	if err = bounds.First(err, c.Check()); err != nil {
		return Curve{}, err
	}
	return c.curve(freq, func(f float64) (level, std float64) {
		shape := func(d Driver) float64 { return c.Level(d, f) - c.passband(d) }
		return shape(d), math.Sqrt(variance(p, gradient(d, shape), nil))
	})
}

// Against returns how much louder a driver is than one whose values are given, for the same
// voltage. How far the driver moves from day to day is allowed for.
func (c Cabinet) Against(p param.Parameters, given Driver, freq []float64) (Curve, error) {
	d, err := DriverOf(p)
	if err = bounds.First(err, c.Check(), given.check()); err != nil {
		return Curve{}, err
	}
	return c.curve(freq, func(f float64) (level, std float64) {
		at := func(d Driver) float64 { return c.Level(d, f) }
		g := gradient(d, at)
		return at(d) - at(given), math.Sqrt(variance(p, g, nil) + fromDayToDay(g))
	})
}

// Difference returns how much louder the driver is after a change, for the same voltage. Errors
// that both sets share cancel; that the two were measured on different days is allowed for.
//
//	u^2 = ga' Na ga + gb' Nb gb + sum over sources s of (ga' ea_s - gb' eb_s)^2 + sum over k of (ga' d_k)^2
//
// N is the covariance of the noise, e_s the effect of a source, g the slope of the level
// over each value on its scale, a after, b before; d_k what stiffness, loss and heat differ by
// from day to day. Theory (10.4).
func (c Cabinet) Difference(after, before param.Parameters, freq []float64) (Curve, error) {
	a, err := DriverOf(after)
	if err != nil {
		return Curve{}, err
	}
	b, err := DriverOf(before)
	if err = bounds.First(err, c.Check()); err != nil {
		return Curve{}, err
	}
	return c.curve(freq, func(f float64) (level, std float64) {
		at := func(d Driver) float64 { return c.Level(d, f) }
		ga, gb := gradient(a, at), gradient(b, at)
		return at(a) - at(b), math.Sqrt(variance(after, ga, &other{before, gb}) + fromDayToDay(ga))
	})
}

// What differs from day to day, as standard deviations of logarithms. Common practice: 1 % in
// Fs, and 5 K in a copper coil.
const (
	dayStiffness = 0.02
	dayLoss      = 0.10 // viscous
	dayRe        = 0.02
)

// days are these by the quantities of a Driver.
var days = [][len(needed)]float64{
	{0, dayStiffness / 2, dayStiffness / 2, dayStiffness / 2, -dayStiffness},
	{0, 0, -dayLoss, 0, 0},
	{dayRe, 0, 0, dayRe, 0},
}

// fromDayToDay is the variance that days leave in what has the slopes g.
func fromDayToDay(g [len(needed)]float64) (v float64) {
	for _, day := range days {
		along := 0.0
		for i := range g {
			along += g[i] * day[i]
		}
		v += along * along
	}
	return v
}

func (c Cabinet) curve(freq []float64, at func(f float64) (level, std float64)) (Curve, error) {
	out := Curve{Freq: freq}
	for _, f := range freq {
		if err := bounds.Frequency.Known(f, 0); err != nil {
			return Curve{}, err
		}
		level, std := at(f)
		if math.IsNaN(level+std) || math.IsInf(level+std, 0) {
			return Curve{}, notice.New("cabinet-no-level", notice.Facts{"frequency": f})
		}
		out.Level, out.Std = append(out.Level, level), append(out.Std, std)
	}
	return out, nil
}

// check refuses values that no driver has.
func (d Driver) check() error {
	return bounds.First(bounds.Resistance.Known(d.Re, 0), bounds.Frequency.Known(d.Fs, 0), bounds.Quality.Known(d.Qms, 0),
		bounds.Quality.Known(d.Qes, 0), bounds.Volume.Known(d.Vas, 0))
}

// gradient returns the slope of a level over the logarithm of each value, by central
// differences.
func gradient(d Driver, level func(Driver) float64) (g [len(needed)]float64) {
	const h = 1e-4
	v := [len(needed)]float64{d.Re, d.Fs, d.Qms, d.Qes, d.Vas}
	for i := range v {
		up, down := v, v
		up[i] *= math.Exp(h)
		down[i] *= math.Exp(-h)
		g[i] = (level(driverOf(up)) - level(driverOf(down))) / (2 * h)
	}
	return g
}

// other is a second set of values that is subtracted.
type other struct {
	p param.Parameters
	g [len(needed)]float64
}

// variance returns that of what has the slopes g over the values of p, less the other.
func variance(p param.Parameters, g [len(needed)]float64, less *other) float64 {
	v, along := 0.0, map[string]float64{}
	var order []string // so that the sum is the same every time
	add := func(p param.Parameters, g [len(needed)]float64, sign float64) {
		for i, id := range needed {
			for k, with := range needed {
				if p.Noise != nil {
					v += g[i] * g[k] * p.Noise.At(p.Index(id), p.Index(with))
				}
			}
		}
		for _, c := range p.Components {
			key := c.Source
			if c.Own {
				key = fmt.Sprint(c.Source, " of set ", sign)
			}
			if _, known := along[key]; !known {
				order = append(order, key)
			}
			for i, id := range needed {
				along[key] += sign * g[i] * c.Effect[p.Index(id)]
			}
		}
	}
	add(p, g, 1)
	if less != nil {
		add(less.p, less.g, -1)
	}
	for _, key := range order {
		v += along[key] * along[key]
	}
	return max(0, v)
}
