package sweeps

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"conewright/ts"
)

// The gates: what can be wrong with a recording, each with its own code. Those
// that return an error stand for recordings that are of no use.

// rateUsable refuses sample rates that no recorder of a bench has.
func rateUsable(rec *Recording) error {
	if rec.Rate >= 4000 && rec.Rate <= 800000 {
		return nil
	}
	return &BenchError{Code: "sample-rate", File: rec.Source, Msg: fmt.Sprintf("the sample rate is %g Hz", rec.Rate),
		Advice: "record at 44100, 48000 or 96000 Hz; if you did, the header of the file is damaged"}
}

const (
	clipUnfit  = 3e-4 // share of clipped samples above which a recording is of no use
	sameWithin = 1e-3 // distance of the ratio from 1
)

// clipped refuses recordings of which too much is clipped.
func (e *examination) clipped() error {
	for c, v := range e.vitals {
		if n := v.clipped(); float64(n) > clipUnfit*float64(v.frames) {
			return &BenchError{Code: "clipped", File: e.rec.Source, Msg: e.clipMessage(c, n),
				Advice: "turn down the gain of that input, or the amplifier, until the peaks stay below full scale, and record again"}
		}
	}
	return nil
}

// clipMessage says how much of channel c is clipped and where it begins.
func (e *examination) clipMessage(c, n int) string {
	v := e.vitals[c]
	from := -1
	frame := 0
	src := blocks{rec: e.rec, swap: e.swap}
	err := src.each(func(ch [2][]float64) {
		for i, s := range ch[c] {
			if from < 0 && math.Abs(s) > 0.9*v.peak() && v.sticks(s) {
				from = frame + i
			}
		}
		frame += len(ch[c])
	})
	where := ""
	if err == nil && from >= 0 {
		where = fmt.Sprintf(", first %.2f s from the start", float64(from)/e.rec.Rate)
	}
	return fmt.Sprintf("channel %d is clipped at %.0f %% of full scale in %d samples (%.2g %%)%s",
		e.number(c), 100*v.peak(), n, 100*float64(n)/float64(v.frames), where)
}

// misconnected refuses recordings whose ratio of channels no driver can give in
// the wiring of b.
func (e *examination) misconnected(b Bench) error {
	var size, re, off []float64
	for _, p := range e.points {
		if p.freq > 5000 && len(size) >= fewestPoints {
			break
		}
		if p.variance() > sqAbs(p.ratio)/9 {
			continue // noise, not a ratio
		}
		size = append(size, math.Sqrt(sqAbs(p.ratio)))
		re = append(re, real(p.ratio))
		off = append(off, math.Sqrt(sqAbs(p.ratio-1)))
	}
	if len(size) < min(fewestPoints, len(e.points)) || len(size) == 0 {
		return e.unrelated(b.Wiring)
	}
	refuse := func(code, msg, hint string) error {
		return &BenchError{Code: code, File: e.rec.Source, Msg: msg, Advice: hint}
	}
	slices.Sort(size)
	if err := e.trace(b.Wiring, size); err != nil {
		return err
	}
	slices.Sort(off)
	within := sameWithin
	if b.Wiring == Probes {
		within = sameWithin / 5 // a resistor equal to the series resistor is a fair test
	}
	if off[len(off)*9/10] < within {
		hint := map[Wiring]string{
			ResistorFirst: "connect channel 2 to the node between resistor and driver; if it is there, no driver is connected to the terminals",
			DriverFirst:   "connect channel 2 to the node between driver and resistor; if it is there, the terminals of the driver are shorted",
			Probes:        "connect channel 1 across the driver and channel 2 across the resistor",
		}[b.Wiring]
		return refuse("same-signal", "both channels hear the same signal", hint+"; this is also what a recording of the computer's own output looks like")
	}
	if b.Wiring != Probes && median(size) > 1 {
		hint := "the channels seem to be swapped: say so with --swap-channels, or change them over"
		if e.swap {
			hint = "the channels are probably not swapped: leave out --swap-channels"
		}
		return refuse("channels-swapped", fmt.Sprintf("channel %d is louder than channel %d, which hears the amplifier", e.number(1), e.number(0)), hint)
	}
	if median(re) < 0 {
		return refuse("polarity", "the two channels have opposite polarity",
			"one input is wired the wrong way round: change its two leads over and record again")
	}
	return nil
}

// implausible refuses impedances that no driver has.
func implausible(z ts.Impedance, b Bench) error {
	refuse := func(code, msg, hint string) error {
		return &BenchError{Code: code, File: z.Source, Msg: msg, Advice: hint}
	}
	var negative, judged int
	worst, at := 0.0, 0.0
	for i, v := range z.Z {
		if z.Freq[i] > 5000 {
			break
		}
		judged++
		size := math.Sqrt(sqAbs(v))
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
		case now == ResistorFirst:
			other = "--wiring driver-first"
		case now == DriverFirst:
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
func upsideDown(z ts.Impedance) bool {
	var size []float64
	for i, f := range z.Freq {
		if f > 8 && f < 500 {
			size = append(size, math.Sqrt(sqAbs(z.Z[i])))
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
		top += imag(z.Z[i]) / math.Sqrt(sqAbs(z.Z[i]))
	}
	return dip > 1.5 && dip > 1.5*peak && top < 0
}

// neverBelow says whether |z| stays above the limit (ohm).
func neverBelow(z ts.Impedance, limit float64) bool {
	return !slices.ContainsFunc(z.Z, func(v complex128) bool { return sqAbs(v) < limit*limit })
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

// warnings tells what should be known about a recording that is usable.
func (e *examination) warnings(z ts.Impedance, b Bench) []ts.Warning {
	var all []ts.Warning
	add := func(code, msg, hint string) { all = append(all, ts.Warning{Code: code, Message: msg, Hint: hint}) }
	for c, v := range e.vitals {
		if n := v.clipped(); n > 0 {
			add("clipped-slightly", e.clipMessage(c, n), "turn that input down a little and record again")
		}
		if math.Abs(v.mean()) > offsetAbove {
			add("dc-offset", fmt.Sprintf("channel %d has a constant offset of %.0f %% of full scale", e.number(c), 100*v.mean()),
				"no harm to the result; if it comes from the amplifier, direct current pushes the cone out of its rest position")
		}
	}
	if p := max(e.vitals[0].peak(), e.vitals[1].peak()); p < lowLevel {
		add("level-low", fmt.Sprintf("the recording is very quiet, with peaks at %.0f dB below full scale", -20*math.Log10(p)),
			"turn up the inputs, not the amplifier, until the peaks are at 6 to 20 dB below full scale")
	} else {
		for c, v := range e.vitals {
			if n := v.steps(); n < fewSteps {
				add("level-low", fmt.Sprintf("channel %d is so quiet that its peaks are only %.0f steps of the recorder high", e.number(c), n),
					"turn up that input, or record with 24 bit")
			}
		}
	}
	all = append(all, e.volts(b)...)
	if e.hum.mains >= 0 {
		add("hum", fmt.Sprintf("there is mains hum at %g Hz and its harmonics; frequencies near it were left out or weigh less", mainsHz[e.hum.mains]),
			"keep the leads away from mains transformers, and use one socket for all devices")
	}
	if n := medianNoise(z); n > noisyAbove {
		add("noisy", fmt.Sprintf("the noise is %.1f %% of the impedance", 100*n),
			"turn up the inputs, play a longer signal, or use a series resistor nearer to the driver's impedance")
	}
	if at, ratio, ok := e.levelStep(); ok {
		add("level-changes", fmt.Sprintf("%.1f s from the start the level changes by a factor of %.2f", at, ratio),
			"leave all controls alone while recording; what depends on level, such as the suspension, is now a mixture")
	}
	if msg, ok := e.unsteadyContact(); ok {
		add("unsteady-contact", msg,
			"press the leads firmly to the terminals and record again; if it stays, listen for a coil that scrapes")
	}
	if d := e.distortion; d != nil && d.Total() > distortAbove && d.Total() > 3*d.Noise {
		add("distortion", fmt.Sprintf("distortion is %.1f %% of the signal (even %.1f %%, odd %.1f %%): the level is too high for small-signal values", 100*d.Total(), 100*d.Even, 100*d.Odd),
			"turn the amplifier down; if distortion stays, look for a rubbing coil or a clipping amplifier")
	}
	if f, part, ok := fallsBelow(z); ok {
		add("below-re", fmt.Sprintf("at %.4g Hz the real part of the impedance is only %.0f %% of what it is at the low end", f, 100*part),
			"no driver does that: look for a phase difference between the inputs, a poor contact, or a wrong resistor")
	}
	if c := b.Calibration; c != nil {
		lo, hi := c.band()
		if z.Freq[0] < 0.9*lo || z.Freq[z.Len()-1] > 1.1*hi {
			add("calibration-band", fmt.Sprintf("the calibration covers %.3g to %.5g Hz only; beyond, its last value is used", lo, hi),
				"calibrate with the signal that you measure with")
		}
	}
	return all
}

// medianNoise returns the median of the noise relative to the impedance, from
// 10 to 500 Hz.
func medianNoise(z ts.Impedance) float64 {
	var rel []float64
	for i, f := range z.Freq {
		if f >= 10 && f <= 500 {
			rel = append(rel, z.Sigma[i]/math.Sqrt(sqAbs(z.Z[i])))
		}
	}
	if len(rel) == 0 {
		return 0
	}
	return median(rel)
}

// fallsBelow looks above the resonance for a real part that is well below what
// it is at the low end of the sweep, where that lies well below resonance.
func fallsBelow(z ts.Impedance) (f, part float64, ok bool) {
	peak := 0
	for i := range z.Z {
		if z.Freq[i] < 500 && sqAbs(z.Z[i]) > sqAbs(z.Z[peak]) {
			peak = i
		}
	}
	if z.Len() < 20 || z.Freq[0] > z.Freq[peak]/3 {
		return 0, 0, false
	}
	base := median([]float64{real(z.Z[0]), real(z.Z[1]), real(z.Z[2])})
	part = belowRe
	for i := peak; i < z.Len(); i++ {
		if p := (real(z.Z[i]) + 5*z.Sigma[i]) / base; p < part {
			f, part, ok = z.Freq[i], p, true
		}
	}
	return f, part, ok
}

// someHz lists frequencies for a sentence.
func someHz(f []float64) string {
	var words []string
	for _, v := range f[:min(3, len(f))] {
		words = append(words, fmt.Sprintf("%.4g", v))
	}
	text := strings.Join(words, ", ") + " Hz"
	if len(f) > 3 {
		text += fmt.Sprintf(" and %d more", len(f)-3)
	}
	return text
}
