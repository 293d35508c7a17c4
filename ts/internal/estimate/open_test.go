package estimate

import (
	"conewright/ts/param"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"conewright/ts/measured"
)

// readOpen reads a measured sweep that may be copied; its first lines name its source.
func readOpen(tb testing.TB, name string) measured.Impedance {
	text, err := os.ReadFile(filepath.Join("..", "truth", "testdata", "open", name))
	if err != nil {
		tb.Fatal(err)
	}
	var z measured.Impedance
	for line := range strings.Lines(string(text)) {
		var v [3]float64
		cells := strings.Split(strings.TrimSpace(line), ",")
		if len(cells) != 3 {
			continue
		}
		for i, c := range cells {
			if v[i], err = strconv.ParseFloat(c, 64); err != nil {
				break
			}
		}
		if err == nil {
			z.Freq = append(z.Freq, v[0])
			z.Z = append(z.Z, cmplx.Rect(v[1], v[2]*math.Pi/180))
		}
	}
	return z
}

// BenchmarkLawless is the whole of Fit on a measured sweep that follows no law.
func BenchmarkLawless(b *testing.B) {
	for _, name := range []string{"f144ob.csv", "f144w.csv"} {
		sweeps := []measured.Sweep{{Impedance: readOpen(b, name)}}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Fit(sweeps, measured.Conditions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// What can be said of the measured sweeps without a model: the real part lies between 5.49 and 5.52 ohm from 1.3 to 8 Hz, between
// 6.63 and 6.74 from 1.3 to 7 Hz. Re is at most that, and within 2 % of the lower end.
func TestMeasuredSweeps(t *testing.T) {
	for _, c := range []struct {
		name            string
		lowest, highest float64
		half            float64 // relative, of the interval of Qts
	}{{"f144ob.csv", 5.49, 5.52, 0.05}, {"f144w.csv", 6.63, 6.74, 0.07}} {
		f, err := Fit([]measured.Sweep{{Impedance: readOpen(t, c.name)}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		re, _ := f.Parameters.Get(param.Re)
		if re.Value < 0.98*c.lowest || re.Value > c.highest {
			t.Errorf("%s: Re %v, the real part begins at %v to %v", c.name, re.Value, c.lowest, c.highest)
		}
		if qts, _ := f.Parameters.Get(param.Qts); qts.High-qts.Low > 2*c.half*qts.Value {
			t.Errorf("%s: Qts %v to %v", c.name, qts.Low, qts.High)
		}
		// Nothing is blamed on bench or meter, neither by a notice nor in what the value is unsure of.
		for _, w := range f.Warnings {
			if !slices.Contains([]string{"lines-held", "model-smoothed", "second-resonance", "needs-added-mass"}, w.Code) {
				t.Errorf("%s: %v", c.name, w)
			}
		}
		if re.Budget.Bench > re.Budget.Model {
			t.Errorf("%s: Re is unsure by %v for the bench, by %v for the law", c.name, re.Budget.Bench, re.Budget.Model)
		}
	}
}

// The measured |Z| has a peak of 8.98 ohm at 1,579 Hz on its slope: a part of the cone, whose peak lies above its
// resonance by the rest of the mass that moves against it.
func TestMeasuredSecondResonance(t *testing.T) {
	f, err := Fit([]measured.Sweep{{Impedance: readOpen(t, "f144ob.csv")}}, measured.Conditions{})
	if err != nil || f.Second == nil {
		t.Fatal("no second resonance is found", err)
	}
	if peak := f.Second.Frequency / math.Sqrt(1-f.Second.MassShare); math.Abs(peak-1579) > 40 {
		t.Errorf("its peak is said to be at %v Hz", peak)
	}
}
