// Package nonlinear is the physics of what does not follow the level: friction, and a stiffness and
// a force factor that depend on where the coil is. Forward only.
package nonlinear

import (
	"math"
	"math/cmplx"

	"conewright/ts/driver"
)

// Uneven is what of a driver depends on where the coil is, as parts of what it is at rest: stiffness
// 1 + K1 x + K2 x^2, force factor 1 + BL1 x + BL2 x^2.
type Uneven struct {
	K1, BL1 float64 // 1/m
	K2, BL2 float64 // 1/m^2
}

// StiffnessAt returns the stiffness for the fundamental at an excursion of x (m, peak) over that at rest, theory (9.6):
// 1 + 3/4 K2 x^2. From sin^3 t.
func (u Uneven) StiffnessAt(x float64) float64 { return 1 + 0.75*u.K2*x*x }

// Tone is a driver at work at one frequency: its fundamental. Phasors stand for Im(c exp(j w t)).
type Tone struct {
	Freq     float64    // Hz
	Velocity complex128 // m/s, peak
	Current  complex128 // A, peak
}

// place returns the displacement in m.
func (t Tone) place() complex128 { return t.Velocity / complex(0, 2*math.Pi*t.Freq) }

// The part of order 2, or 3, of the product of two, or three, sines: -j/2 a b, and -a b c/4. From sin(s) sin(t) and
// sin^3 t.
func second(a, b complex128) complex128   { return complex(0, -0.5) * a * b }
func third(a, b, c complex128) complex128 { return -0.25 * a * b * c }

// Push is what a non-linearity does at one order: the force in N against the movement and the voltage in V against the
// current.
type Push struct{ Force, Voltage complex128 }

// Push returns order 2 or 3 of what the uneven suspension and motor of d do under the tone; nothing for other orders.
// Theory (9.5):
//
//	suspension  Force = K K1 (x x)_2,  K K2 (x x x)_3
//	motor       Force = -BL BL1 (x i)_2, -BL BL2 (x x i)_3,   Voltage = BL BL1 (x v)_2, BL BL2 (x x v)_3
//
// Derived; checked against integration in time (testdata/friction).
func (u Uneven) Push(d driver.Driver, t Tone, n int) Push {
	x, v, i := t.place(), t.Velocity, t.Current
	bl, k := complex(d.BL, 0), complex(1/d.Cms, 0)
	switch n {
	case 2:
		k1, b1 := complex(u.K1, 0), bl*complex(u.BL1, 0)
		return Push{k*k1*second(x, x) - b1*second(x, i), b1 * second(x, v)}
	case 3:
		k2, b2 := complex(u.K2, 0), bl*complex(u.BL2, 0)
		return Push{k*k2*third(x, x, x) - b2*third(x, x, i), b2 * third(x, x, v)}
	}
	return Push{}
}

// Push returns order n of what friction does under the tone.
func (f Friction) Push(t Tone, n int) Push {
	if n%2 == 0 || f.Force == 0 || t.Velocity == 0 {
		return Push{}
	}
	c := make([]complex128, (n+1)/2)
	size := cmplx.Abs(t.Velocity)
	f.Shape(c, size/(2*math.Pi*t.Freq))
	turn := complex(1, 0) // of the velocity, n times
	for range n {
		turn *= t.Velocity / complex(size, 0)
	}
	return Push{Force: complex(f.Force, 0) * c[n/2] * turn}
}

// Current returns the current in A at f Hz that the push makes in a driver behind a resistance of series ohm,
// theory (9.4):
//
//	i = (BL F - U Zm)/( (Ze + series) Zm + BL^2 )
//
// Derived from (1.1).
func (p Push) Current(d driver.Driver, f, series float64) complex128 {
	zm := d.Mechanical(f, 0, 0)
	ze := complex(d.Re+series, 0)
	if d.Coil != nil {
		ze += d.Coil.Impedance(2 * math.Pi * f)
	}
	bl := complex(d.BL, 0)
	return (bl*p.Force - p.Voltage*zm) / (ze*zm + bl*bl)
}
