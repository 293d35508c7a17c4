package connected

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/measured"
)

// The derivatives of every circuit against central differences, of complex impedances and of magnitudes.
func TestDerivativesOfCircuits(t *testing.T) {
	driver := []float64{math.Log(5.6), math.Log(4), 0.3, math.Log(42), math.Log(4), math.Log(38)}
	for name, c := range map[string]struct {
		with func(x []float64) response
		more []float64
	}{
		"driver":           {aDriver, nil},
		"second resonance": {aSecondResonance, []float64{math.Log(110), math.Log(3), math.Log(6)}},
		"capacitor":        {aCapacitor, []float64{math.Log(68e-6)}},
		"resistor first":   {seen{xMore, aDriver}.resistorFirst(lag), []float64{-0.4, 1.6}},
		"driver first":     {seen{xMore, aDriver}.driverFirst(lag), []float64{0.3, -2.1}},
		"probes":           {seen{xMore, aDriver}.probes(lag), []float64{1.2}},
		"creep":            {aCreepingDriver, []float64{0.07}},
		"coupling, first":  {seen{xMore + 1, aCreepingDriver}.resistorFirst(coupling), []float64{0.07, -0.4, 0.8, 0.3}},
		"coupling, driver": {seen{xMore + 1, aCreepingDriver}.driverFirst(coupling), []float64{0.07, 0.3, 1.1, -0.2}},
		"coupling, probes": {seen{xMore + 1, aCreepingDriver}.probes(coupling), []float64{0.07, 2.1, 0.2}},
		"smoothed":         {aSmoothed, []float64{math.Log2(0.3)}},
	} {
		x := append(append([]float64(nil), driver...), c.more...)
		z := measured.Impedance{Freq: []float64{5, 20, 41, 60, 200, 1900}}
		for _, f := range z.Freq {
			z.Z = append(z.Z, cmplx.Rect(7, 0.2)*complex(1, f/900))
		}
		for _, magnitudes := range []bool{false, true} {
			on := curveOf(z)
			on.magnitudeOnly = magnitudes
			p := circuit{with: c.with}.of(on, len(x))
			m, n := p.Dims()
			r, jac, up, down := make([]float64, m), make([]float64, m*n), make([]float64, m), make([]float64, m)
			p.Eval(r, jac, x)
			for j := range x {
				const h = 1e-5
				moved := append([]float64(nil), x...)
				moved[j] += h
				p.Eval(up, nil, moved)
				moved[j] -= 2 * h
				p.Eval(down, nil, moved)
				for i := range up {
					if want := (up[i] - down[i]) / (2 * h); math.Abs(jac[j*m+i]-want) > 1e-7*(1+math.Abs(want)) {
						t.Errorf("%s, unknown %d, residual %d: %v, want %v", name, j, i, jac[j*m+i], want)
					}
				}
			}
		}
	}
}
