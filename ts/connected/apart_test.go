package connected_test

import (
	"math"
	"testing"

	"conewright/ts"
	"conewright/ts/connected"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
)

// Inputs whose AC coupling is at 2.0 and 2.4 Hz make another Re of a sweep from 1 Hz on: most are named, with corners that are right
// where they are told well, no driver through equal inputs is, and nothing rests on the values.
func TestInputsCoupledApart(t *testing.T) {
	const n, least = 30, 15
	for _, wiring := range []truth.Wiring{truth.ResistorFirst, truth.DriverFirst, truth.Probes} {
		named, near := 0, 0
		for seed := range uint64(n) {
			rng := truth.Rand(930000+seed, 78)
			d, rig := truth.Draw(rng), truth.DrawRig(rng)
			rig.Wiring = wiring
			equal := taken(t, rig.Measure(rng, d, truth.Grid(1.029, 20000, 24)))
			if found := connected.Look(equal, false); code(found) == "channels-coupled-apart" {
				t.Errorf("wiring %v, %d: equal inputs: %v", wiring, seed, found)
			}
			rig.Inputs = truth.DrawInputs(rng)
			found := connected.Look(taken(t, rig.Measure(rng, d, truth.Grid(1.029, 20000, 24))), false)
			if code(found) != "channels-coupled-apart" {
				continue
			}
			named++
			if math.Abs(found.Num("lower")/2-1) < 0.25 && math.Abs(found.Num("upper")/2.4-1) < 0.25 {
				near++
			}
		}
		if named < least || near < named/2 {
			t.Errorf("wiring %v: %d of %d named, %d of them with the right corners", wiring, named, n, near)
		}
	}
}

// The doubt stands before the values, and not where the fit has the coupling among its unknowns.
func TestCoupledApartIsADoubt(t *testing.T) {
	rng := truth.Rand(930001, 78)
	d, rig := truth.Draw(rng), truth.DrawRig(rng)
	rig.Wiring, rig.Inputs.Corner = truth.Probes, [2]float64{2.4, 2}
	z := taken(t, rig.Measure(rng, d, truth.Grid(1.029, 20000, 24)))
	f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	if err != nil || len(f.Parameters.Doubts) == 0 || f.Parameters.Doubts[0].Code != "channels-coupled-apart" {
		t.Fatalf("%v, %+v", err, f.Parameters.Doubts)
	}
	z.Systematic = []measured.Systematic{{Source: "channels, AC coupling", Fitted: true, Effect: make([]complex128, z.Len())}}
	for i, f := range z.Freq {
		z.Systematic[0].Effect[i] = 0.5 * z.Z[i] / complex(2, f)
	}
	if found := connected.Look(z, false); code(found) == "channels-coupled-apart" {
		t.Error("what the fit finds is doubted")
	}
}
