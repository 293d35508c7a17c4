package truth

import "math"

// Metal is how a metal follows its temperature.
type Metal struct{ PerKelvin float64 }

var (
	Copper    = Metal{0.00393} // resistance, 1/K at 20 °C (handbook value)
	Aluminium = Metal{0.00403} // the same, of electrical conductor grade (from memory)
	Ferrite   = Metal{-0.0020} // remanence of a hard ferrite magnet (common practice)
	Neodymium = Metal{-0.0011} // the same of neodymium iron boron (common practice)
)

// State is how a driver presents itself for one sweep, in comparison with how it was drawn. The zero State
// is as drawn, at 20 °C.
type State struct {
	Stiffness float64 // ln of the stiffness over that as drawn
	Loss      float64 // ln of loss angle and viscous loss over those as drawn
	Room      float64 // K above 20 °C: magnet and coil
	Coil      float64 // K of the coil above the room
}

// In is the driver in a state.
func (d Driver) In(s State) Driver {
	const at = 2 * math.Pi * 40 // where Stiffness is that of the stiffness: near the resonance of a woofer
	d.Suspension = Changed{Of: d.Suspension, Factor: math.Exp(s.Stiffness), Loss: math.Exp(s.Loss), At: at}
	d.Rv *= math.Exp(s.Loss)
	d.Re *= 1 + d.Wire.PerKelvin*(s.Room+s.Coil)
	d.BL *= 1 + d.Magnet.PerKelvin*s.Room
	return d
}

// Worked is the state some hours after the suspension was worked and had softened by a share (0.1: 10 %). It
// recovers with the logarithm of time, wholly within a week: a share of 10 to 20 % "partly recovering after
// rest" is common practice, the law of creep recovery in textiles and rubber is from memory.
func (s State) Worked(share, hours float64) State {
	left := 1 - math.Log1p(60*hours)/math.Log1p(60*24*7)
	s.Stiffness += math.Log1p(-share * max(0, left))
	return s
}

// Repaired changes a driver for good: factors of stiffness, moving mass and motor.
type Repaired struct{ Stiffness, Mass, BL float64 }

// Repair is the driver after a repair. A zero factor is 1.
func (d Driver) Repair(r Repaired) Driver {
	one := func(x float64) float64 {
		if x == 0 {
			return 1
		}
		return x
	}
	d.Suspension = Changed{Of: d.Suspension, Factor: one(r.Stiffness), Loss: 1, At: 1}
	d.Rv *= one(r.Stiffness) // a stiffer surround is lossier in proportion: its loss angle stays
	d.Mmd += (one(r.Mass) - 1) * d.Values().Mms
	d.BL *= one(r.BL)
	return d
}
