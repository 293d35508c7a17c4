package truth

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Nothing moves before it is pushed: the impulse response of what is between motor and coil has next to no
// energy at negative times. This tests all parts at once, as Kramers and Kronig's relations do. What does not
// decay within the band is made to by a low-pass of third order.
func TestDriversAreCausal(t *testing.T) {
	const n, top = 1 << 16, 32768.0 // lines of 1 Hz
	for seed := range seeds(4) {
		d := Draw(Rand(seed, 103))
		responses := map[string]func(f float64) complex128{
			"motion": func(f float64) complex128 { return d.Z(f) - d.Blocked().Z(f) },
			"coil":   func(f float64) complex128 { return d.Blocked().Z(f) - complex(d.Re, 0) },
			"ripple": DrawRipple(Rand(seed, 104), 0.03, 0.5, 5, 20000, 100).Factor,
		}
		for name, of := range responses {
			coefficients := make([]complex128, n/2+1)
			for i := 1; i <= n/2; i++ {
				f := float64(i) * top / (n / 2)
				low := complex(1, f/3000)
				coefficients[i] = of(f) / (low * low * low)
			}
			if name == "ripple" {
				coefficients[0] = 1
			}
			if share := beforeZero(coefficients); share > 0.005 {
				t.Errorf("seed %d, %s: %.3g of the response comes before its cause", seed, name, share)
			}
		}
	}
}

// The same test finds what is not causal: a delay that is negative.
func TestCausalityTestCanFail(t *testing.T) {
	const n = 1 << 14
	coefficients := make([]complex128, n/2+1)
	for i := range coefficients {
		low := complex(1, float64(i)/3000)
		coefficients[i] = cmplx.Rect(1, float64(i)*1e-3) / (low * low * low)
	}
	if beforeZero(coefficients) < 0.005 {
		t.Error("a response that comes early was not seen")
	}
}

// beforeZero is the root of the share of energy that a response with these Fourier coefficients has in the last
// quarter of its period, which is the time before 0.
func beforeZero(coefficients []complex128) float64 {
	n := 2 * (len(coefficients) - 1)
	before, all := 0.0, 0.0
	for i, x := range fourier.NewFFT(n).Sequence(nil, coefficients) {
		all += x * x
		if i > n*3/4 {
			before += x * x
		}
	}
	return math.Sqrt(before / all)
}
