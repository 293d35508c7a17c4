package main

import (
	"fmt"

	"conewright/cmd/internal/saved"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
	"conewright/ts/measured"
)

// The driver of the virtual lesson is invented: a six-inch woofer whose
// suspension creeps a little, as real ones do.
var lessonDriver = driver.Driver{Re: 5.7, BL: 6.2, Mms: 0.0142, Cms: 1.05e-3, Rms: 0.9,
	Coil: driver.TwoPartCoil{L1: 0.25e-3, L2: 0.45e-3, R2: 3.2}, Creep: 0.07}

// lessonMasses are the masses that the class puts on the cone, in kg.
var lessonMasses = []float64{0, 0.004, 0.008, 0.012, 0.016}

// lessonSignal is what is played for each mass.
var lessonSignal = signal.Signal{Kind: signal.ExponentialSweep, Rate: 24000, Lo: 5, Hi: 4000, Duration: 8, Level: 0.25}

// virtualLesson measures lessonDriver with each mass on the virtual bench, each
// mass weighed to 0.02 g. Equal seeds give equal measurements.
func virtualLesson(seed uint64) ([]saved.Input, []measured.Sweep, *driver.Driver, error) {
	signal, err := lessonSignal.Samples()
	if err != nil {
		return nil, nil, nil, err
	}
	connected := bench.Bench{Wiring: bench.ResistorFirst, Resistor: 10}
	var inputs []saved.Input
	var list []measured.Sweep
	for i, m := range lessonMasses {
		bench := virtual.Bench{
			Z:     func(f float64) complex128 { return lessonDriver.LoadedImpedance(f, m, 0) },
			Bench: connected,
			Flaws: virtual.Flaws{Noise: [2]float64{2e-3, 2e-3}, Hum: [2]float64{5e-4, 8e-4}, Latency: 0.2, After: 0.5},
			Seed:  seed*uint64(len(lessonMasses)) + uint64(i),
		}
		rec, err := bench.Record(signal, lessonSignal.Rate)
		if err != nil {
			return nil, nil, nil, err
		}
		rec.Source = fmt.Sprintf("virtual recording with %.1f g", 1e3*m)
		z, err := sweeps.Measure(rec, connected)
		if err != nil {
			return nil, nil, nil, err
		}
		s := measured.Sweep{Impedance: z}
		if m > 0 {
			s.Load = measured.Load{Kind: measured.AddedMass, Value: m, Std: 0.02e-3}
		}
		list = append(list, s)
		inputs = append(inputs, saved.Input{Path: rec.Source, Load: s.Load})
	}
	d := lessonDriver
	return inputs, list, &d, nil
}
