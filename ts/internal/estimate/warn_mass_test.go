package estimate

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// A mass that was never on the cone must not give a moving mass; a light one
// gives it with a warning.
func TestFitDoubtsAMassWithoutEffect(t *testing.T) {
	d := exactDriver(law.Ladder[0], 0)
	f := simulated.LogFreq(5, 2000, 24)
	rng := rand.New(rand.NewPCG(5, 6))
	sweeps := func(claimed, real float64) []measured.Sweep {
		return []measured.Sweep{
			{Impedance: simulated.Simulate(d, f, 0, 0, 0.002, rng)},
			{Impedance: simulated.Simulate(d, f, real, 0, 0.002, rng), Load: measured.Load{Kind: measured.AddedMass, Value: claimed, Std: 1e-5}},
		}
	}
	for _, real := range []float64{0, 2e-5} {
		got, err := Fit(sweeps(0.02, real), measured.Conditions{})
		var refused *notice.Notice
		if !errors.As(err, &refused) || refused.Code != "mass-without-effect" || got != nil {
			t.Errorf("%v kg on the cone: %v", real, err)
		}
	}
	for mass, warned := range map[float64]bool{0.004: true, 0.04: false} {
		got, err := Fit(sweeps(mass, mass), measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		has := slices.ContainsFunc(got.Warnings, func(w notice.Notice) bool { return w.Code == "mass-too-small" })
		if has != warned {
			t.Errorf("%v kg: warned %v", mass, has)
		}
	}
}

// A box of a tenth of a litre is a number like that of a mass that is nothing on a cone, and no mass:
// the guard against masses without effect leaves it alone.
func TestBoxIsNotTakenAsMass(t *testing.T) {
	d := exactDriver(law.Ladder[0], 0)
	f := simulated.LogFreq(5, 2000, 24)
	rng := rand.New(rand.NewPCG(5, 7))
	got, err := Fit([]measured.Sweep{
		{Impedance: simulated.Simulate(d, f, 0, 0, 0.002, rng)},
		{Impedance: simulated.Simulate(d, f, d.Mms, 0, 0.002, rng), Load: measured.Load{Kind: measured.AddedMass, Value: d.Mms, Std: 1e-5}},
	}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for kind, refuses := range map[measured.LoadKind]bool{measured.AddedMass: true, measured.KnownBox: false} {
		in := &observed{loads: []measured.Load{{Kind: kind, Value: 1e-4}}} // kg or m^3
		if err := in.massWithoutEffect(got.Parameters); (err != nil) != refuses {
			t.Errorf("%v of 1e-4: %v", kind, err)
		}
	}
}
