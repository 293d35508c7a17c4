package ts

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/repeat"
)

// openSweep reads a sweep that was measured by others; its first lines name its source.
func openSweep(t *testing.T, name string) measured.Impedance {
	text, err := os.ReadFile("internal/truth/testdata/open/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var z measured.Impedance
	for line := range strings.Lines(string(text)) {
		var v []float64
		for cell := range strings.SplitSeq(strings.TrimSpace(line), ",") {
			if x, err := strconv.ParseFloat(cell, 64); err == nil {
				v = append(v, x)
			}
		}
		if len(v) == 3 {
			z.Freq, z.Z = append(z.Freq, v[0]), append(z.Z, cmplx.Rect(v[1], v[2]*math.Pi/180))
		}
	}
	return z
}

// again is the sweep taken again with a resistance (ohm) in series, with noise of 0.2 % of its own; rows that the file repeats stay alike.
func again(z measured.Impedance, series float64) measured.Impedance {
	rng := rand.New(rand.NewPCG(7, 13))
	out := measured.Impedance{Freq: z.Freq}
	for i, v := range z.Z {
		if i > 0 && v == z.Z[i-1] {
			out.Z = append(out.Z, out.Z[i-1])
			continue
		}
		out.Z = append(out.Z, (v+complex(series, 0))*complex(1+0.002*rng.NormFloat64(), 0.002*rng.NormFloat64()))
	}
	return out
}

// fitOpen fits a sweep of a bench that is known to scatter as is usual.
func fitOpen(t *testing.T, z measured.Impedance) *fitted.Result {
	bench := repeat.Usual
	for i := range bench {
		if bench[i].Known() {
			bench[i].Dof, bench[i].Assumed = 20, false
		}
	}
	f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{Repeatability: &bench})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// A contact of 0.2 ohm between two sweeps of a driver that follows no law, the second within the session: its real part is up by
// that at every frequency, 3.0 and 3.6 % of the real part far below the resonance. That is what is named.
func TestContactOfMeasuredDriver(t *testing.T) {
	for name, re := range map[string]float64{"f144w.csv": 6.65, "f144ob.csv": 5.5} {
		z := openSweep(t, name)
		before, after := fitOpen(t, z), fitOpen(t, again(z, 0.2))
		c, err := Compare(before.Parameters, after.Parameters, change.Options{SameSession: true, Direct: fitted.Between(before, after)})
		if err != nil {
			t.Fatal(err)
		}
		lead := c.Explanations[0].Causes
		if c.Unexplained || len(c.Explanations) > 1 || len(lead) != 1 || lead[0].ID != change.SeriesResistance {
			t.Errorf("%s: %+v", name, c.Explanations)
			continue
		}
		if want := 100 * 0.2 / re; math.Abs(lead[0].Percent-want) > 0.4 || lead[0].Low > want || lead[0].High < want {
			t.Errorf("%s: Re up by %.2f %% (%.2f to %.2f), the contact is %.2f %%", name, lead[0].Percent, lead[0].Low, lead[0].High, want)
		}
	}
}
