package sweeps

import (
	"fmt"
	"slices"
)

const (
	silence   = 3e-6 // rms, fraction of full scale: a tenth of a step of 16 bits
	deadBelow = 3e-5 // rms of a channel relative to the other
	loudNoise = 3e-3 // rms, fraction of full scale: no input left alone makes as much noise
	farBelow  = 0.05 // rms of a channel relative to the other: too far for two signals at one setting
	steadyDip = 0.1  // power of the quietest stretches relative to the median
	dipShare  = 0.01 // share of a recording that is taken as its quietest stretches
)

const deadHint = "check plug, cable and gain of that input, and that the recorder listens to the input you connected"

// silent refuses recordings with nothing on a channel.
func (e *examination) silent() error {
	a, b := e.vitals[0].rms(), e.vitals[1].rms()
	if a < silence && b < silence {
		return &BenchError{Code: "silence", File: e.rec.Source, Msg: "both channels are silent",
			Advice: "check that the recorder listened to the inputs that are connected, and that the signal was playing"}
	}
	for c, pair := range [][2]float64{{a, b}, {b, a}} {
		if pair[0] < silence || pair[0] < deadBelow*pair[1] {
			return e.dead(c, fmt.Sprintf("channel %d is silent", e.number(c)))
		}
	}
	return nil
}

// unrelated is the error for channels that have nothing in common: one of them
// hears only its own noise, or both hear something else.
func (e *examination) unrelated() error {
	for c := range e.vitals {
		if e.deaf(c) {
			return e.dead(c, fmt.Sprintf("channel %d hears only noise, and nothing of what channel %d hears", e.number(c), e.number(1-c)))
		}
	}
	return noSignal(e.rec.Source)
}

func (e *examination) dead(c int, msg string) error {
	return &BenchError{Code: "dead-channel", File: e.rec.Source, Msg: msg, Advice: deadHint}
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
