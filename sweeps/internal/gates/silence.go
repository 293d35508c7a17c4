package gates

import (
	"fmt"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/spectra"
)

const (
	Silence = 3e-6 // rms, fraction of full scale: a tenth of a step of 16 bits
)

const (
	deadBelow = 3e-5 // rms of a channel relative to the other
)

const (
	loudNoise = 3e-3 // rms, fraction of full scale: no input left alone makes as much noise
)

const (
	farBelow = 0.05 // rms of a channel relative to the other: too far for two signals at one setting
)

const (
	leakBelow = 3e-3 // one channel relative to the other: what leaks between inputs is less (common practice)
)

const (
	flatWithin = 1.1 // ratio of sizes within which a curve is that of no driver
)

// Silent refuses recordings with nothing on a channel.
func Silent(e *spectra.Heard, w bench.Wiring) error {
	a, b := e.Vitals[0].Rms(), e.Vitals[1].Rms()
	if a < Silence && b < Silence {
		return &fault.BenchError{Code: "silence", File: e.Rec.Source, Msg: "both channels are silent",
			Advice: "check that the recorder listened to the inputs that are connected, and that the signal was playing"}
	}
	for c, pair := range [][2]float64{{a, b}, {b, a}} {
		if pair[0] < Silence || pair[0] < deadBelow*pair[1] {
			return dead(e, w, c, fmt.Sprintf("channel %d is silent", e.Number(c)))
		}
	}
	return nil
}

// unrelated is the error for channels that have nothing in common: one of them
// hears only its own noise, or both hear something else.
func unrelated(e *spectra.Heard, w bench.Wiring) error {
	for c := range e.Vitals {
		if deaf(e, c) {
			return dead(e, w, c, fmt.Sprintf("channel %d hears only noise, and nothing of what channel %d hears", e.Number(c), e.Number(1-c)))
		}
	}
	return NoSignal(e.Rec.Source)
}

// trace refuses recordings of which one channel hears the same small part of the
// other at all frequencies: not a driver, but what leaks from one input into the
// other. Size is that of the ratio, in order.
func trace(e *spectra.Heard, w bench.Wiring, size []float64) error {
	lo, hi := size[len(size)/20], size[len(size)*19/20]
	if hi > flatWithin*lo {
		return nil
	}
	for c, part := range [2]float64{1 / lo, hi} {
		if part < leakBelow {
			return dead(e, w, c, fmt.Sprintf("channel %d hears only a trace of what channel %d hears, %.2g %% of it", e.Number(c), e.Number(1-c), 100*part))
		}
	}
	return nil
}

// dead is the error for channel c without a signal of its own.
func dead(e *spectra.Heard, w bench.Wiring, c int, msg string) error {
	hint := "check plug, cable and gain of that input, and that the recorder listens to the input you connected"
	if c == 1 {
		hint += map[bench.Wiring]string{
			bench.ResistorFirst: "; shorted terminals of the driver would do the same",
			bench.DriverFirst:   "; a driver that is open or not connected would do the same",
			bench.Probes:        "; a driver that is open or not connected would do the same",
		}[w]
	}
	return &fault.BenchError{Code: "dead-channel", File: e.Rec.Source, Msg: msg, Advice: hint}
}

// deaf says whether channel c, which has nothing in common with the other, is
// the one that hears no signal. The noise of an input goes on unchanged while
// the signal begins and ends; where the recording holds no pause that would
// show it, the levels tell.
func deaf(e *spectra.Heard, c int) bool {
	own, other := e.Vitals[c], e.Vitals[1-c]
	if own.Rms() >= other.Rms() || !own.Steady() {
		return false
	}
	return !other.Steady() || other.Rms() > loudNoise && own.Rms() < farBelow*other.Rms()
}
