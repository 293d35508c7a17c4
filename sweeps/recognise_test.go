package sweeps_test

import (
	"errors"
	"math"
	"testing"

	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/notice"
)

// Every wiring, with channels exchanged or not, is found by a resistor in the driver's place.
func TestRecognise(t *testing.T) {
	x, err := (signal.Signal{Rate: 16000, Lo: 20, Hi: 4000, Duration: 2, Level: 0.3}).Samples()
	if err != nil {
		t.Fatal(err)
	}
	record := func(w bench.Wiring, ohm float64, change func(*virtual.Flaws)) *bench.Recording {
		v := virtual.Bench{Z: func(float64) complex128 { return complex(ohm, 0) }, Bench: bench.Bench{Wiring: w, Resistor: 10}, Flaws: virtual.Flaws{Noise: [2]float64{1e-4, 1e-4}, Gain: [2]float64{0, 0.02}}}
		if change != nil {
			change(&v.Flaws)
		}
		rec, err := v.Record(x, 16000)
		if err != nil {
			t.Fatal(err)
		}
		return rec
	}
	for _, w := range []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes} {
		for _, swap := range []bool{false, true} {
			got, err := sweeps.Recognise(record(w, 27, func(f *virtual.Flaws) { f.Swapped = swap }), 10, 27)
			if err != nil || got != (sweeps.Connected{Wiring: w, SwapChannels: swap}) {
				t.Errorf("%v, exchanged %v: found %v, %v", w, swap, got, err)
			}
		}
	}
	for _, c := range []struct {
		name string
		rec  *bench.Recording
		ohm  float64
		want string
	}{
		{"as large as the series resistor", record(bench.ResistorFirst, 10, nil), 10, "bench-alike"},
		{"another resistor than was said", record(bench.ResistorFirst, 3, nil), 27, "bench-not-recognised"},
		{"a channel with exchanged leads", record(bench.ResistorFirst, 27, func(f *virtual.Flaws) { f.Gain[1] = -2 }), 27, "bench-inverted"},
	} {
		_, err := sweeps.Recognise(c.rec, 10, c.ohm)
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
	for _, ohm := range [][2]float64{{0, 27}, {10, 0}, {-10, 27}, {10, math.NaN()}, {math.Inf(1), 27}, {10, math.Inf(1)}} {
		_, err := sweeps.Recognise(record(bench.ResistorFirst, 27, nil), ohm[0], ohm[1])
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != "calibration-value" {
			t.Errorf("resistors of %v ohm: %v", ohm, err)
		}
	}
}
