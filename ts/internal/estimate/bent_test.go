package estimate

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"conewright/ts/measured"
	"conewright/ts/param"
)

// bent returns a sweep of testdata/bent.
func bent(t *testing.T, name string) measured.Sweep {
	f, err := os.Open("../../../testdata/bent/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	z := measured.Impedance{Systematic: []measured.Systematic{{Source: "channels, AC coupling", Fitted: true}, {Source: "channels, corner of the coupling", Fitted: true}}}
	for _, row := range rows[1:] {
		var v []float64
		for _, cell := range row {
			x, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			v = append(v, x)
		}
		z.Freq, z.Z, z.Sigma = append(z.Freq, v[0]), append(z.Z, complex(v[1], v[2])), append(z.Sigma, v[3])
		for k := range z.Systematic {
			e, c := &z.Systematic[k], v[4+4*k:]
			e.Effect, e.Bend = append(e.Effect, complex(c[0], c[1])), append(e.Bend, complex(c[2], c[3]))
		}
	}
	return measured.Sweep{Impedance: z}
}

// Sweeps far beyond the linear range are fitted: their resonance is bent, the first form ends at no minimum, and what begins there
// neither; or points at the bend count as outliers, and the way to the minimum is not found again.
func TestBentResonance(t *testing.T) {
	for _, c := range []struct {
		name string
		fs   float64 // Hz, where the curve has its peak
	}{{"loud.csv", 21.3}, {"rubs.csv", 16.6}} {
		f, err := Fit([]measured.Sweep{bent(t, c.name)}, measured.Conditions{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if fs, _ := f.Parameters.Get(param.Fs); math.Abs(fs.Value/c.fs-1) > 0.03 {
			t.Errorf("%s: Fs %.2f Hz, the peak lies at %g", c.name, fs.Value, c.fs)
		}
	}
}
