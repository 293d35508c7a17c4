// Package bench is the circuit around a driver: wiring, resistor, leads, the
// calibration of the two channels, and the recording of those.
package bench

import (
	"fmt"
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Wiring says where the two channels are connected.
type Wiring uint8

// The wirings. H is channel 2 over channel 1, R the series resistor.
const (
	// ResistorFirst: amplifier, resistor, node, driver, ground; channel 1 hears
	// the amplifier, channel 2 the node. Z = R H/(1-H).
	ResistorFirst Wiring = iota
	// DriverFirst: amplifier, driver, node, resistor, ground; channel 1 hears
	// the amplifier, channel 2 the node. Z = R (1/H - 1).
	DriverFirst
	// Probes: channel 1 across the driver, channel 2 across the resistor, both
	// differential. Z = R/H.
	Probes
)

// String returns the word used in files and on the command line.
func (w Wiring) String() string {
	return [...]string{"resistor-first", "driver-first", "probes"}[w]
}

// ParseWiring is the inverse of String.
func ParseWiring(word string) (Wiring, error) {
	for _, w := range []Wiring{ResistorFirst, DriverFirst, Probes} {
		if w.String() == word {
			return w, nil
		}
	}
	return 0, fmt.Errorf("%q is not a wiring", word)
}

// Impedance returns Z in ohm from the ratio h of channel 2 to channel 1 and the
// resistor r in ohm.
//
// Source: voltage divider; laboratory notes of a university course (divider),
// general practice (direct).
func (w Wiring) Impedance(h complex128, r float64) complex128 {
	R := complex(r, 0)
	switch w {
	case DriverFirst:
		return R * (1 - h) / h
	case Probes:
		return R / h
	default:
		return R * h / (1 - h)
	}
}

// Ratio is the inverse of Impedance: the h that a driver of impedance z gives.
func (w Wiring) Ratio(z complex128, r float64) complex128 {
	R := complex(r, 0)
	switch w {
	case DriverFirst:
		return R / (R + z)
	case Probes:
		return R / z
	default:
		return z / (R + z)
	}
}

// Bench is how the driver was connected.
type Bench struct {
	Wiring            Wiring
	Resistor          float64 // ohm
	ResistorTolerance float64 // relative half-width, 0.01 for 1 %; rectangular
	Leads             float64 // ohm between the point that is measured and the driver's terminals
	LeadsStd          float64 // ohm, standard uncertainty of Leads; 0: a fifth of Leads
	InputResistance   float64 // ohm of each input, parallel to what it measures; 0: infinite
	FullScale         float64 // V at full scale of the inputs; 0: unknown
	SwapChannels      bool
	// ChannelTolerance is the relative standard uncertainty of the ratio of the
	// channel gains; 0: 0.1 %, common practice for the two inputs of one
	// interface, and nothing where a calibration compared the channels.
	ChannelTolerance float64
	Calibration      *Calibration // nil: none
}

// usualChannelTolerance stands in for a ChannelTolerance that was not given.
const usualChannelTolerance = 1e-3

// usualLeadsTolerance stands in for a LeadsStd that was not given, relative.
const usualLeadsTolerance = 0.2

// Impedance returns the impedance in ohm of what hangs on the terminals from
// the ratio h of the channels at f (Hz): calibration of the channels, divider,
// input resistance, calibration of the fixture, leads. Theory (6.12) to (6.14).
func (b Bench) Impedance(f float64, h complex128) complex128 {
	c := b.Calibration
	if c != nil && c.Channels.Given() {
		h /= c.Channels.At(f)
	}
	z := b.Reading(h)
	if c != nil {
		z = c.correct(f, z)
	}
	return z - complex(b.Leads, 0)
}

// Reading returns what the divider shows, in ohm, for the ratio h.
func (b Bench) Reading(h complex128) complex128 {
	if b.InputResistance == 0 {
		return b.Wiring.Impedance(h, b.Resistor)
	}
	r := b.Resistor
	if b.Wiring != ResistorFirst { // an input lies across the resistor
		r = r * b.InputResistance / (r + b.InputResistance)
	}
	z := b.Wiring.Impedance(h, r)
	if b.Wiring != DriverFirst { // an input lies across the driver
		in := complex(b.InputResistance, 0)
		z = z * in / (in - z)
	}
	return z
}

// Slope returns dZ/dh in ohm: what turns the noise of the ratio into the noise
// of the impedance. All corrections are analytic functions of h, so one
// difference tells the slope in every direction.
func (b Bench) Slope(f float64, h complex128) complex128 {
	step := complex(1e-5, 0) * h
	return (b.Impedance(f, h+step) - b.Impedance(f, h-step)) / (2 * step)
}

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

// Check refuses a bench that is not one.
func (b Bench) Check() error {
	bad := func(what string, v float64) error {
		return &param.Refusal{Code: "bench-value", Message: fmt.Sprintf("%s of %g is not usable", what, v),
			Advice: "measure it with a meter and give the reading"}
	}
	switch {
	case b.Resistor == 0:
		return &param.Refusal{Code: "resistor-missing", Message: "the resistor in series is not known",
			Advice: "measure the resistor and give it, for example --resistor 10.02"}
	case !(b.Resistor > 0) || math.IsInf(b.Resistor, 0):
		return bad("a series resistor", b.Resistor)
	case !(b.ResistorTolerance >= 0) || b.ResistorTolerance >= 1:
		return bad("a resistor tolerance", b.ResistorTolerance)
	case !(b.Leads >= 0) || math.IsInf(b.Leads, 0):
		return bad("a lead resistance", b.Leads)
	case !(b.LeadsStd >= 0) || !(b.ChannelTolerance >= 0) || !(b.FullScale >= 0):
		return bad("a tolerance or full scale", min(b.LeadsStd, b.ChannelTolerance, b.FullScale))
	case b.InputResistance != 0 && !(b.InputResistance >= 100):
		return bad("an input resistance", b.InputResistance)
	}
	return nil
}

// Systematic returns the errors of the bench that move all points together:
// how far each point moves for one standard deviation of the error.
func (b Bench) Systematic(freq []float64, h []complex128) []measured.Systematic {
	var all []measured.Systematic
	add := func(source string, moved func(f float64, h complex128) complex128) {
		effect := make([]complex128, len(freq))
		any := false
		for i, f := range freq {
			effect[i] = moved(f, h[i]) - b.Impedance(f, h[i])
			any = any || effect[i] != 0
		}
		if any {
			all = append(all, measured.Systematic{Source: source, Effect: effect})
		}
	}
	with := func(change func(*Bench)) func(f float64, h complex128) complex128 {
		other := b
		change(&other)
		return other.Impedance
	}
	c := b.Calibration
	if c == nil || !c.Load.Given() {
		add("resistor", with(func(o *Bench) { o.Resistor *= 1 + b.ResistorTolerance/math.Sqrt(3) }))
	} else {
		load := *c
		load.LoadOhm *= 1 + c.LoadTolerance/math.Sqrt(3)
		add("calibration resistor", with(func(o *Bench) { o.Calibration = &load }))
	}
	leads := b.LeadsStd
	if leads == 0 {
		leads = usualLeadsTolerance * b.Leads
	}
	add("leads", with(func(o *Bench) { o.Leads += leads }))
	gain := b.ChannelTolerance
	if gain == 0 && !(c != nil && c.comparesChannels()) {
		gain = usualChannelTolerance
	}
	add("channel gain", func(f float64, h complex128) complex128 { return b.Impedance(f, h*complex(1+gain, 0)) })
	return all
}

// Options say how a file is to be read.
type Options struct {
	Bench   Bench
	Columns string // what the columns of a table hold, such as "f[Hz] |Z|[ohm] phase[deg]"; "" to go by its header
}
