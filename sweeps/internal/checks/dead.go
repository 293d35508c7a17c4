package checks

import (
	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

// Silence is the rms, as a fraction of full scale, below which a channel holds nothing: a
// tenth of a step of 16 bits.
const Silence = 3e-6

const (
	deadBelow  = 3e-5 // rms of a channel relative to the other
	loudNoise  = 3e-3 // rms, fraction of full scale: no input left alone makes as much noise
	farBelow   = 0.05 // rms of a channel relative to the other: too far for two signals at one setting
	leakBelow  = 3e-3 // one channel relative to the other: what leaks between inputs is less (common practice)
	flatWithin = 1.1  // ratio of sizes within which a curve is that of no driver
)

// Silent refuses recordings with nothing on a channel.
func Silent(e *spectra.Result, w bench.Wiring) error {
	a, b := e.Stats[0].Rms(), e.Stats[1].Rms()
	if a < Silence && b < Silence {
		return notice.New("silence", nil).In(e.Rec.Source)
	}
	for c, pair := range [][2]float64{{a, b}, {b, a}} {
		if pair[0] < Silence || pair[0] < deadBelow*pair[1] {
			return notice.New("channel-silent", notice.Facts{"channel": e.Number(c), "input": c + 1, "wiring": w.String()}).In(e.Rec.Source)
		}
	}
	return nil
}

// Unrelated is the error for channels that have nothing in common: one of them
// records only its own noise, or both record something else.
func Unrelated(e *spectra.Result, w bench.Wiring) error {
	for c := range e.Stats {
		if noSignalOn(e, c) {
			return notice.New("channel-noise", notice.Facts{"channel": e.Number(c), "other": e.Number(1 - c), "input": c + 1, "wiring": w.String()}).In(e.Rec.Source)
		}
	}
	return NoSignal(e.Rec.Source)
}

// trace refuses recordings of which one channel records the same small part of the
// other at all frequencies: not a driver, but what leaks from one input into the
// other. Size is that of the ratio, in order.
func trace(e *spectra.Result, w bench.Wiring, size []float64) error {
	lo, hi := size[len(size)/20], size[len(size)*19/20]
	if hi > flatWithin*lo {
		return nil
	}
	for c, part := range [2]float64{1 / lo, hi} {
		if part < leakBelow {
			return notice.New("channel-trace", notice.Facts{"channel": e.Number(c), "other": e.Number(1 - c), "share": part, "input": c + 1, "wiring": w.String()}).In(e.Rec.Source)
		}
	}
	return nil
}

// NoSignal is the error for a recording without anything in common between its
// channels.
func NoSignal(source string) error { return notice.New("no-signal", nil).In(source) }

// noSignalOn says whether channel c, which has nothing in common with the other, is
// the one that records no signal. The noise of an input goes on unchanged while
// the signal begins and ends; where the recording holds no pause that would
// show it, the levels tell.
func noSignalOn(e *spectra.Result, c int) bool {
	own, other := e.Stats[c], e.Stats[1-c]
	if own.Rms() >= other.Rms() || !own.Steady() {
		return false
	}
	return !other.Steady() || other.Rms() > loudNoise && own.Rms() < farBelow*other.Rms()
}
