package testfiles

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/sweeps/bench"
	"conewright/ts/measured"
)

// PlainTable is a table of [ThreeImpedances].
const PlainTable = "f[Hz],|Z|[ohm],phase[deg]\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n"

// The three points of the tables below: frequency in Hz, magnitude in ohm,
// phase in degrees. Other forms of the numbers were computed with Python.
var threePoints = [3][3]float64{{20.5, 7.25, 30.5}, {31, 40, -2}, {200, 6.5, -15.25}}

// ThreeImpedances is the sweep of three points.
func ThreeImpedances() measured.Impedance {
	var z measured.Impedance
	for _, p := range threePoints {
		z.Freq = append(z.Freq, p[0])
		z.Z = append(z.Z, cmplx.Rect(p[1], p[2]*math.Pi/180))
	}
	return z
}

// CheckSweep checks a sweep against another, point by point.
func CheckSweep(t *testing.T, got, want measured.Impedance, tol float64) {
	t.Helper()
	if got.Len() != want.Len() {
		t.Fatalf("%d points, want %d: %v", got.Len(), want.Len(), got.Freq)
	}
	for i := range want.Freq {
		if math.Abs(got.Freq[i]-want.Freq[i]) > tol*want.Freq[i] || cmplx.Abs(got.Z[i]-want.Z[i]) > tol*cmplx.Abs(want.Z[i]) {
			t.Fatalf("point %d is %v ohm at %v Hz, want %v at %v", i, got.Z[i], got.Freq[i], want.Z[i], want.Freq[i])
		}
	}
}

// CheckFrames checks the samples of a recording, read from several places.
func CheckFrames(t *testing.T, rec *bench.Recording, ch1, ch2 []float64) {
	t.Helper()
	if rec.Frames != len(ch1) {
		t.Fatalf("%d frames, want %d", rec.Frames, len(ch1))
	}
	for from := 0; from < len(ch1); from += 1 + len(ch1)/5 {
		a, b := make([]float64, len(ch1)-from), make([]float64, len(ch1)-from)
		if err := rec.Read(a, b, from); err != nil {
			t.Fatal(err)
		}
		for i := range a {
			if a[i] != ch1[from+i] || b[i] != ch2[from+i] {
				t.Fatalf("frame %d is %v, %v, want %v, %v", from+i, a[i], b[i], ch1[from+i], ch2[from+i])
			}
		}
	}
}
