package truth

import (
	"math"
	"math/cmplx"
	"slices"
)

// Resonator is a part of surround or cone that moves by itself: a mass M on a spring K with loss R from the
// cone. A surround is also held at the frame by a spring and a loss of its own.
//
//	Zc = 1/[ 1/(jωM + r3 + k3/(jω)) + 1/(R + K/(jω)) ]
//
// Reference: course of the Université du Maine on electro-mechanical analogies, section 2.2 (two
// compliances, one mass); first form with r3 = k3 = 0.
type Resonator struct {
	M, K, R        float64 // kg, N/m, kg/s
	FrameK, FrameR float64 // k3 in N/m, r3 in kg/s
}

// Impedance is what the cone feels, kg/s.
func (r Resonator) Impedance(w float64) complex128 {
	s := jw(w)
	return parallel(s*complex(r.M, 0)+complex(r.FrameR, 0)+complex(r.FrameK, 0)/s, complex(r.R, 0)+complex(r.K, 0)/s)
}

// Frequency is that of the free resonance with the cone held, Hz.
func (r Resonator) Frequency() float64 { return sqrt((r.K+r.FrameK)/r.M) / (2 * math.Pi) }

// static is the stiffness in N/m that the resonator adds to the cone far below its resonance.
func (r Resonator) static() float64 {
	if r.FrameK == 0 {
		return 0
	}
	return r.K * r.FrameK / (r.K + r.FrameK)
}

// makeResonator is one at f2 Hz of quality q2 and mass m that is held at the frame so far that it adds a
// static stiffness in N/m to the cone; losses are in proportion to the springs.
func makeResonator(m, f2, q2, static float64) Resonator {
	w2 := 2 * math.Pi * f2
	k, r := m*w2*w2, m*w2/q2
	share := (1 - sqrt(max(0, 1-4*static/k))) / 2 // share (1-share) k = static
	return Resonator{M: m, K: k * (1 - share), R: r * (1 - share), FrameK: k * share, FrameR: r * share}
}

// ResonanceSize is how much of |Z| the resonator number i of d moves: the highest over the lowest ratio of
// |Z| with and without it within 1.6 times its frequency, less 1. Without it, its mass stays on the cone.
func (d Driver) ResonanceSize(i int) float64 {
	r := d.Resonators[i]
	without := d
	without.Resonators = slices.Delete(slices.Clone(d.Resonators), i, i+1)
	without.Mmd += r.M
	low, high := math.Inf(1), 0.0
	for _, f := range Grid(r.Frequency()/1.6, r.Frequency()*1.6, 40) {
		ratio := cmplx.Abs(d.Z(f) / without.Z(f))
		low, high = min(low, ratio), max(high, ratio)
	}
	return high/low - 1
}

// WithResonance is d with one more resonance of a size (ResonanceSize) at f2 Hz of quality q2, which is held
// at the frame by static N/m. Its mass is found by bisection and taken from the cone, of which it is a part. Where
// a third of the moving mass is not enough for the size, the quality is raised until it is.
func (d Driver) WithResonance(size, f2, q2, static float64) Driver {
	n := len(d.Resonators)
	const most = 0.33
	at := func(part float64) Driver {
		e := d
		r := makeResonator(part*d.Mmd, f2, q2, static)
		e.Mmd -= r.M
		e.Resonators = append(slices.Clone(d.Resonators), r)
		return e
	}
	for q2 < 100 && at(most).ResonanceSize(n) < size {
		q2 *= 1.4
	}
	low, high := 1e-4, most
	for range 18 {
		mid := sqrt(low * high)
		if at(mid).ResonanceSize(n) < size {
			low = mid
		} else {
			high = mid
		}
	}
	return at(sqrt(low * high))
}
