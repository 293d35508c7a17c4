package truth

import (
	"math"
	"math/rand/v2"
)

// Box is a box behind the cone: closed, or with a port where PortMass is not 0.
//
//	Zab = 1/[ 1/R_AL + 1/(R_AB + 1/(jωC_AB)) + 1/(R_AP + jωM_AP) ],  C_AB = V/(ρc²)
//
// Reference: Small, Closed-box and Vented-box loudspeaker systems, JAES 1972 and 1973 (from memory; the
// table in the tests agrees with a circuit simulator).
type Box struct {
	Volume     float64 // m³
	Leak       float64 // R_AL, Pa s/m³; 0: tight
	Absorption float64 // R_AB, Pa s/m³
	PortMass   float64 // M_AP, kg/m⁴; 0: closed
	PortLoss   float64 // R_AP, Pa s/m³
	AirMass    float64 // kg that the air on the cone is heavier than without the box
}

// Mechanical implements Load.
func (b Box) Mechanical(w float64, d Driver) complex128 {
	s := jw(w)
	y := 1 / (complex(b.Absorption, 0) + complex(d.Air.Stiffness()/b.Volume, 0)/s)
	if b.Leak > 0 {
		y += complex(1/b.Leak, 0)
	}
	if b.PortMass > 0 {
		y += 1 / (complex(b.PortLoss, 0) + s*complex(b.PortMass, 0))
	}
	return complex(d.Sd*d.Sd, 0)/y + s*complex(b.AirMass, 0)
}

// Losses of a box: the quality factors at the tuning of the box, or at fc of a closed one. Zero is none.
type Losses struct{ QL, QA, QP float64 }

// Vented is a box of a volume in m³ tuned to fb Hz:
//
//	QL = ωb C_AB R_AL   QA = 1/(ωb C_AB R_AB)   QP = 1/(ωb C_AB R_AP)
func Vented(air Air, volume, fb float64, q Losses) Box {
	b := Closed(air, volume, fb, q)
	c, w := volume/air.Stiffness(), 2*math.Pi*fb
	b.PortMass = 1 / (w * w * c)
	if q.QP > 0 {
		b.PortLoss = 1 / (w * c * q.QP)
	}
	return b
}

// Closed is a closed box of a volume in m³ with losses that are counted at f Hz.
func Closed(air Air, volume, f float64, q Losses) Box {
	b := Box{Volume: volume}
	c, w := volume/air.Stiffness(), 2*math.Pi*f
	if q.QL > 0 {
		b.Leak = q.QL / (w * c)
	}
	if q.QA > 0 {
		b.Absorption = 1 / (w * c * q.QA)
	}
	return b
}

// VentedWithPeaks is a box in which a driver of the handbook with the values v would have its two peaks at
// low and high Hz:
//
//	fL fH = fs fb    fL² + fH² = (1+α) fs² + fb²
//
// false where no box does that.
func VentedWithPeaks(v Values, air Air, low, high float64, q Losses) (Box, bool) {
	fb := low * high / v.Fs
	alpha := (low*low+high*high-fb*fb)/(v.Fs*v.Fs) - 1
	if alpha <= 0 {
		return Box{}, false
	}
	return Vented(air, v.Vas/alpha, fb, q), true
}

// boxAir is the air mass in kg that a box adds to a driver that was without a baffle: instead of 8/3 ρa³ for
// both sides, 1.9 to 2.7 ρa³ in front (a tube's end to an infinite baffle) and 2 to 2.7 ρa³ behind, of which
// the basket shields a part (Beranek's factors, from memory).
func boxAir(rng *rand.Rand, d Driver) float64 {
	a := d.Radius()
	return d.Air.Rho * a * a * a * between(rng, 1, 2.4)
}

// DrawTestBox is a closed box for the volume method: its true volume is off by a few percent from told m³, it
// leaks a little, and the air on the cone is heavier than without it.
func DrawTestBox(rng *rand.Rand, d Driver, told float64) Box {
	v := d.Values()
	fc := v.Fs * sqrt(1+v.Vas/told)
	b := Closed(d.Air, told*(1+0.02*rng.NormFloat64()), fc, Losses{QL: betweenLog(rng, 10, 200), QA: betweenLog(rng, 30, 200)})
	if d.Mounting == FreeAir {
		b.AirMass = boxAir(rng, d)
	}
	return b
}

// DrawCabinet is a cabinet that a driver of these values might have come out of: vented to 0.7 to 1.5 times
// Fs, or closed.
func DrawCabinet(rng *rand.Rand, d Driver, vented bool) Box {
	v := d.Values()
	alpha := betweenLog(rng, 0.6, 5)
	q := Losses{QL: betweenLog(rng, 5, 20), QA: betweenLog(rng, 20, 100), QP: betweenLog(rng, 20, 100)}
	b := Closed(d.Air, v.Vas/alpha, v.Fs*sqrt(1+alpha), q)
	if vented {
		b = Vented(d.Air, v.Vas/alpha, v.Fs*between(rng, 0.7, 1.5), q)
	}
	if d.Mounting == FreeAir {
		b.AirMass = boxAir(rng, d)
	}
	return b
}
