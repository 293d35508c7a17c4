package spectra

import (
	"math"

	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// rateUsable refuses sample rates that no recorder of a bench has.
func rateUsable(rec *bench.Recording) error {
	if rec.Rate >= 4000 && rec.Rate <= 800000 {
		return nil
	}
	return notice.New("sample-rate", notice.Facts{"rate": rec.Rate}).In(rec.Source)
}

// Clipped is the code of the error for a recording of which too much is clipped.
const Clipped = "clipped"

// clipUnfit is the share of clipped samples above which a recording is of no use.
const clipUnfit = 3e-4

// clipped refuses recordings of which too much is clipped.
func (e *Result) clipped() error {
	for c, v := range e.Stats {
		if n := v.Clipped(); float64(n) > clipUnfit*float64(v.frames) {
			first, err := e.FirstClipped(c)
			if err != nil {
				return err
			}
			return notice.New(Clipped, notice.Facts{"channel": e.Number(c), "level": v.Peak(), "samples": n, "share": v.Share(n), "first": first}).In(e.Rec.Source)
		}
	}
	return nil
}

// FirstClipped returns when the clipping of channel c begins, in seconds from the start.
func (e *Result) FirstClipped(c int) (float64, error) {
	v := e.Stats[c]
	first, frame := 0, 0
	found := false
	err := blocks{e.Rec, e.Swap}.each(func(ch [2][]float64) {
		for i, s := range ch[c] {
			if !found && math.Abs(s) > 0.9*v.Peak() && v.sticks(s) {
				first, found = frame+i, true
			}
		}
		frame += len(ch[c])
	})
	return float64(first) / e.Rec.Rate, err
}
