package truth

import (
	"math"
	"math/cmplx"
)

// Level is how loud a sweep was: the voltage of the source and what lies between it and the driver. The zero
// Level is small signals.
type Level struct {
	Volt   float64 // V rms of the source
	Series float64 // ohm between source and driver
}

// Softening is how a suspension depends on the excursion X (peak, m), over what it is at rest:
//
//	storage  1 - Share u/(1+u) + Harden X²        u = (X/Knee)^{2m}, m = 1/2
//	loss     + Share √u/(2(1+u))
//
// Rubber and resin soften from the smallest strains on, with a loss that has its maximum where the
// softening is half done (Kraus' form of the Payne effect, 1984, from memory); a folded suspension hardens
// when it is stretched. Share of 5 to 15 % and a knee of 0.1 to 1 mm are common practice: Fs falls by 2 to
// 6 % from millivolts to a volt.
type Softening struct {
	Share  float64
	Knee   float64 // m
	Harden float64 // 1/m²
}

// factor multiplies the stiffness at an excursion of x m peak.
func (s Softening) factor(x float64) complex128 {
	if s.Share == 0 || x == 0 {
		return complex(1+s.Harden*x*x, 0)
	}
	u := x / s.Knee // (x/Knee)^{2m}
	return complex(1-s.Share*u/(1+u)+s.Harden*x*x, s.Share*sqrt(u)/(2*(1+u)))
}

// Driven is a driver at a level. The impedance is that of the fundamental with the stiffness that belongs to
// the excursion at each frequency.
type Driven struct {
	Of    Loaded
	Level Level
}

// At is the driver with its loads at a level.
func (l Loaded) At(level Level) Driven { return Driven{Of: l, Level: level} }

// Z implements OnePort.
func (d Driven) Z(f float64) complex128 {
	driver := d.Of.Driver
	return driver.Blocked().Z(f) + complex(driver.BL*driver.BL, 0)/d.motion(2*math.Pi*f)
}

// motion is the mechanical impedance at w rad/s in kg/s.
func (d Driven) motion(w float64) complex128 { return d.Of.motion(w, d.stiffness(w)) }

// stiffness is the complex stiffness at w rad/s and the excursion there, by fixed-point iteration.
func (d Driven) stiffness(w float64) complex128 {
	driver := d.Of.Driver
	still := driver.Suspension.Stiffness(w)
	if d.Level.Volt == 0 {
		return still
	}
	x, k := 0.0, still
	blocked := driver.Blocked().Z(w/(2*math.Pi)) + complex(d.Level.Series, 0)
	for range 60 {
		// v = BL e/(Ze Zm + BL²), x = v/ω, e peak
		v := complex(driver.BL*d.Level.Volt*math.Sqrt2, 0) / (blocked*d.Of.motion(w, k) + complex(driver.BL*driver.BL, 0))
		next := (x + cmplx.Abs(v)/w) / 2
		if math.Abs(next-x) < 1e-15+1e-13*x {
			break
		}
		x, k = next, still*driver.Softens.factor(next)
	}
	return k
}

// Excursion is the peak excursion in m at f Hz.
func (d Driven) Excursion(f float64) float64 {
	w, driver := 2*math.Pi*f, d.Of.Driver
	ze := driver.Blocked().Z(f) + complex(d.Level.Series, 0)
	bl := complex(driver.BL, 0)
	return cmplx.Abs(bl*complex(d.Level.Volt*math.Sqrt2, 0)/(ze*d.motion(w)+bl*bl)) / w
}
