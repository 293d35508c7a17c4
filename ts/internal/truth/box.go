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
	PortRises  float64 // exponent with which PortLoss rises over PortAt: ½ where it is the viscous layer at the wall
	PortAt     float64 // Hz
	Hole       Hole
	AirMass    float64 // kg that the air on the cone is heavier than without the box
}

// Hole is a leak whose air has mass as well: a gap of some length. The zero Hole is none.
type Hole struct{ R, M float64 } // Pa s/m³, kg/m⁴

// Mechanical implements Load.
func (b Box) Mechanical(w float64, d Driver) complex128 {
	s := jw(w)
	y := 1 / (complex(b.Absorption, 0) + complex(d.Air.Stiffness()/b.Volume, 0)/s)
	if b.Leak > 0 {
		y += complex(1/b.Leak, 0)
	}
	if b.PortMass > 0 {
		loss := b.PortLoss
		if b.PortRises != 0 {
			loss *= math.Pow(w/(2*math.Pi*b.PortAt), b.PortRises)
		}
		y += 1 / (complex(loss, 0) + s*complex(b.PortMass, 0))
	}
	if b.Hole.R > 0 {
		y += 1 / (complex(b.Hole.R, 0) + s*complex(b.Hole.M, 0))
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

// DrawBox is a cabinet as DrawCabinet has it. Of one in two with a port the loss of the port rises with the root of frequency.
func DrawBox(rng *rand.Rand, d Driver, vented bool) Box {
	b := DrawCabinet(rng, d, vented)
	if vented && chance(rng, 0.5) {
		b.PortRises, b.PortAt = 0.5, b.Tuning(d.Air)
	}
	return b
}

// Tuning is fb in Hz.
func (b Box) Tuning(air Air) float64 {
	return sqrt(air.Stiffness()/(b.Volume*b.PortMass)) / (2 * math.Pi)
}

// Losses are those of the box at f Hz.
func (b Box) Losses(air Air, f float64) Losses {
	w := 2 * math.Pi * f * b.Volume / air.Stiffness()
	q := Losses{QL: w * b.Leak, QA: 1 / (w * b.Absorption)}
	if b.PortLoss > 0 {
		q.QP = 1 / (w * b.PortLoss)
	}
	return q
}

// BoxFault is what happens to a box.
type BoxFault int

const (
	BoxUntouched BoxFault = iota
	BoxLeaks
	PortBlocked
	WoolMissing
	PortShorter
	boxFaults
)

var boxFaultNames = [boxFaults]string{"untouched", "leak", "blocked port", "wool missing", "other tube in the port"}

func (f BoxFault) String() string { return boxFaultNames[f] }

// BoxFaults are all of them.
func BoxFaults() []BoxFault {
	var all []BoxFault
	for f := range boxFaults {
		all = append(all, f)
	}
	return all
}

// With is the box with a fault: a gap of a QL of 1.5 to 6 at f Hz, whose air is a mass from 1 to 6 times f on; a port that is stuffed, of which
// up to 5 % is left; wool that made the air 8 to 20 % more compliant and absorbed with a Q of 8 to 20, and is gone; a tube that tunes the box 8 to 25 % higher or lower.
func (b Box) With(rng *rand.Rand, fault BoxFault, air Air, f float64) Box {
	switch fault {
	case BoxLeaks:
		w := 2 * math.Pi * f
		r := betweenLog(rng, 1.5, 6) * air.Stiffness() / (w * b.Volume)
		b.Hole = Hole{R: r, M: r / (w * betweenLog(rng, 1, 6))}
	case PortBlocked:
		left := between(rng, 0, 0.05)
		if left < 0.01 {
			b.PortMass = 0
			break
		}
		b.PortMass, b.PortLoss = b.PortMass/left, b.PortLoss/left
	case WoolMissing:
		b.Volume /= between(rng, 1.08, 1.2)
		b.Absorption /= betweenLog(rng, 3, 8)
	case PortShorter:
		by := between(rng, 1.08, 1.25)
		if chance(rng, 0.5) {
			by = 1 / by
		}
		b.PortMass /= by * by
	}
	return b
}

// FaultyBox is one cabinet with its driver, before and after a fault of the box, in two sessions of a careful bench, and the driver in free air.
func FaultyBox(seed uint64, fault BoxFault, vented bool) (free, before, after Taken) {
	rng := Rand(seed, 51, uint64(fault))
	bench, rig := CommonBench(0.005), DrawRig(rng)
	d := DrawWith(rng, Plain)
	box := DrawBox(rng, d, vented)
	f := d.Values().Fs
	if vented {
		f = box.Tuning(d.Air)
	}
	if fault == WoolMissing { // it was there
		box.Absorption = woolIn(rng, box, d.Air, f)
	}
	visit := func(loads ...Load) Taken {
		return take(rng, rig, d.In(bench.Take(rng, Again, bench.Take(rng, Session, State{}))), loads...)
	}
	return visit(), visit(box), visit(box.With(rng, fault, d.Air, f))
}

// woolIn is the absorption of wool with a Q of 8 to 20 at f Hz.
func woolIn(rng *rand.Rand, b Box, air Air, f float64) float64 {
	return air.Stiffness() / (2 * math.Pi * f * b.Volume * betweenLog(rng, 8, 20))
}
