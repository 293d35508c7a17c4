// Package benchtop has a driver, a bench and a signal for tests.
package benchtop

import (
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
)

// Larch is a ten-inch woofer of our own.
var Larch = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

// BenchTop is a good bench with Larch on it and a little noise.
func BenchTop() virtual.Bench {
	return virtual.Bench{Z: Larch.Impedance, Bench: bench.Bench{Wiring: bench.ResistorFirst, Resistor: 10}, Seed: 1,
		Flaws: virtual.Flaws{Latency: 0.1, After: 0.5, Noise: [2]float64{1e-4, 1e-4}}}
}

// Record plays s on the bench v.
func Record(t testing.TB, v virtual.Bench, s signal.Signal) *bench.Recording {
	t.Helper()
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := v.Record(x, s.Defaults().Rate)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// QuickSweep is a sweep that takes little time to work out.
var QuickSweep = signal.Signal{Kind: signal.ExponentialSweep, Rate: 16000, Hi: 7000, Duration: 8}
