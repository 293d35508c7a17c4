package virtual

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/sweeps/bench"
)

// Hum goes on from one block to the next: two halves are one recording.
func TestHumGoesOn(t *testing.T) {
	const n = 1000
	whole, halves := [2][]float64{make([]float64, n), make([]float64, n)}, [2][]float64{make([]float64, n), make([]float64, n)}
	convert := func(blocks ...[2][]float64) {
		v := newConverter(Flaws{Hum: [2]float64{0.1, 0.2}}, 8000, rand.New(rand.NewPCG(1, 2)))
		for _, b := range blocks {
			v.convert(b)
		}
	}
	convert(whole)
	convert([2][]float64{halves[0][:333], halves[1][:333]}, [2][]float64{halves[0][333:], halves[1][333:]})
	for c := range whole {
		for i, want := range whole[c] {
			if got := halves[c][i]; math.Abs(got-want) > 1e-12 || i == 10 && want == 0 {
				t.Fatalf("channel %d, sample %d: %g in two blocks, %g in one", c+1, i, got, want)
			}
		}
	}
}

// What the moving coil adds in series with the driver is divided as the wiring has it: the driver has it
// more and the resistor less, and the amplifier puts out what it did.
func TestDriverVoltage(t *testing.T) {
	for w, across := range map[bench.Wiring]func(one, two float64) (driver, resistor float64){
		bench.ResistorFirst: func(one, two float64) (float64, float64) { return two, one - two },
		bench.DriverFirst:   func(one, two float64) (float64, float64) { return one - two, two },
		bench.Probes:        func(one, two float64) (float64, float64) { return one, two },
	} {
		one, two := []float64{0, 0.5}, []float64{0, 0.25}
		driver, resistor := across(one[1], two[1])
		addDriverVoltage(w, one, two, 1, 0.125)
		d, r := across(one[1], two[1])
		if d != driver+0.125 || r != resistor-0.125 || one[0] != 0 || two[0] != 0 {
			t.Errorf("%v: the driver has %g V after %g, the resistor %g after %g", w, d, driver, r, resistor)
		}
	}
}
