package sweeps

import (
	"math"
	"testing"

	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
)

// One steady tone from a generator gives the impedance at that tone.
func TestSteadyTone(t *testing.T) {
	const rate, f = 8000, 40.3
	tone := make([]float64, 10*rate)
	for i := range tone {
		tone[i] = 0.3 * math.Sin(2*math.Pi*f*float64(i)/rate)
	}
	v := benchtop.BenchTop()
	rec, err := v.Record(tone, rate)
	if err != nil {
		t.Fatal(err)
	}
	z, err := Measure(rec, v.Bench)
	if err != nil {
		t.Fatal(err)
	}
	if z.Len() < 1 || z.Len() > 10 {
		t.Errorf("%d points from one tone", z.Len())
	}
	for i, at := range z.Freq {
		want := benchtop.Larch.Impedance(f)
		off := math.Sqrt(dsp.SqAbs(z.Z[i]-want) / dsp.SqAbs(want))
		if math.Abs(at-f) > 1 || off > 0.02 {
			t.Errorf("at %.2f Hz: %.3f ohm, want %.3f", at, z.Z[i], want)
		}
	}
}
