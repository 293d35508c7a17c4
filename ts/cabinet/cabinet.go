// Package cabinet says what a driver does below 200 Hz in its cabinet, closed or vented,
// and what a change of the driver means there. Forward only: it looks for no best cabinet.
//
// It is the pressure into half a space of a piston that is small against the wave, without
// the room, the edges of the cabinet and the inductance of the coil.
package cabinet

import (
	"math"
	"math/cmplx"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// UsualLeak is QL of a cabinet of which nothing else is known.
//
// Source: Small, J. Audio Eng. Soc. 21, 1973, vented boxes, part III (from memory).
const UsualLeak = 7

// Cabinet is a closed or a vented box.
type Cabinet struct {
	Volume float64 // m^3, inside, without what driver and vent take up
	Tuning float64 // Hz, of the vent with the box; 0: closed
	Leak   float64 // QL of a vented box at its tuning; 0: UsualLeak
}

// Check refuses what is no cabinet.
func (c Cabinet) Check() error {
	err := bounds.Volume.Known(c.Volume, 0)
	if c.Tuning != 0 {
		err = bounds.First(err, bounds.Frequency.Known(c.Tuning, 0))
	}
	return bounds.First(err, bounds.Quality.Given(c.Leak, 0))
}

// Driver is what a cabinet needs to know of a driver, in SI units.
type Driver struct{ Re, Fs, Qms, Qes, Vas float64 }

// needed are the quantities of a Driver in its order.
var needed = [...]param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Vas}

// DriverOf takes the driver from a set of values. Without Vas, which takes a sweep with a
// known mass or box and the diameter of the cone, it is refused.
func DriverOf(p param.Parameters) (Driver, error) {
	var v [len(needed)]float64
	for i, id := range needed {
		e, ok := p.Get(id)
		if !ok {
			return Driver{}, notice.New("cabinet-needs", notice.Facts{"quantity": id})
		}
		v[i] = e.Value
	}
	return driverOf(v), nil
}

func driverOf(v [len(needed)]float64) Driver { return Driver{v[0], v[1], v[2], v[3], v[4]} }

// Qts is the total Q.
func (d Driver) Qts() float64 { return d.Qms * d.Qes / (d.Qms + d.Qes) }

// Response is the pressure at f (Hz) over that far above the resonance.
//
//	closed  G = s^2/(s^2 + s/Qtc + 1),  s = jf/fc,  fc/Fs = Qtc/Qts = sqrt(1 + Vas/Vb)
//	vented  G = s^4 Tb^2 Ts^2/D,  T = 1/w,  a = Vas/Vb
//	        D = s^4 Tb^2 Ts^2 + s^3 (Tb^2 Ts/Qts + Tb Ts^2/QL) + s^2 ((a+1) Tb^2 + Tb Ts/(QL Qts) + Ts^2) + s (Tb/QL + Ts/Qts) + 1
//
// Source: Small, J. Audio Eng. Soc. 20, 1972, 798 (closed) and 21, 1973, 363 (vented), from
// memory; checked against published alignments. Theory (10.1), (10.2).
func (c Cabinet) Response(d Driver, f float64) complex128 {
	a := d.Vas / c.Volume
	if c.Tuning == 0 {
		k := math.Sqrt(1 + a)
		s := complex(0, f/(k*d.Fs))
		return s * s / (s*s + s/complex(k*d.Qts(), 0) + 1)
	}
	leak := c.Leak
	if leak == 0 {
		leak = UsualLeak
	}
	s := complex(0, f)
	ts, tb, q := 1/d.Fs, 1/c.Tuning, d.Qts()
	top := s * s * s * s * complex(tb*tb*ts*ts, 0)
	return top / (top + s*s*s*complex(tb*tb*ts/q+tb*ts*ts/leak, 0) +
		s*s*complex((a+1)*tb*tb+tb*ts/(leak*q)+ts*ts, 0) + s*complex(tb/leak+ts/q, 0) + 1)
}

// Level is the level in dB at f (Hz) for a fixed voltage, up to a constant that all drivers
// share: that of the reference efficiency with the power that the voltage gives.
//
//	L = 20 lg |G| + 10 lg( Fs^3 Vas/(Qes Re) )
//
// Source: (2.11), (2.12). Theory (10.3).
func (c Cabinet) Level(d Driver, f float64) float64 {
	return 20*math.Log10(cmplx.Abs(c.Response(d, f))) + c.passband(d)
}

// passband is the level far above the resonance.
func (c Cabinet) passband(d Driver) float64 {
	return 10 * math.Log10(d.Fs*d.Fs*d.Fs*d.Vas/(d.Qes*d.Re))
}
