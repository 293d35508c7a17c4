package checks

import (
	"errors"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

// Both channels record the same where nine tenths of the points say so: a few points that a
// disturbance moved do not hide it, and a driver that is like a wire over most of the band is none.
func TestSameSignalByNineTenths(t *testing.T) {
	const points = 100
	for _, c := range []struct {
		apart int // points whose ratio is 0.7
		same  bool
	}{{0, true}, {8, true}, {12, false}, {40, false}} {
		e := &spectra.Result{Rec: &bench.Recording{}}
		for i := range points {
			p := spectra.Point{Freq: 20 + float64(i), Ratio: 1}
			if i < c.apart {
				p.Ratio = 0.7
			}
			e.Points = append(e.Points, p)
		}
		err := Misconnected(e, bench.Bench{Wiring: bench.ResistorFirst, Resistor: 10})
		var refused *notice.Notice
		if same := errors.As(err, &refused) && refused.Code == "same-signal"; same != c.same {
			t.Errorf("%d of %d points apart: %v", c.apart, points, err)
		}
	}
}
