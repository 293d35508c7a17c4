package truth

import (
	"math"
	"math/rand/v2"
)

// Mass is a mass on the cone. The zero values beside Kg are a mass that is rigid and in the middle.
type Mass struct {
	Kg    float64
	Glue  float64 // resonance of the mass on its glue with the cone held, Hz; 0: rigid
	Q     float64 // of that resonance
	Off   float64 // m from the axis
	Rocks Rocking // of the cone, for a mass off the axis
}

// Rocking is the rotation of the cone about a diameter.
type Rocking struct{ Inertia, Frequency, Q float64 } // kg m², Hz, 1

// Mechanical implements Load. On glue of impedance Zg the mass moves as
//
//	Za = 1/(1/(jωm) + 1/Zg)
//
// and at a distance d from the axis it turns a cone of rotational impedance Zr as well, so that the
// cone feels
//
//	Za - Za² d²/(Zr + Za d²) = Za Zr/(Zr + Za d²)
//
// Derived here from the two equations of motion; the limits are in the tests.
func (m Mass) Mechanical(w float64, _ Driver) complex128 {
	s := jw(w)
	z := s * complex(m.Kg, 0)
	if m.Glue > 0 {
		g := makeResonator(m.Kg, m.Glue, m.Q, 0)
		z = g.Impedance(w)
	}
	if m.Off > 0 {
		wr := 2 * math.Pi * m.Rocks.Frequency
		turn := complex(m.Rocks.Inertia, 0) * (s + complex(wr/m.Rocks.Q, 0) + complex(wr*wr, 0)/s)
		z = z * turn / (turn + z*complex(m.Off*m.Off, 0))
	}
	return z
}

// Scale is the shop's scale. Its relative error is shared by all that is weighed on it.
type Scale struct{ Error float64 }

// DrawScale is a scale that is 1 to 2 % off, to either side.
func DrawScale(rng *rand.Rand) Scale {
	e := between(rng, 0.01, 0.02)
	if chance(rng, 0.5) {
		e = -e
	}
	return Scale{Error: e}
}

// Piece is a mass as it is stated and as it is.
type Piece struct{ Told, True float64 } // kg

// Weigh is a piece that this scale shows as told kg, with 0.2 % or 20 mg of its own, whichever is more: the
// reading of a pocket scale.
func (s Scale) Weigh(rng *rand.Rand, told float64) Piece {
	own := max(0.002*told, 2e-5)
	return Piece{Told: told, True: told/(1+s.Error) + own*rng.NormFloat64()}
}

// Placing is how masses are put on cones. Shares are probabilities.
type Placing struct {
	Putty      float64 // kg that was not weighed
	PuttyShare float64
	SoftShare  float64 // of masses whose glue is soft
	OffShare   float64 // of masses that sit off the axis, by up to a fifth of the radius
}

// CommonPlacing forgets 0.2 g of putty half of the time, has a soft glue in one of four and a mass off
// the axis in one of two (common practice).
var CommonPlacing = Placing{Putty: 2e-4, PuttyShare: 0.5, SoftShare: 0.25, OffShare: 0.5}

// Put is a piece on the cone of d, once: the next time it sits differently.
func (p Placing) Put(rng *rand.Rand, piece Piece, d Driver) Mass {
	fs := d.Values().Fs
	m := Mass{Kg: piece.True, Q: between(rng, 3, 10)}
	if chance(rng, p.PuttyShare) {
		m.Kg += p.Putty
	}
	if chance(rng, p.SoftShare) {
		m.Glue = max(betweenLog(rng, 200, 800), 5*fs)
	}
	if chance(rng, p.OffShare) {
		m.Off = between(rng, 0, 0.2) * d.Radius()
		// A cone turns about a diameter with a quarter of M a², 1.3 to 2.5 times as fast as it moves.
		m.Rocks = Rocking{Inertia: d.Mmd * d.Sd / math.Pi / 4, Frequency: between(rng, 1.3, 2.5) * fs, Q: between(rng, 5, 15)}
	}
	return m
}

// Loose is a mass that rattles: its glue resonates within the band of the sweep.
func Loose(rng *rand.Rand, kg float64, d Driver) Mass {
	return Mass{Kg: kg, Glue: between(rng, 1.2, 3) * d.Values().Fs, Q: between(rng, 4, 12)}
}
