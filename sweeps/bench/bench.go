// Package bench is the circuit around a driver: wiring, resistor, leads, the
// calibration of the two channels, and the recording of those.
package bench

import (
	"math"

	"conewright/ts/measured"
)

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

// What stands in for an uncertainty that was not given, relative.
const (
	usualChannelTolerance = 1e-3
	usualLeadsTolerance   = 0.2
)

// Impedance returns the impedance in ohm of what hangs on the terminals from
// the ratio h of the channels at f (Hz): calibration of the channels, divider,
// input resistance, calibration of the fixture, leads. Theory (6.12) to (6.14).
func (b Bench) Impedance(f float64, h complex128) complex128 {
	c := b.Calibration
	z := b.Reading(b.Corrected(f, h))
	if c != nil {
		z = c.correct(f, z)
	}
	return z - complex(b.Leads, 0)
}

// Corrected returns the ratio h at f (Hz) as equal channels would have recorded it.
func (b Bench) Corrected(f float64, h complex128) complex128 {
	if c := b.Calibration; c != nil && c.Channels.Given() {
		h /= c.Channels.At(f)
	}
	return h
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

// Admittance returns the reading for the ratio h in siemens, which stays finite
// when nothing is connected.
func (b Bench) Admittance(h complex128) complex128 {
	r := complex(b.Resistor, 0)
	in := complex(0, 0)
	if b.InputResistance != 0 {
		in = complex(1/b.InputResistance, 0)
	}
	switch b.Wiring {
	case DriverFirst:
		return h / (1 - h) * (1/r + in)
	case Probes:
		return h*(1/r+in) - in
	default:
		return (1-h)/(r*h) - in
	}
}

// Slope returns dZ/dh in ohm: what turns the noise of the ratio into the noise
// of the impedance. All corrections are analytic functions of h, so one
// difference tells the slope in every direction.
func (b Bench) Slope(f float64, h complex128) complex128 {
	step := complex(1e-5, 0) * h
	return (b.Impedance(f, h+step) - b.Impedance(f, h-step)) / (2 * step)
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
