package bench

import "testing"

// Between its points a curve is straight, and beyond them it goes on as it ends.
func TestCurveAt(t *testing.T) {
	c := Curve{Freq: []float64{10, 20, 40}, Value: []complex128{1, 3i, 5}}
	for f, want := range map[float64]complex128{5: 1, 10: 1, 15: 0.5 + 1.5i, 20: 3i, 25: 1.25 + 2.25i, 40: 5, 1000: 5} {
		if got := c.At(f); got != want {
			t.Errorf("at %g Hz: %v, want %v", f, got, want)
		}
	}
}
