package estimate

import (
	"math"

	"conewright/ts/measured"
)

// leakQ returns the quality factor of the leak of the box at the resonance on it, infinite where none is sure.
func (in input) leakQ(best member) float64 {
	at := best.prob.lay.leak
	if at < 0 {
		return math.Inf(1)
	}
	c, err := best.result.CovarianceTo(nil)
	if err != nil || best.x[at] < surelyLeaks*math.Sqrt(c[at*best.prob.lay.n+at]) {
		return math.Inf(1)
	}
	for _, s := range in.sweeps {
		if s.Load.Kind == measured.KnownBox {
			return measured.OutlineOf(s.Impedance).Fs / in.outline.Fs / best.x[at]
		}
	}
	return math.Inf(1)
}
