// Package gates decides whether a recording is of use, says what is wrong with
// it, and turns the ratio of its channels into ohms.
package gates

import (
	"fmt"
	"math"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/contact"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/param"
)

const (
	sameWithin = 1e-3 // distance of the ratio from 1
)

// Misconnected refuses recordings whose ratio of channels no driver can give in
// the wiring of b.
func Misconnected(e *spectra.Heard, b bench.Bench) error {
	var size, re, off []float64
	for _, p := range e.Points {
		if p.Freq > 5000 && len(size) >= spectra.FewestPoints {
			break
		}
		if p.Variance() > dsp.SqAbs(p.Ratio)/9 {
			continue // noise, not a ratio
		}
		size = append(size, math.Sqrt(dsp.SqAbs(p.Ratio)))
		re = append(re, real(p.Ratio))
		off = append(off, math.Sqrt(dsp.SqAbs(p.Ratio-1)))
	}
	if len(size) < min(spectra.FewestPoints, len(e.Points)) || len(size) == 0 {
		return unrelated(e, b.Wiring)
	}
	refuse := func(code, msg, hint string) error {
		return &fault.BenchError{Code: code, File: e.Rec.Source, Msg: msg, Advice: hint}
	}
	slices.Sort(size)
	if err := trace(e, b.Wiring, size); err != nil {
		return err
	}
	slices.Sort(off)
	within := sameWithin
	if b.Wiring == bench.Probes {
		within = sameWithin / 5 // a resistor equal to the series resistor is a fair test
	}
	if off[len(off)*9/10] < within {
		hint := map[bench.Wiring]string{
			bench.ResistorFirst: "connect channel 2 to the node between resistor and driver; if it is there, no driver is connected to the terminals",
			bench.DriverFirst:   "connect channel 2 to the node between driver and resistor; if it is there, the terminals of the driver are shorted",
			bench.Probes:        "connect channel 1 across the driver and channel 2 across the resistor",
		}[b.Wiring]
		return refuse("same-signal", "both channels hear the same signal", hint+"; this is also what a recording of the computer's own output looks like")
	}
	if b.Wiring != bench.Probes && dsp.Median(size) > 1 {
		hint := "the channels seem to be swapped: say so with --swap-channels, or change them over"
		if e.Swap {
			hint = "the channels are probably not swapped: leave out --swap-channels"
		}
		return refuse("channels-swapped", fmt.Sprintf("channel %d is louder than channel %d, which hears the amplifier", e.Number(1), e.Number(0)), hint)
	}
	if dsp.Median(re) < 0 {
		return refuse("polarity", "the two channels have opposite polarity",
			"one input is wired the wrong way round: change its two leads over and record again")
	}
	return nil
}

// Implausible refuses impedances that no driver has.
func Implausible(z measured.Impedance, b bench.Bench) error {
	refuse := func(code, msg, hint string) error {
		return &fault.BenchError{Code: code, File: z.Source, Msg: msg, Advice: hint}
	}
	var negative, judged int
	worst, at := 0.0, 0.0
	for i, v := range z.Z {
		if z.Freq[i] > 5000 {
			break
		}
		judged++
		size := math.Sqrt(dsp.SqAbs(v))
		if re := real(v); re < -5*z.Sigma[i] && re < -0.02*size {
			negative++
			if re/size < worst {
				worst, at = re/size, z.Freq[i]
			}
		}
	}
	if 10*negative > judged && negative > 2 {
		return refuse("negative-resistance", fmt.Sprintf("the impedance has a negative real part at %d of %d frequencies, at %.4g Hz for one", negative, judged, at),
			"no driver does that: check the wiring, the order of the channels, and that both come from the same interface")
	}
	if upsideDown(z) {
		now, other := b.Wiring, "--swap-channels"
		switch {
		case now == bench.ResistorFirst:
			other = "--wiring driver-first"
		case now == bench.DriverFirst:
			other = "--wiring resistor-first"
		case neverBelow(z, 0.95*b.Resistor): // R + R^2/Z, and not R^2/Z
			other = "--wiring resistor-first"
		case b.SwapChannels:
			other = "no --swap-channels"
		}
		return refuse("wrong-wiring", fmt.Sprintf("the curve is upside down for the wiring %v: a dip where the resonance should rise", now),
			"resistor, driver or channels are probably not where the bench says: try "+other)
	}
	return nil
}

// upsideDown says whether z looks like R^2 over the impedance of a driver: a
// deep dip below 500 Hz instead of a peak, and capacitive at its upper end.
func upsideDown(z measured.Impedance) bool {
	var size []float64
	for i, f := range z.Freq {
		if f > 8 && f < 500 {
			size = append(size, math.Sqrt(dsp.SqAbs(z.Z[i])))
		}
	}
	if len(size) < 20 {
		return false
	}
	peak := prominence(size)
	for i := range size {
		size[i] = 1 / size[i]
	}
	dip := prominence(size)
	var top float64
	for i := z.Len() * 7 / 8; i < z.Len(); i++ {
		top += imag(z.Z[i]) / math.Sqrt(dsp.SqAbs(z.Z[i]))
	}
	return dip > 1.5 && dip > 1.5*peak && top < 0
}

// neverBelow says whether |z| stays above the limit (ohm).
func neverBelow(z measured.Impedance, limit float64) bool {
	return !slices.ContainsFunc(z.Z, func(v complex128) bool { return dsp.SqAbs(v) < limit*limit })
}

// prominence returns by what factor the highest point of x stands above the
// lowest points on its two sides.
func prominence(x []float64) float64 {
	n := len(x)
	right := make([]float64, n+1) // lowest from i on
	right[n] = math.Inf(1)
	for i := n - 1; i >= 0; i-- {
		right[i] = min(right[i+1], x[i])
	}
	best, left := 0.0, math.Inf(1)
	for i, v := range x {
		if i > 0 && i < n-1 {
			best = max(best, min(v/left, v/right[i+1]))
		}
		left = min(left, v)
	}
	return best
}

const (
	lowLevel     = 0.01  // peak, fraction of full scale
	fewSteps     = 64    // of the converter up to the peak: less than that is 36 dB of signal over steps
	highVolts    = 1.0   // rms at the driver: common practice for small-signal work
	lowVolts     = 0.005 // rms at the driver: university laboratory notes
	noisyAbove   = 0.01  // median noise relative to the impedance
	offsetAbove  = 0.05  // constant part, fraction of full scale
	distortAbove = 0.03  // distortion relative to the signal
	belowRe      = 0.8   // of the real part at the low end
)

// Warnings tells what should be known about a recording that is usable.
func Warnings(e *spectra.Heard, z measured.Impedance, b bench.Bench) []param.Warning {
	var all []param.Warning
	add := func(code, msg, hint string) { all = append(all, param.Warning{Code: code, Message: msg, Hint: hint}) }
	for c, v := range e.Vitals {
		if n := v.Clipped(); n > 0 {
			add("clipped-slightly", e.ClipMessage(c, n), "turn that input down a little and record again")
		}
		if math.Abs(v.Mean()) > offsetAbove {
			add("dc-offset", fmt.Sprintf("channel %d has a constant offset of %.0f %% of full scale", e.Number(c), 100*v.Mean()),
				"no harm to the result; if it comes from the amplifier, direct current pushes the cone out of its rest position")
		}
	}
	if p := max(e.Vitals[0].Peak(), e.Vitals[1].Peak()); p < lowLevel {
		add("level-low", fmt.Sprintf("the recording is very quiet, with peaks at %.0f dB below full scale", -20*math.Log10(p)),
			"turn up the inputs, not the amplifier, until the peaks are at 6 to 20 dB below full scale")
	} else {
		for c, v := range e.Vitals {
			if n := v.Steps(); n < fewSteps {
				add("level-low", fmt.Sprintf("channel %d is so quiet that its peaks are only %.0f steps of the recorder high", e.Number(c), n),
					"turn up that input, or record with 24 bit")
			}
		}
	}
	all = append(all, volts(e, b)...)
	if e.Hum.Mains >= 0 {
		add("hum", fmt.Sprintf("there is mains hum at %g Hz and its harmonics; frequencies near it were left out or weigh less", spectra.MainsHz[e.Hum.Mains]),
			"keep the leads away from mains transformers, and use one socket for all devices")
	}
	if n := MedianNoise(z); n > noisyAbove {
		add("noisy", fmt.Sprintf("the noise is %.1f %% of the impedance", 100*n),
			"turn up the inputs, play a longer signal, or use a series resistor nearer to the driver's impedance")
	}
	if at, ratio, ok := levelStep(e); ok {
		add("level-changes", fmt.Sprintf("%.1f s from the start the level changes by a factor of %.2f", at, ratio),
			"leave all controls alone while recording; what depends on level, such as the suspension, is now a mixture")
	}
	if msg, ok := contact.UnsteadyContact(e); ok {
		add("unsteady-contact", msg,
			"press the leads firmly to the terminals and record again; if it stays, listen for a coil that scrapes")
	}
	if d := e.Distortion; d != nil && d.Total() > distortAbove && d.Total() > 3*d.Noise {
		add("distortion", fmt.Sprintf("distortion is %.1f %% of the signal (even %.1f %%, odd %.1f %%): the level is too high for small-signal values", 100*d.Total(), 100*d.Even, 100*d.Odd),
			"turn the amplifier down; if distortion stays, look for a rubbing coil or a clipping amplifier")
	}
	if f, part, ok := fallsBelow(z); ok {
		add("below-re", fmt.Sprintf("at %.4g Hz the real part of the impedance is only %.0f %% of what it is at the low end", f, 100*part),
			"no driver does that: look for a phase difference between the inputs, a poor contact, or a wrong resistor")
	}
	if c := b.Calibration; c != nil {
		lo, hi := c.Band()
		if z.Freq[0] < 0.9*lo || z.Freq[z.Len()-1] > 1.1*hi {
			add("calibration-band", fmt.Sprintf("the calibration covers %.3g to %.5g Hz only; beyond, its last value is used", lo, hi),
				"calibrate with the signal that you measure with")
		}
	}
	return all
}

// MedianNoise returns the median of the noise relative to the impedance, from
// 10 to 500 Hz.
func MedianNoise(z measured.Impedance) float64 {
	var rel []float64
	for i, f := range z.Freq {
		if f >= 10 && f <= 500 {
			rel = append(rel, z.Sigma[i]/math.Sqrt(dsp.SqAbs(z.Z[i])))
		}
	}
	if len(rel) == 0 {
		return 0
	}
	return dsp.Median(rel)
}

// fallsBelow looks above the resonance for a real part that is well below what
// it is at the low end of the sweep, where that lies well below resonance.
func fallsBelow(z measured.Impedance) (f, part float64, ok bool) {
	peak := 0
	for i := range z.Z {
		if z.Freq[i] < 500 && dsp.SqAbs(z.Z[i]) > dsp.SqAbs(z.Z[peak]) {
			peak = i
		}
	}
	if z.Len() < 20 || z.Freq[0] > z.Freq[peak]/3 {
		return 0, 0, false
	}
	base := dsp.Median([]float64{real(z.Z[0]), real(z.Z[1]), real(z.Z[2])})
	part = belowRe
	for i := peak; i < z.Len(); i++ {
		if p := (real(z.Z[i]) + 5*z.Sigma[i]) / base; p < part {
			f, part, ok = z.Freq[i], p, true
		}
	}
	return f, part, ok
}
