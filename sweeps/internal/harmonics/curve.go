package harmonics

import (
	"math"
	"slices"

	"conewright/sweeps/internal/spectra"
)

// curve is the ratio of the channels over frequency.
type curve struct {
	lnf   []float64 // ln Hz, increasing
	value []complex128
}

func newCurve(points []spectra.Point) curve {
	var c curve
	for _, p := range points {
		c.lnf = append(c.lnf, math.Log(p.Freq))
		c.value = append(c.value, p.Ratio)
	}
	return c
}

func (c curve) lo() float64 { return math.Exp(c.lnf[0]) }
func (c curve) hi() float64 { return math.Exp(c.lnf[len(c.lnf)-1]) }

// at returns the ratio at f (Hz), by the polynomial in ln f through the four points around it; outside of them their
// end is held.
func (c curve) at(f float64) complex128 {
	x := math.Log(f)
	i, _ := slices.BinarySearch(c.lnf, x)
	return c.between(i, x)
}

// between returns the ratio at the logarithm x, which lies before the point i and after the one before it.
func (c curve) between(i int, x float64) complex128 {
	n := len(c.lnf)
	switch {
	case i == 0:
		return c.value[0]
	case i == n:
		return c.value[n-1]
	}
	from := min(max(i-2, 0), n-4)
	var sum complex128
	for j := from; j < from+4; j++ {
		w := 1.0
		for k := from; k < from+4; k++ {
			if k != j {
				w *= (x - c.lnf[k]) / (c.lnf[j] - c.lnf[k])
			}
		}
		sum += complex(w, 0) * c.value[j]
	}
	return sum
}

// along returns the ratio at n multiples of step (Hz), from 0.
func (c curve) along(step float64, n int) []complex128 {
	out := make([]complex128, n)
	i := 0
	for k := range out {
		x := math.Log(float64(k) * step)
		for i < len(c.lnf) && c.lnf[i] < x {
			i++
		}
		out[k] = c.between(i, x)
	}
	return out
}
