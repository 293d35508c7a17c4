package contact

import (
	"math"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
)

// A ratio that is wrong far from the frequency of a patch leaves the patch alone.
func TestPatchHearsItsFrequencyOnly(t *testing.T) {
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
	e, err := spectra.Listen(&spectra.Blocks{Rec: rec})
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
	p, err := cut(e, []spectra.Moment{{From: 5, To: 5.0125}})
	if err != nil {
		t.Fatal(err)
	}
	p.fill(curveOf(e, false))
	for i, v := range p.list[0].samples {
		if off := math.Abs(v - y[p.list[0].from+i]); off > 1e-3 {
			t.Fatalf("sample %d of the patch is off by %.2g", i, off)
		}
	}
}
