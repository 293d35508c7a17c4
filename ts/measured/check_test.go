package measured_test

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// codeOf is the code of an error, "" for none.
func codeOf(err error) string {
	var n *notice.Notice
	if errors.As(err, &n) {
		return n.Code
	}
	return ""
}

func TestImpedanceThatIsNone(t *testing.T) {
	const n = 9
	for _, c := range []struct {
		want   string
		change func(z *measured.Impedance)
	}{
		{"", func(z *measured.Impedance) {}},
		{"bad-sigma", func(z *measured.Impedance) { z.Sigma[4] = 0 }},
		{"bad-sigma", func(z *measured.Impedance) { z.Sigma[n-1] = -0.1 }},
		{"bad-sigma", func(z *measured.Impedance) { z.Sigma[0] = math.NaN() }},
		{"bad-sigma", func(z *measured.Impedance) { z.Sigma[0] = math.Inf(1) }},
		{"bad-frequency-error", func(z *measured.Impedance) { z.Frequency.Std = -0.001 }},
		{"bad-frequency-error", func(z *measured.Impedance) { z.Frequency.Std = 0.2 }},
		{"bad-frequency-error", func(z *measured.Impedance) { z.Frequency.Std = math.NaN() }},
		{"bad-frequency", func(z *measured.Impedance) { z.Freq[0] = 0 }},
		{"bad-frequency", func(z *measured.Impedance) { z.Freq[3] = math.NaN() }},
		{"bad-frequency", func(z *measured.Impedance) { z.Freq[n-1] = math.Inf(1) }},
		{"frequency-order", func(z *measured.Impedance) { z.Freq[4] = z.Freq[3] }},
		{"frequency-order", func(z *measured.Impedance) { z.Freq[4] = z.Freq[2] }},
		{"bad-impedance", func(z *measured.Impedance) { z.Z[2] = complex(math.NaN(), 0) }},
		{"bad-impedance", func(z *measured.Impedance) { z.Z[2] = complex(0, math.Inf(-1)) }},
		{"lengths-differ", func(z *measured.Impedance) { z.Sigma = z.Sigma[1:] }},
		{"lengths-differ", func(z *measured.Impedance) { z.Z = z.Z[1:] }},
		{"no-points", func(z *measured.Impedance) { z.Freq = nil }},
	} {
		var z measured.Impedance
		for i := range n {
			z.Freq, z.Z, z.Sigma = append(z.Freq, float64(10+i)), append(z.Z, complex(6, 1)), append(z.Sigma, 0.01)
		}
		c.change(&z)
		if got := codeOf(z.Check()); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestFreeAirIsNeeded(t *testing.T) {
	loaded := measured.Sweep{Impedance: simulated.Grid(handmade.CourseWoofer, 5, 2000, 12), Load: measured.Load{Kind: measured.AddedMass, Value: 0.02}}
	if got := codeOf(measured.CheckInput([]measured.Sweep{loaded, loaded}, measured.Conditions{})); got != "needs-free-air" {
		t.Errorf("%q", got)
	}
	free := loaded
	free.Load = measured.Load{}
	if err := measured.CheckInput([]measured.Sweep{loaded, free}, measured.Conditions{}); err != nil {
		t.Error(err)
	}
}
