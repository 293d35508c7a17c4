package cabinet

import (
	"fmt"
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Curve is a level over frequency, in dB, with its standard uncertainty and half of its 95 % interval.
type Curve struct{ Freq, Level, Std, Half []float64 }

// Levels returns the level of a driver over its own one far above the resonance.
func (c Cabinet) Levels(p param.Parameters, freq []float64) (Curve, error) {
	d, err := DriverOf(p)
	if err = bounds.First(err, c.Check()); err != nil {
		return Curve{}, err
	}
	return c.curve(freq, func(f float64) (level float64, of param.Parameters) {
		shape := func(d Driver) float64 { return c.Level(d, f) - c.passband(d) }
		return shape(d), along(p, gradient(d, shape), nil)
	})
}

// Against returns how much louder a driver is than one whose values are given, for the same
// voltage.
func (c Cabinet) Against(p param.Parameters, given Driver, freq []float64) (Curve, error) {
	d, err := DriverOf(p)
	if err = bounds.First(err, c.Check(), given.check()); err != nil {
		return Curve{}, err
	}
	return c.curve(freq, func(f float64) (level float64, of param.Parameters) {
		at := func(d Driver) float64 { return c.Level(d, f) }
		return at(d) - at(given), along(p, gradient(d, at), nil)
	})
}

// Difference returns how much louder the driver is after a change, for the same voltage. Errors
// that both sets share cancel; how far the driver moves from one measurement to the next is among
// the sources of each set.
//
//	u^2 = ga' Na ga + gb' Nb gb + sum over sources s of (ga' ea_s - gb' eb_s)^2
//
// N is the covariance of the noise, e_s the effect of a source, g the slope of the level
// over each value on its scale, a after, b before. Theory (10.4).
func (c Cabinet) Difference(after, before param.Parameters, freq []float64) (Curve, error) {
	a, err := DriverOf(after)
	if err != nil {
		return Curve{}, err
	}
	b, err := DriverOf(before)
	if err = bounds.First(err, c.Check()); err != nil {
		return Curve{}, err
	}
	return c.curve(freq, func(f float64) (level float64, of param.Parameters) {
		at := func(d Driver) float64 { return c.Level(d, f) }
		return at(a) - at(b), along(after, gradient(a, at), &other{before, gradient(b, at)})
	})
}

// curve takes from at the level at each frequency, and its errors as those of the one value of a set.
func (c Cabinet) curve(freq []float64, at func(f float64) (level float64, of param.Parameters)) (Curve, error) {
	out := Curve{Freq: freq}
	for _, f := range freq {
		if err := bounds.Frequency.Known(f, 0); err != nil {
			return Curve{}, err
		}
		level, of := at(f)
		std := of.ScaledStd(0)
		if math.IsNaN(level+std) || math.IsInf(level+std, 0) {
			return Curve{}, notice.New("cabinet-no-level", notice.Facts{"frequency": f})
		}
		out.Level, out.Std = append(out.Level, level), append(out.Std, std)
		out.Half = append(out.Half, of.Dist(0).Quantile(0.975)*std)
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

// along returns the errors of what has the slopes g over the values of p, less the other, as those of one value.
func along(p param.Parameters, g [len(needed)]float64, less *other) param.Parameters {
	out, noise, place := param.Parameters{}, 0.0, map[string]int{}
	add := func(p param.Parameters, g [len(needed)]float64, sign float64) {
		out.Coverage = max(out.Coverage, p.Coverage)
		for i, id := range needed {
			for k, with := range needed {
				if p.Noise != nil {
					noise += g[i] * g[k] * p.Noise.At(p.Index(id), p.Index(with))
				}
			}
		}
		for _, c := range p.Components {
			key := c.Source
			if c.Own {
				key = fmt.Sprint(c.Source, " of set ", sign)
			}
			at, known := place[key]
			if !known {
				at = len(out.Components)
				place[key] = at
				one := c
				one.Effect = []float64{0}
				out.Components = append(out.Components, one)
			}
			for i, id := range needed {
				out.Components[at].Effect[0] += sign * g[i] * c.Effect[p.Index(id)]
			}
		}
	}
	add(p, g, 1)
	if less != nil {
		add(less.p, less.g, -1)
	}
	out.Noise = mat.NewSymDense(1, []float64{max(0, noise)})
	return out
}
