package report

import (
	"math"
	"testing"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// The figure shows the order that it is asked for: its current over that of the tone, in percent, with
// the noise of that order, up to where the cone hardly moves; and nothing of an order that was not found.
func TestHarmonicSeries(t *testing.T) {
	freq := []float64{20, 40, 80, 400}
	flat := []complex128{8, 8, 8, 8} // ohm
	order := func(n int, milliampere float64) measured.Order {
		o := measured.Order{N: n}
		for range freq {
			o.Current, o.Noise = append(o.Current, complex(0, milliampere/1000)), append(o.Noise, 1e-6)
		}
		return o
	}
	s := Side{
		Parameters: param.Parameters{IDs: []param.ID{param.Fs}, Scaled: []float64{math.Log(30)}, Origin: []param.Origin{param.FromFit}},
		Curves:     []Curve{{Load: measured.Load{Kind: measured.Free}, Curve: fitted.Curve{Freq: freq, Fitted: flat}}},
		Harmonics: &measured.Harmonics{Freq: freq, Voltage: []float64{0.8, 0.8, 0.8, 0.8}, // 100 mA
			Orders: []measured.Order{order(2, 1), order(3, 2), order(4, 3)}},
	}
	for n, want := range map[int]float64{2: 1, 3: 2, 4: 3} { // %
		size, floor := harmonicSeries(s, n)
		if len(size.X) != 3 || size.X[2] != 80 || len(floor.Y) != 3 {
			t.Fatalf("order %d at %v Hz, noise %v", n, size.X, floor.Y)
		}
		for i := range size.Y {
			if math.Abs(size.Y[i]-want) > 1e-9 || math.Abs(floor.Y[i]-0.001*math.Sqrt2) > 1e-9 {
				t.Errorf("order %d is %v %%, want %v, with noise %v", n, size.Y[i], want, floor.Y[i])
			}
		}
	}
	if size, _ := harmonicSeries(s, 5); len(size.X) != 0 {
		t.Errorf("an order that was not found is shown: %v", size)
	}
}
