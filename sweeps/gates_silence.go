package sweeps

import (
	"fmt"
	"slices"
)

const (
	silence    = 3e-6 // rms, fraction of full scale: a tenth of a step of 16 bits
	deadBelow  = 3e-5 // rms of a channel relative to the other
	loudNoise  = 3e-3 // rms, fraction of full scale: no input left alone makes as much noise
	farBelow   = 0.05 // rms of a channel relative to the other: too far for two signals at one setting
	steadyDip  = 0.1  // power of the quietest stretches relative to the median
	dipShare   = 0.01 // share of a recording that is taken as its quietest stretches
	leakBelow  = 3e-3 // one channel relative to the other: what leaks between inputs is less (common practice)
	flatWithin = 1.1  // ratio of sizes within which a curve is that of no driver
)

// silent refuses recordings with nothing on a channel.
func (e *examination) silent(w Wiring) error {
	a, b := e.vitals[0].rms(), e.vitals[1].rms()
	if a < silence && b < silence {
		return &BenchError{Code: "silence", File: e.rec.Source, Msg: "both channels are silent",
			Advice: "check that the recorder listened to the inputs that are connected, and that the signal was playing"}
	}
	for c, pair := range [][2]float64{{a, b}, {b, a}} {
		if pair[0] < silence || pair[0] < deadBelow*pair[1] {
			return e.dead(w, c, fmt.Sprintf("channel %d is silent", e.number(c)))
		}
	}
	return nil
}

// unrelated is the error for channels that have nothing in common: one of them
// hears only its own noise, or both hear something else.
func (e *examination) unrelated(w Wiring) error {
	for c := range e.vitals {
		if e.deaf(c) {
			return e.dead(w, c, fmt.Sprintf("channel %d hears only noise, and nothing of what channel %d hears", e.number(c), e.number(1-c)))
		}
	}
	return noSignal(e.rec.Source)
}

// trace refuses recordings of which one channel hears the same small part of the
// other at all frequencies: not a driver, but what leaks from one input into the
// other. Size is that of the ratio, in order.
func (e *examination) trace(w Wiring, size []float64) error {
	lo, hi := size[len(size)/20], size[len(size)*19/20]
	if hi > flatWithin*lo {
		return nil
	}
	for c, part := range [2]float64{1 / lo, hi} {
		if part < leakBelow {
			return e.dead(w, c, fmt.Sprintf("channel %d hears only a trace of what channel %d hears, %.2g %% of it", e.number(c), e.number(1-c), 100*part))
		}
	}
	return nil
}

// dead is the error for channel c without a signal of its own.
func (e *examination) dead(w Wiring, c int, msg string) error {
	hint := "check plug, cable and gain of that input, and that the recorder listens to the input you connected"
	if c == 1 {
		hint += map[Wiring]string{
			ResistorFirst: "; shorted terminals of the driver would do the same",
			DriverFirst:   "; a driver that is open or not connected would do the same",
			Probes:        "; a driver that is open or not connected would do the same",
		}[w]
	}
	return &BenchError{Code: "dead-channel", File: e.rec.Source, Msg: msg, Advice: hint}
}

// deaf says whether channel c, which has nothing in common with the other, is
// the one that hears no signal. The noise of an input goes on unchanged while
// the signal begins and ends; where the recording holds no pause that would
// show it, the levels tell.
func (e *examination) deaf(c int) bool {
	own, other := e.vitals[c], e.vitals[1-c]
	if own.rms() >= other.rms() || !own.steady() {
		return false
	}
	return !other.steady() || other.rms() > loudNoise && own.rms() < farBelow*other.rms()
}

// steady says whether a channel is never much quieter than usual, as noise is,
// but no signal with a pause before or after it.
func (v *vitals) steady() bool {
	power := v.blocks()
	if len(power) == 0 {
		return false
	}
	slices.Sort(power)
	return power[int(dipShare*float64(len(power)))] > steadyDip*power[len(power)/2]
}
