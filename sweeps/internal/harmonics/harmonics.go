// Package harmonics takes the harmonics of the current out of the recording of an exponential sweep.
package harmonics

import (
	"math"
	"math/cmplx"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/floats"
)

const (
	highestOrder = 10
	perOctave    = 24
	fromStart    = 1.5 // times the frequency at which the sweep begins: S is not that of a whole sweep below
	topPart      = 0.95
	fewestFreqs  = 12
)

// Of returns the harmonics of a sweep that was recorded, nil where the signal was another one. What the driver adds is
// what channel 2 has beyond the ratio h of a linear driver times channel 1: the amplifier's own harmonics pass through
// the driver like its tone and drop out. Theory (6.19), (6.20).
// The notice says that an input clips softly, nil where none does.
func Of(e *spectra.Result, b bench.Bench) (*measured.Harmonics, *notice.Notice) {
	x, y, rate := e.Middle[0].Samples, e.Middle[1].Samples, e.Middle[0].Rate
	n := min(len(x), len(y))
	if n == 0 || len(e.Points) < spectra.FewestPoints {
		return nil, nil
	}
	source := x[:n]
	if b.Wiring == bench.Probes { // the amplifier drives both
		source = floats.AddTo(make([]float64, n), x[:n], y[:n])
	}
	s, ok := find(source, rate)
	if !ok {
		return nil, nil
	}
	h := newCurve(e.Points)
	top := topPart * min(spectra.Usable*rate, h.hi())
	var freq []float64
	for f := max(fromStart*s.lo, h.lo()); f < top/2; f *= math.Exp2(1.0 / perOctave) {
		freq = append(freq, f)
	}
	if len(freq) < fewestFreqs {
		return nil, nil
	}
	n = min(n, int(s.quiet(top)*rate))
	own, first := s.apart(x[:n], y[:n], rate, h)
	floor := own.floor(float64(n)/rate, top)
	circuit := circuit{b, h}
	out := &measured.Harmonics{Freq: freq, FullScale: b.FullScale}
	fundamental := first.cut(s.windowOf(1))
	turn := make([]complex128, len(freq)) // of the voltage at the terminals, taken back
	for i, f := range freq {
		u := circuit.terminal(f, fundamental.at(f))
		out.Voltage = append(out.Voltage, cmplx.Abs(u))
		turn[i] = cmplx.Conj(u) / complex(cmplx.Abs(u), 0)
	}
	var third response
	for order := 2; order <= highestOrder; order++ {
		w := s.windowOf(order)
		c := w.cutter(own.rate)
		driver, amplifier := c.cut(own, w.at), c.cut(first, w.at)
		if order == 3 {
			third = driver
		}
		o := measured.Order{N: order}
		for i, f := range freq {
			at := float64(order) * f
			if at >= top {
				break
			}
			back := cmplx.Pow(turn[i], complex(float64(order), 0))
			gain := circuit.own(at)
			o.Current = append(o.Current, back*gain*driver.at(at))
			o.Noise = append(o.Noise, cmplx.Abs(gain)*math.Sqrt(floor.at(at)*driver.power/2))
			o.Amplifier = append(o.Amplifier, cmplx.Abs(circuit.terminal(at, amplifier.at(at))/b.Impedance(at, h.at(at))))
		}
		out.Orders = append(out.Orders, o)
	}
	out.Beyond, out.BeyondNoise = beyond(own, floor, circuit, freq, top)
	return out, softClipping(e, h, freq[:len(out.Orders[1].Current)], fundamental, third)
}

// beyond returns what the orders above the last have together, with its noise. They are not told apart: each window
// holds several, and their powers add up.
func beyond(own separated, floor noise, c circuit, freq []float64, top float64) (size, std []float64) {
	edges := []float64{highestOrder + 0.5, 14, 19, 26}
	for k := range edges[1:] {
		from, to := -own.l*math.Log(edges[k+1]), -own.l*math.Log(edges[k])
		r := own.cut(window{at: (from + to) / 2, before: (to - from) / 2, after: (to - from) / 2})
		middle := math.Sqrt(edges[k] * edges[k+1])
		for i, f := range freq {
			at := middle * f
			if at >= top {
				break
			}
			if i == len(size) {
				size, std = append(size, 0), append(std, 0)
			}
			gain, quiet := dsp.SqAbs(c.own(at)), floor.at(at)*r.power
			size[i] += gain * (dsp.SqAbs(r.at(at)) - quiet)
			std[i] += gain * gain * quiet * quiet
		}
	}
	for i := range size {
		std[i] = math.Sqrt(math.Sqrt(std[i]))
		size[i] = math.Sqrt(max(0, size[i]))
	}
	return size, std
}

// circuit is what the bench says of ratios.
type circuit struct {
	bench bench.Bench
	ratio curve
}

// terminal returns the voltage (V) at the driver's terminals where channel 1 has x at f (Hz).
func (c circuit) terminal(f float64, x complex128) complex128 {
	h := c.bench.Corrected(f, c.ratio.at(f))
	switch c.bench.Wiring {
	case bench.ResistorFirst:
		x *= h
	case bench.DriverFirst:
		x *= 1 - h
	}
	z := c.bench.Impedance(f, c.ratio.at(f)) // of the driver alone
	return x * c.volts() * z / (z + complex(c.bench.Leads, 0))
}

// own returns what makes A of current at the driver of what channel 2 has beyond the ratio: with the ratio h and the
// resistor R
//
//	resistor-first  -1/(R h)      driver-first  1/(R (1 - h))      probes  1/R
//
// The current is that with no voltage at the terminals. Derived from i = u/Z + own.
func (c circuit) own(f float64) complex128 {
	raw := c.ratio.at(f)
	h := c.bench.Corrected(f, raw)
	gain := c.volts() / complex(c.bench.Resistor, 0) * h / raw
	switch c.bench.Wiring {
	case bench.ResistorFirst:
		gain /= -h
	case bench.DriverFirst:
		gain /= 1 - h
	}
	z := c.bench.Impedance(f, raw)
	return gain * (z + complex(c.bench.Leads, 0)) / z
}

// volts is full scale, one volt where it is not known.
func (c circuit) volts() complex128 {
	if c.bench.FullScale == 0 {
		return 1
	}
	return complex(c.bench.FullScale, 0)
}
