package virtual

import (
	"math"

	"conewright/ts/notice"
)

// Driver is a moving-coil driver in the time domain, with what no impedance shows: dry friction, and stiffness, force
// factor and inductance that depend on where the coil is. With x the displacement, v = dx/dt and i the current,
//
//	e = Re i + sum R_k (i - i_k) + d/dt( L(x) i ) + BL(x) v,      L_k di_k/dt = R_k (i - i_k)
//	Mms dv/dt = BL(x) i + i^2 L'(x)/2 - K(x) x - Rms v - creep - slip - resonators - Friction sign(v)
//
// L(x) = L (1 + L1 x), BL(x) = BL (1 + BL1 x + BL2 x^2), K(x) = K (1 + K1 x + K2 x^2).
//
// Source: equivalent circuit, Small, J. Audio Eng. Soc. 20(5), 1972, by way of university course notes; friction of
// constant force against the velocity is Coulomb's; the rest from memory.
type Driver struct {
	Re           float64 // ohm
	L, L1        float64 // H, above zero; 1/m
	Eddy         []Eddy
	BL, BL1, BL2 float64 // T m; 1/m; 1/m^2
	Mms, Rms     float64 // kg; kg/s
	K, K1, K2    float64 // N/m; 1/m; 1/m^2
	Creep        []Relaxing
	Slip         []Slipping
	Resonators   []Resonator
	Friction     float64 // N, Coulomb: against any movement, and holding the coil at rest up to that force
}

// Eddy is a resistance beside an inductance, in series with the coil: currents in the iron.
type Eddy struct{ R, L float64 } // ohm, H

// Relaxing is a spring in series with a damper, beside the suspension: creep.
type Relaxing struct{ K, Tau float64 } // N/m, s

// Slipping is a spring that gives way at a force, after Dahl: df/dx = K (1 - f/F sign v). A few of them make a
// suspension that softens with the excursion and loses energy by it; a stiff one is a rub that gives a little before
// it slides.
//
// Source: P. R. Dahl, A solid friction model, 1968 (from memory).
type Slipping struct{ K, F float64 } // N/m, N

// Resonator is a part of the cone or the surround that moves by itself: a mass on a spring and a damper from the cone,
// and on others from the frame.
type Resonator struct{ M, K, R, FrameK, FrameR float64 } // kg, N/m, kg/s

// check refuses a driver that cannot be followed in time.
func (d Driver) check() error {
	sound := func(least float64, all ...float64) bool {
		for _, x := range all {
			if !(x >= least) || math.IsInf(x, 0) {
				return false
			}
		}
		return true
	}
	const tiny = 1e-300 // what must be above zero
	ok := sound(tiny, d.L, d.Mms) && sound(0, d.Re, d.BL, d.Rms, d.K, d.Friction) &&
		sound(math.Inf(-1), d.L1, d.BL1, d.BL2, d.K1, d.K2)
	for _, e := range d.Eddy {
		ok = ok && sound(0, e.R) && sound(tiny, e.L)
	}
	for _, r := range d.Creep {
		ok = ok && sound(0, r.K) && sound(tiny, r.Tau)
	}
	for _, s := range d.Slip {
		ok = ok && sound(0, s.K) && sound(tiny, s.F)
	}
	for _, r := range d.Resonators {
		ok = ok && sound(tiny, r.M) && sound(0, r.K, r.R, r.FrameK, r.FrameR)
	}
	if !ok {
		return notice.New("virtual-driver", nil)
	}
	return nil
}

// Where a state is; the others follow in the order of the fields of Driver.
const (
	current = iota // A
	place          // m
	speed          // m/s
	first
)

// states returns the number of states.
func (d *Driver) states() int {
	return first + len(d.Eddy) + len(d.Creep) + len(d.Slip) + 2*len(d.Resonators)
}

// force returns the force in N on the coil without Coulomb's friction in the state y.
func (d *Driver) force(y []float64) float64 {
	i, x, v := y[current], y[place], y[speed]
	f := d.BL*(1+x*(d.BL1+x*d.BL2))*i + i*i*d.L*d.L1/2 - d.K*x*(1+x*(d.K1+x*d.K2)) - d.Rms*v
	at := first + len(d.Eddy)
	for _, r := range d.Creep {
		f -= r.K * y[at]
		at++
	}
	for range d.Slip {
		f -= y[at]
		at++
	}
	for _, r := range d.Resonators {
		f -= r.K*(x-y[at]) + r.R*(v-y[at+1])
		at += 2
	}
	return f
}

// slope writes the derivative of the state y into dy, with e volts across coil and series resistance (ohm) and a
// friction force (N) against the coil; a coil that is held does not move.
func (d *Driver) slope(dy, y []float64, e, series, friction float64, held bool) {
	i, x, v := y[current], y[place], y[speed]
	u := e - (d.Re+series)*i - (d.BL*(1+x*(d.BL1+x*d.BL2))+d.L*d.L1*i)*v
	at := first
	for _, k := range d.Eddy {
		back := k.R * (i - y[at])
		u -= back
		dy[at] = back / k.L
		at++
	}
	dy[current] = u / (d.L * (1 + d.L1*x))
	dy[place] = v
	dy[speed] = 0
	if !held {
		dy[speed] = (d.force(y) - friction) / d.Mms
	}
	for _, r := range d.Creep {
		dy[at] = v - y[at]/r.Tau
		at++
	}
	for _, s := range d.Slip {
		dy[at] = s.K * (v - y[at]/s.F*math.Abs(v))
		at++
	}
	for _, r := range d.Resonators {
		dy[at] = y[at+1]
		dy[at+1] = (r.K*(x-y[at]) + r.R*(v-y[at+1]) - r.FrameK*y[at] - r.FrameR*y[at+1]) / r.M
		at += 2
	}
}
