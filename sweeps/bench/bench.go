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
	// channels at all frequencies, as somebody compared them; 0: that of inputs that are equal within
	// 0.1 dB and differ in their AC coupling, and nothing where a calibration compared the channels.
	ChannelTolerance float64
	Calibration      *Calibration // nil: none
}

// What stands in for an uncertainty that was not given, relative.
const (
	// The two inputs of an interface are said to be equal within 0.1 dB, anywhere within
	// (common practice): 1.16 %/sqrt 3.
	usualChannelTolerance = 0.0067
	usualLeadsTolerance   = 0.2
)

// How the AC coupling of two inputs differs. Line inputs let through what is above 1 to 10 Hz, by
// capacitors that are good to 5 to 20 % (common practice).
const (
	couplingCorner    = 2.0 // Hz, where the corner of an input is taken to be
	couplingApart     = 0.5 // Hz, standard deviation of the distance of the two corners
	couplingElsewhere = 1.5 // Hz^2, the same of that distance times what the corner differs from couplingCorner
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
	add("leads", with(func(o *Bench) { o.Leads += b.LeadsDoubt() }))
	gain, unknown := b.channelDoubt()
	add(measured.ChannelSource, func(f float64, h complex128) complex128 { return b.Impedance(f, h*complex(1+gain, 0)) })
	if unknown {
		all = append(all, b.coupling(freq, h)...)
	}
	return all
}

// LeadsDoubt is the standard uncertainty of the leads in ohm.
func (b Bench) LeadsDoubt() float64 {
	if b.LeadsStd != 0 {
		return b.LeadsStd
	}
	return usualLeadsTolerance * b.Leads
}

// channelDoubt is the relative standard uncertainty of the ratio of the channels, and whether nobody compared them.
func (b Bench) channelDoubt() (gain float64, unknown bool) {
	gain = b.ChannelTolerance
	unknown = gain == 0 && !(b.Calibration != nil && b.Calibration.comparesChannels())
	if unknown {
		gain = usualChannelTolerance
	}
	return gain, unknown
}

// ChannelDoubt is one way in which the inputs may differ.
type ChannelDoubt struct {
	Source string
	Ratio  func(f float64) complex128 // relative change of the ratio at f (Hz) for one standard deviation
}

// ChannelDoubts are the ways in which the two inputs may differ, as [Bench.Systematic] counts them.
func (b Bench) ChannelDoubts() []ChannelDoubt {
	gain, unknown := b.channelDoubt()
	all := []ChannelDoubt{{measured.ChannelSource, func(float64) complex128 { return complex(gain, 0) }}}
	if unknown {
		per := func(f float64) complex128 { return 1 / complex(couplingCorner, f) }
		all = append(all, ChannelDoubt{couplingSource, func(f float64) complex128 { return couplingApart * per(f) }},
			ChannelDoubt{cornerSource, func(f float64) complex128 { return couplingElsewhere * per(f) * per(f) }})
	}
	return all
}

// The two parts of a difference of the AC coupling.
const (
	couplingSource = "channels, AC coupling"
	cornerSource   = "channels, corner of the coupling"
)

// coupling returns what a difference of the AC coupling of the two inputs does. With the corners fd of the
// input in the denominator of the ratio and fn of that in the numerator, the true ratio is
//
//	h (jf + fn)/(jf + fd) = h (1 + (fn - fd)/(jf + fd))                       theory (6.21)
//
// and 1/(jf + fd) is taken to the second term around the usual corner. Source: first-order high passes,
// classical; a table of it with a published circuit simulator.
func (b Bench) coupling(freq []float64, h []complex128) []measured.Systematic {
	n := len(freq)
	apart := measured.Systematic{Source: couplingSource, Fitted: true, Effect: make([]complex128, n), Bend: make([]complex128, n)}
	elsewhere := measured.Systematic{Source: cornerSource, Fitted: true, Effect: make([]complex128, n), Bend: make([]complex128, n)}
	for i, f := range freq {
		slope, bend := b.stretched(f, h[i])
		per := 1 / complex(couplingCorner, f)
		first, second := couplingApart*per, couplingElsewhere*per*per
		apart.Effect[i], apart.Bend[i] = first*slope, first*bend
		elsewhere.Effect[i], elsewhere.Bend[i] = second*slope, second*bend
	}
	return []measured.Systematic{apart, elsewhere}
}

// stretched returns how the impedance moves when the ratio h is to be multiplied by 1 + e: by
// slope e/(1 + bend e), slope in ohm. Every wiring and every correction is such a map of the ratio, so three
// values tell it exactly.
func (b Bench) stretched(f float64, h complex128) (slope, bend complex128) {
	const e = 1e-3
	z := b.Impedance(f, h)
	up := (b.Impedance(f, h*(1+e)) - z) / e
	down := (z - b.Impedance(f, h*(1-e))) / e
	bend = (down - up) / (e * (down + up))
	return up * (1 + bend*e), bend
}
