package connected_test

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"conewright/ts"
	"conewright/ts/connected"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
)

// A lag of 72 us turns the phase and leaves |Z| of two probes as it is, which a driver with another coil follows well: it
// is named all the same, within a quarter. The drivers of the same sweeps without a delay are not doubted.
func TestDelayBehindAFittedMagnitude(t *testing.T) {
	const late = 72e-6 // s
	for seed := range uint64(4) {
		alone, _ := truth.Connect(seed, truth.ResistanceInSeries)
		s := alone.Sweep
		turned := make([]complex128, len(s.Z))
		for i, z := range s.Z {
			turned[i] = z * cmplx.Rect(1, -2*math.Pi*s.F[i]*late)
		}
		for _, c := range []struct {
			z    []complex128
			want bool
		}{{s.Z, false}, {turned, true}} {
			z, err := measured.NewImpedance(s.F, c.z, s.Sigma)
			if err != nil {
				t.Fatal(err)
			}
			if c.want {
				if n := connected.Look(z, false); n == nil || n.Code != "channels-late" || math.Abs(n.Num("time")/late-1) > 0.25 {
					t.Errorf("seed %d: a delay is taken for %+v", seed, n)
				}
				continue
			}
			f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
			if err != nil || len(f.Parameters.Doubts) > 0 {
				t.Errorf("seed %d: a driver alone: %v, %+v", seed, err, f)
			}
		}
	}
}

// A delay that leaves the law of a coil without an inductance at 1 kHz is refused by its name: there is no value that is not finite.
func TestDelayWithoutInductance(t *testing.T) {
	_, with := truth.Connect(5000093, truth.ChannelDelay)
	if f, err := ts.Fit([]measured.Sweep{{Impedance: taken(t, with.Sweep)}}, measured.Conditions{}); err == nil || !strings.HasPrefix(err.Error(), "channels-late") {
		t.Errorf("%v, %v", err, f.Warnings)
	}
}

// Delays that a fit takes for a coil of another driver: of 20 in either direction, with all wirings, few are left, and drivers alone
// are not doubted for one.
func TestDelaysAreNamed(t *testing.T) {
	const n, most = 20, 5 // a delay of one sample hides behind a second resonance
	missed := 0
	for seed := uint64(818131300); seed < 818131300+n; seed++ {
		alone, with := truth.Connect(seed, truth.ChannelDelay)
		if found := connected.Look(taken(t, alone.Sweep), false); code(found) == "channels-late" {
			t.Errorf("seed %d: a driver alone: %v", seed, found)
		}
		if found := connected.Look(taken(t, with.Sweep), false); code(found) != "channels-late" {
			missed++
		}
	}
	if missed > most {
		t.Errorf("%d of %d are not named", missed, n)
	}
}

// A blocked coil has a phase that a delay explains better than a driver without a peak; it is refused for what it lacks.
func TestBlockedCoilIsNotLate(t *testing.T) {
	for _, seed := range []uint64{818131303, 818131313, 818131315, 818131316, 818131318} {
		_, with := truth.Connect(seed, truth.BlockedCoil)
		if _, err := ts.Fit([]measured.Sweep{{Impedance: taken(t, with.Sweep)}}, measured.Conditions{}); err == nil || !strings.HasPrefix(err.Error(), "no-peak") {
			t.Errorf("seed %d: %v", seed, err)
		}
	}
}
