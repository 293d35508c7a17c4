package bench

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/sweeps/internal/dsp"
	"conewright/ts/notice"
)

// Calibration is what recordings of known things said about a bench. Each part
// may be missing.
type Calibration struct {
	Wiring   Wiring
	Resistor float64 // ohm, as the bench had it

	Channels Curve // ratio of the channels when both are on the same point
	Open     Curve // siemens, reading with nothing between the lead ends
	Short    Curve // ohm, reading with the lead ends joined
	Load     Curve // ohm, reading with a known resistor between the lead ends

	LoadOhm       float64 // ohm of that resistor
	LoadTolerance float64 // relative half-width, rectangular

	Check *CheckResult // of a second resistor; nil when there was none
}

// Curve is a complex quantity over frequency with its noise.
type Curve struct {
	Freq  []float64 // Hz, increasing
	Value []complex128
	Std   []float64 // standard deviation of each part of Value
}

// Given says whether the curve is there.
func (c Curve) Given() bool { return len(c.Freq) > 0 }

// place returns the points of c to either side of f and how far f lies between
// them; outside the curve its end is taken.
func (c Curve) place(f float64) (lo, hi int, part float64) {
	i, _ := slices.BinarySearch(c.Freq, f)
	switch {
	case i == 0:
		return 0, 0, 0
	case i == len(c.Freq):
		return i - 1, i - 1, 0
	}
	return i - 1, i, (f - c.Freq[i-1]) / (c.Freq[i] - c.Freq[i-1])
}

// At returns the value at f (Hz) on the straight line between the neighbours.
func (c Curve) At(f float64) complex128 {
	lo, hi, part := c.place(f)
	return c.Value[lo] + complex(part, 0)*(c.Value[hi]-c.Value[lo])
}

// correct returns the impedance between the lead ends for the reading z (ohm)
// at f (Hz). With readings Yo (open, as admittance), Zs (short) and Zl (load,
// really Zstd):
//
//	Z = k (z - Zs)/(1 - z Yo),   k = Zstd (1 - Zl Yo)/(Zl - Zs), without a load 1 - Zs Yo
//
// Readings that are missing are those of an ideal fixture. Theory (6.14).
//
// Source: open/short/load compensation of impedance meters (from memory); the
// admittance form derived.
func (c *Calibration) correct(f float64, z complex128) complex128 {
	var yo, zs complex128
	if c.Open.Given() {
		yo = c.Open.At(f)
	}
	if c.Short.Given() {
		zs = c.Short.At(f)
	}
	k := 1 - zs*yo
	if c.Load.Given() {
		zl := c.Load.At(f)
		k = complex(c.LoadOhm, 0) * (1 - zl*yo) / (zl - zs)
	}
	return k * (z - zs) / (1 - z*yo)
}

// Band returns the lowest and the highest frequency (Hz) that all parts cover.
func (c *Calibration) Band() (lo, hi float64) {
	hi = math.Inf(1)
	for _, part := range c.parts() {
		if part.Given() {
			lo = max(lo, part.Freq[0])
			hi = min(hi, part.Freq[len(part.Freq)-1])
		}
	}
	return lo, hi
}

// comparesChannels says whether an error of the channel gains is corrected: by
// a comparison of the channels, or by open, short and load together, because
// such an error is a bilinear map of the impedance as well.
func (c *Calibration) comparesChannels() bool {
	return c.Channels.Given() || (c.Open.Given() && c.Short.Given() && c.Load.Given())
}

// CheckResult is what a second resistor said about a calibrated bench.
type CheckResult struct {
	Ohm   float64 // ohm, as entered
	Found float64 // ohm, mean of the real part over the band
	Worst float64 // largest relative error of a point, of size and phase together
	At    float64 // Hz where that is
}

// Error returns the relative error of the mean.
func (r CheckResult) Error() float64 { return r.Found/r.Ohm - 1 }

// CalibrationNoise returns the variance, of each part, that the noise of the
// calibration's own recordings adds to the ratio h at f (Hz).
func (b Bench) CalibrationNoise(f float64, h complex128) float64 {
	c := b.Calibration
	if c == nil {
		return 0
	}
	var variance float64
	add := func(curve Curve, part *Curve) {
		if !curve.Given() {
			return
		}
		lo, _, _ := curve.place(f)
		moved := curve
		moved.Value = slices.Clone(curve.Value)
		for i := lo; i < min(lo+2, len(moved.Value)); i++ {
			moved.Value[i] += complex(curve.Std[i], 0)
		}
		*part = moved
		dz := b.Impedance(f, h)
		*part = curve
		dz -= b.Impedance(f, h)
		variance += dsp.SqAbs(dz)
	}
	own := *c
	b.Calibration = &own
	add(c.Channels, &own.Channels)
	add(c.Open, &own.Open)
	add(c.Short, &own.Short)
	add(c.Load, &own.Load)
	return variance / dsp.SqAbs(b.Slope(f, h))
}

// check refuses a calibration that is none, or that was not made on the bench b.
func (c *Calibration) check(b Bench) error {
	if err := c.sound(); err != nil {
		return err
	}
	if c.Wiring != b.Wiring || math.Abs(c.Resistor/b.Resistor-1) > 1e-6 {
		return notice.New("calibration-bench", notice.Facts{"wiring": c.Wiring.String(), "resistor": c.Resistor,
			"bench-wiring": b.Wiring.String(), "bench-resistor": b.Resistor})
	}
	return nil
}

// sound refuses a calibration that nothing can be corrected with.
func (c *Calibration) sound() error {
	if !c.Wiring.known() {
		return notice.New("calibration-wiring", notice.Facts{"wiring": c.Wiring.String()})
	}
	for _, part := range c.parts() {
		if err := part.sound(part.name); err != nil {
			return err
		}
	}
	positive := func(x float64) bool { return x > 0 && !math.IsInf(x, 0) }
	if !positive(c.Resistor) || !(c.LoadTolerance >= 0 && c.LoadTolerance < 1) || c.Load.Given() && !positive(c.LoadOhm) {
		return notice.New("calibration-resistor", nil)
	}
	return nil
}

// sound refuses a curve that is none; part is what it is of.
func (c Curve) sound(part string) error {
	if len(c.Value) != len(c.Freq) || len(c.Std) != len(c.Freq) {
		return notice.New("calibration-lengths", notice.Facts{"part": part, "frequencies": len(c.Freq), "values": len(c.Value), "noise": len(c.Std)})
	}
	for i, f := range c.Freq {
		switch {
		case !(f > 0) || math.IsInf(f, 0) || i > 0 && !(f > c.Freq[i-1]):
			return notice.New("calibration-order", notice.Facts{"part": part, "point": i + 1})
		case cmplx.IsNaN(c.Value[i]) || cmplx.IsInf(c.Value[i]):
			return notice.New("calibration-number", notice.Facts{"part": part, "point": i + 1})
		case !(c.Std[i] > 0) || math.IsInf(c.Std[i], 0):
			return notice.New("calibration-noise", notice.Facts{"part": part, "point": i + 1})
		}
	}
	return nil
}

// namedCurve is one curve of a calibration with its name.
type namedCurve struct {
	Curve
	name string
}

func (c *Calibration) parts() []namedCurve {
	return []namedCurve{{c.Channels, "channels"}, {c.Open, "open"}, {c.Short, "short"}, {c.Load, "load"}}
}
