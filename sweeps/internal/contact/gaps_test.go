package contact

import (
	"math"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
)

// A ratio that is wrong far from the frequency of what was played leaves the filling alone.
func TestFillingHearsItsFrequencyOnly(t *testing.T) {
	const rate, tone = 8000, 30.0
	x, y := make([]float64, 10*rate), make([]float64, 10*rate)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * tone * float64(i) / rate)
		y[i] = x[i] / 2
	}
	rec, err := bench.NewRecording(x, y, rate, "tone")
	if err != nil {
		t.Fatal(err)
	}
	e, err := spectra.Local(rec, false)
	if err != nil {
		t.Fatal(err)
	}
	e.Points = nil
	for f := 2.0; f < 3000; f *= 1.02 {
		p := spectra.Point{Freq: f, Ratio: 0.5}
		if f < 15 {
			p.Ratio = 5
		}
		e.Points = append(e.Points, p)
	}
	g, err := cut(e, []spectra.Interval{{From: 5, To: 5.0125}})
	if err != nil {
		t.Fatal(err)
	}
	g.fill(curveOf(e, false))
	for i, v := range g.list[0].samples {
		if off := math.Abs(v - y[g.list[0].from+i]); off > 1e-3 {
			t.Fatalf("sample %d of the filling is off by %.2g", i, off)
		}
	}
}
