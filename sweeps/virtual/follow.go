package virtual

import (
	"math"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	oversampling = 4    // of the drive and of the current, beside the sample rate
	tolerance    = 1e-7 // of a step, relative to the largest value a state had
	// leastScale is what a state is held against before it has moved: A, m, m/s, N alike.
	leastScale = 1e-8
	stillAt    = 1e-9 // of the largest speed, below which the coil has come to rest
)

// Current returns the current in A through the driver, at the samples of the voltage e (V, at rate Hz) of an ideal
// source behind series ohm, from rest. What the current has above half the sample rate is left out.
//
// The states are followed by an embedded Runge-Kutta formula from one oversampled voltage to the next. With friction a
// step ends where the speed is zero; there the coil stays while the other forces are smaller than friction, and
// starts against it when they are larger.
func (d Driver) Current(e []float64, rate, series float64) []float64 {
	n := dsp.Smooth5(len(e)) * oversampling
	at := dsp.Resampler(e)
	fine := make([]float64, n)
	for j := range fine {
		fine[j] = at(float64(j) / oversampling)
	}
	f := newFollower(&d, fine, rate*oversampling, series)
	i := make([]float64, n)
	for j := 1; j < n; j++ {
		f.advance(j)
		i[j] = f.y[current]
	}
	return decimate(i, oversampling)[:len(e)]
}

// decimate returns every step-th sample of x, whose length must be a multiple of step, without what would alias.
func decimate(x []float64, step int) []float64 {
	n := len(x) / step
	spectrum := fourier.NewFFT(len(x)).Coefficients(nil, x)
	low := spectrum[:n/2+1]
	if n%2 == 0 {
		low[n/2] = 0
	}
	out := fourier.NewFFT(n).Sequence(nil, low)
	for k := range out {
		out[k] /= float64(len(x))
	}
	return out
}

// follower integrates a driver.
type follower struct {
	d      *Driver
	e      []float64 // V
	dt     float64   // s between voltages
	series float64   // ohm

	y     []float64
	scale []float64 // largest value of each state
	slide float64   // direction in which friction lets the coil move: 1, -1; 0: at rest
	k     [7][]float64
	next  []float64
	stage []float64
	fresh bool // k[0] is the slope at y
}

func newFollower(d *Driver, e []float64, rate, series float64) *follower {
	n := d.states()
	f := &follower{d: d, e: e, dt: 1 / rate, series: series, y: make([]float64, n), scale: make([]float64, n), next: make([]float64, n), stage: make([]float64, n)}
	for i := range f.k {
		f.k[i] = make([]float64, n)
	}
	for i := range f.scale {
		f.scale[i] = leastScale
	}
	return f
}

// Coefficients of the formula of order 5 with an error estimate of order 4: Dormand and Prince, J. Comp. Appl. Math. 6,
// 1980 (from memory; order and error are tested).
var (
	nodes  = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}
	matrix = [7][6]float64{
		{},
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	errorWeights = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}
)

// voltage returns the source's at the fraction u (0 to 1) of the way from sample j-1 to j, by the polynomial through
// six samples.
func (f *follower) voltage(j int, u float64) float64 {
	if j < 3 || j+2 >= len(f.e) { // there is silence at the ends
		return f.e[j-1] + u*(f.e[j]-f.e[j-1])
	}
	w := f.e[j-3 : j+3]
	a, b, c, g, h, l := u+2, u+1, u, u-1, u-2, u-3
	return -w[0]*b*c*g*h*l/120 + w[1]*a*c*g*h*l/24 - w[2]*a*b*g*h*l/12 + w[3]*a*b*c*h*l/12 - w[4]*a*b*c*g*l/24 + w[5]*a*b*c*g*h/120
}

// slope writes the derivative of y at the fraction u of interval j into dy.
func (f *follower) slope(dy, y []float64, j int, u float64) {
	held := f.d.Friction > 0 && f.slide == 0
	f.d.slope(dy, y, f.voltage(j, u), f.series, f.d.Friction*f.slide, held)
}

// try makes a step from the fraction u of interval j of the length h, as fraction of it, into next; it returns the
// error relative to the tolerance.
func (f *follower) try(j int, u, h float64) float64 {
	if !f.fresh {
		f.slope(f.k[0], f.y, j, u)
		f.fresh = true
	}
	step := h * f.dt
	for s := 1; s < len(nodes); s++ {
		to := f.stage
		if s == len(nodes)-1 {
			to = f.next
		}
		for i := range to {
			sum := 0.0
			for q := range s {
				sum += matrix[s][q] * f.k[q][i]
			}
			to[i] = f.y[i] + step*sum
		}
		f.slope(f.k[s], to, j, u+nodes[s]*h)
	}
	worst := 0.0
	for i := range f.y {
		sum := 0.0
		for q, w := range errorWeights {
			sum += w * f.k[q][i]
		}
		worst = max(worst, math.Abs(step*sum)/(tolerance*max(f.scale[i], math.Abs(f.next[i]))))
	}
	return worst
}

// accept takes the step that was tried.
func (f *follower) accept() {
	f.y, f.next = f.next, f.y
	f.k[0], f.k[6] = f.k[6], f.k[0]
	for i, v := range f.y {
		f.scale[i] = max(f.scale[i], math.Abs(v))
	}
}

// advance goes from sample j-1 to j.
func (f *follower) advance(j int) {
	const least = 1e-6 // of an interval: what no step is shorter than
	h := 1.0
	for u := 0.0; u < 1-least/2; {
		h = min(h, 1-u)
		off := f.try(j, u, h)
		if off > 1 && h > least {
			h = max(least, h*max(0.2, 0.9*math.Pow(off, -0.2)))
			continue
		}
		if part, turned := f.turn(j, u, h); turned {
			u += part
			h = 1
			continue
		}
		f.accept()
		u += h
		h *= min(5, 0.9*math.Pow(max(off, 1e-8), -0.2))
	}
}

// turn looks whether the coil comes to rest, or starts, within the step that was tried; it then goes to that
// moment, changes over, and returns how far it is.
func (f *follower) turn(j int, u, h float64) (part float64, turned bool) {
	if f.d.Friction == 0 {
		return 0, false
	}
	rest := f.slide == 0
	// beyond is below zero while nothing changes.
	beyond := func(y []float64) float64 {
		if rest {
			return math.Abs(f.d.force(y)) - f.d.Friction
		}
		return -y[speed]*f.slide - stillAt*f.scale[speed]
	}
	if beyond(f.next) <= 0 {
		return 0, false
	}
	lo, hi := 0.0, h
	before := beyond(f.y)
	after := beyond(f.next)
	for range 40 { // regula falsi with halving, as the change is nearly linear
		part = lo + (hi-lo)*min(max(before/(before-after), 0.02), 0.98)
		f.try(j, u, part)
		now := beyond(f.next)
		if now > 0 {
			hi, after = part, now
		} else {
			lo, before = part, now
		}
		if hi-lo < 1e-9 || math.Abs(now) < stillAt*f.scale[speed] && !rest {
			break
		}
	}
	f.accept()
	f.fresh = false
	if rest {
		f.slide = math.Copysign(1, f.d.force(f.y))
		return part, true
	}
	f.y[speed] = 0
	f.slide = 0
	if g := f.d.force(f.y); math.Abs(g) > f.d.Friction {
		f.slide = math.Copysign(1, g)
	}
	return part, true
}
