package nonlinear

import "math"

// Friction is dry friction between the moving parts and what holds still: a coil that rubs. It is a force against the
// velocity whose size does not depend on it (Coulomb). Before it slides it may give a little, like a spring, after Dahl:
//
//	df/dx = (Force/Slides) (1 - f/Force sign v)
//
// Source: Coulomb damping as in the standard of acoustical terms (read); Dahl's law from memory.
type Friction struct {
	Force  float64 // N
	Slides float64 // m over which the force builds up after each turn; 0: at once
}

const (
	quadrature = 256  // points over half a period, spectrally exact for what Dahl's law has
	asCoulomb  = 1500 // times Slides: an excursion from which the build-up is too short to be resolved, or to matter
)

// Shape returns the harmonics 1, 3, 5 ... of a friction of 1 N under a velocity sin(t), where the cone swings by x (m) to
// either side; the phasor c of order n stands for Im(c exp(j n t)). It fills c. With u = x/Slides, from one turn to the next
//
//	f = 1 - (1 + tanh u) exp( -u (1 - cos t) ),   c_n = 4/(n pi) for Coulomb's
//
// so that the work in a cycle is 4 x (1 - tanh(u)/u). Theory (9.1) to (9.3); derived. Without any excursion there is no
// friction.
func (f Friction) Shape(c []complex128, x float64) {
	if f.Slides == 0 || x > asCoulomb*f.Slides {
		for k := range c {
			c[k] = complex(4/(float64(2*k+1)*math.Pi), 0)
		}
		return
	}
	clear(c)
	u := x / f.Slides
	top := 1 + math.Tanh(u)
	const step = math.Pi / quadrature
	for q := range quadrature {
		t := (float64(q) + 0.5) * step
		s1, c1 := math.Sincos(t)
		force := (1 - top*math.Exp(-u*(1-c1))) * 2 * step / math.Pi
		s, co := s1, c1
		s2, c2 := 2*s1*c1, c1*c1-s1*s1
		for k := range c {
			c[k] += complex(force*s, force*co)
			s, co = s*c2+co*s2, co*c2-s*s2
		}
	}
}

// Resistance returns what friction is worth to the fundamental: a viscous resistance in kg/s and beside it a stiffness in
// N/m, for a velocity of v (m/s, peak) at f Hz. Theory (9.2):
//
//	R = 4 Force/(pi v) (1 - tanh(u)/u)
//
// It falls as the velocity grows, where the suspension's own loss does not. It takes the velocity as a sine, so it is 7 %
// too high where the coil is at rest for a fourth of the time.
//
// Source: describing function of a relay (Taylor 1999, introduction read); with Dahl's law derived.
func (f Friction) Resistance(v, freq float64) (r, k float64) {
	if f.Force == 0 || v == 0 {
		return 0, 0
	}
	var c [1]complex128
	w := 2 * math.Pi * freq
	f.Shape(c[:], v/w)
	// A spring's force is k x = k v/(j w): its phasor is -j k v/w.
	return f.Force * real(c[0]) / v, -f.Force * imag(c[0]) * w / v
}
