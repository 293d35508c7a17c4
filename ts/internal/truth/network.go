package truth

import "math"

// Series is all of them one after the other.
func Series(ports ...OnePort) OnePort {
	return Port(func(f float64) complex128 {
		var z complex128
		for _, p := range ports {
			z += p.Z(f)
		}
		return z
	})
}

// Parallel is all of them side by side.
func Parallel(ports ...OnePort) OnePort {
	return Port(func(f float64) complex128 {
		var y complex128
		for _, p := range ports {
			y += 1 / p.Z(f)
		}
		return 1 / y
	})
}

// Resistor is an ohmic resistance.
func Resistor(ohm float64) OnePort { return Port(func(float64) complex128 { return complex(ohm, 0) }) }

// Capacitor is one of c farad with a series resistance.
func Capacitor(c, esr float64) OnePort {
	return Port(func(f float64) complex128 { return complex(esr, 0) + 1/jw(2*math.Pi*f*c) })
}

// Inductor is a coil of a network, l henry with its winding's resistance.
func Inductor(l, ohm float64) OnePort {
	return Port(func(f float64) complex128 { return complex(ohm, 0) + jw(2*math.Pi*f*l) })
}

// Shorted is what a rig sees of leads of a resistance that touch each other: the leads.
func Shorted(ohm float64) OnePort { return Inductor(1e-6, ohm) }

// Disconnected is what a rig sees of a cable that leads nowhere: its capacitance in farad, and the leakage of
// the input in ohm.
func Disconnected(c, leakage float64) OnePort {
	return Parallel(Resistor(leakage), Capacitor(c, 0))
}
