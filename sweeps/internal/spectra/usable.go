package spectra

import (
	"fmt"
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
)

// The gates: what can be wrong with a recording, each with its own code. Those
// that return an error stand for recordings that are of no use.

// rateUsable refuses sample rates that no recorder of a bench has.
func rateUsable(rec *bench.Recording) error {
	if rec.Rate >= 4000 && rec.Rate <= 800000 {
		return nil
	}
	return &fault.BenchError{Code: "sample-rate", File: rec.Source, Msg: fmt.Sprintf("the sample rate is %g Hz", rec.Rate),
		Advice: "record at 44100, 48000 or 96000 Hz; if you did, the header of the file is damaged"}
}

const (
	clipUnfit = 3e-4 // share of clipped samples above which a recording is of no use
)

// clipped refuses recordings of which too much is clipped.
func (e *Heard) clipped() error {
	for c, v := range e.Vitals {
		if n := v.Clipped(); float64(n) > clipUnfit*float64(v.frames) {
			return &fault.BenchError{Code: "clipped", File: e.Rec.Source, Msg: e.ClipMessage(c, n),
				Advice: "turn down the gain of that input, or the amplifier, until the peaks stay below full scale, and record again"}
		}
	}
	return nil
}

// ClipMessage says how much of channel c is clipped and where it begins.
func (e *Heard) ClipMessage(c, n int) string {
	v := e.Vitals[c]
	from := -1
	frame := 0
	src := Blocks{Rec: e.Rec, Swap: e.Swap}
	err := src.each(func(ch [2][]float64) {
		for i, s := range ch[c] {
			if from < 0 && math.Abs(s) > 0.9*v.Peak() && v.sticks(s) {
				from = frame + i
			}
		}
		frame += len(ch[c])
	})
	where := ""
	if err == nil && from >= 0 {
		where = fmt.Sprintf(", first %.2f s from the start", float64(from)/e.Rec.Rate)
	}
	return fmt.Sprintf("channel %d is clipped at %.0f %% of full scale in %d samples (%.2g %%)%s",
		e.Number(c), 100*v.Peak(), n, 100*float64(n)/float64(v.frames), where)
}
