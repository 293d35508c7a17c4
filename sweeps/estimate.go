package sweeps

import "conewright/ts"

// Estimate turns a recording into an impedance with its noise.
func Estimate(rec *Recording, b Bench) (ts.Impedance, error) {
	panic("sweeps: Estimate is not written yet")
}
