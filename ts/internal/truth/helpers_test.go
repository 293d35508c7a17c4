package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// near fails unless two numbers agree to a relative tolerance.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// nearC does so for complex numbers.
func nearC(t *testing.T, what string, got, want complex128, tolerance float64) {
	t.Helper()
	if !(cmplx.Abs(got-want) <= tolerance*cmplx.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// polar is magnitude and phase in degrees.
func polar(z complex128) (mag, degrees float64) {
	return cmplx.Abs(z), cmplx.Phase(z) * 180 / math.Pi
}

// seeds is n, and fewer where tests must be short.
func seeds(n uint64) uint64 {
	if testing.Short() {
		return max(2, n/5)
	}
	return n
}
