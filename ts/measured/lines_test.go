package measured

import (
	"math"
	"testing"
)

// grid24 are the frequencies of a table, 24 rows an octave from 1 Hz to 20 kHz.
func grid24() (freq []float64) {
	for f := 1.0; f < 20000; f *= math.Exp2(1.0 / 24) {
		freq = append(freq, f)
	}
	return freq
}

// curve is a resonance at 60 Hz.
func curve(f float64) complex128 {
	return 6 + 40/complex(1, 6*(f/60-60/f)) + complex(0, 0.002*f)
}

// A table that holds the value of the line below, or of the nearest one, gives the lines back, each once and at its own frequency. Far above the peak,
// where neighbouring lines hardly differ, some are taken for the one beside.
func TestHeldLines(t *testing.T) {
	for name, shift := range map[string]float64{"line below": 0, "nearest line": 0.5} {
		for _, step := range []float64{0.25, 0.3, 0.4713, 0.5123, 0.6627, 0.78, 1} {
			z := Impedance{Freq: grid24()}
			for _, f := range z.Freq {
				z.Z = append(z.Z, curve(max(1, math.Floor(f/step+shift))*step))
			}
			out, got := z.AsMeasured()
			if math.Abs(got/step-1) > 0.0005 {
				t.Errorf("%s, %v Hz: %v Hz between the lines", name, step, got)
				continue
			}
			beside := 0
			for i, f := range out.Freq {
				is := func(line float64) bool { return out.Z[i] == curve(line*step) }
				line := math.Round(f / step)
				if !is(line) {
					beside++
				}
				if !is(line) && (f < 120 || !is(line-1) && !is(line+1)) {
					t.Errorf("%s, %v Hz: the point at %v Hz is that of another line", name, step, f)
				}
				if i > 0 && out.Z[i] == out.Z[i-1] {
					t.Errorf("%s, %v Hz: a line counts twice at %v Hz", name, step, f)
				}
			}
			if beside > len(out.Freq)/5 {
				t.Errorf("%s, %v Hz: %d of %d points are at the line beside their own", name, step, beside, len(out.Freq))
			}
		}
	}
}

// A table that was measured at its rows stays as it is, and so does a sweep that came with its noise.
func TestNothingHeld(t *testing.T) {
	var z Impedance
	for _, f := range grid24() {
		z.Freq, z.Z = append(z.Freq, f), append(z.Z, curve(f))
	}
	if out, step := z.AsMeasured(); step != 0 || out.Len() != z.Len() {
		t.Errorf("%d of %d rows, lines %v Hz apart", out.Len(), z.Len(), step)
	}
	for i, f := range z.Freq {
		z.Z[i] = curve(max(1, math.Floor(f)))
		z.Sigma = append(z.Sigma, 0.01)
	}
	if out, step := z.AsMeasured(); step != 0 || out.Len() != z.Len() {
		t.Errorf("with its noise: %d of %d rows, lines %v Hz apart", out.Len(), z.Len(), step)
	}
}
