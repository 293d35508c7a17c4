package connected_test

import (
	"math"
	"math/cmplx"
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
