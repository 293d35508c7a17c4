package estimate

import (
	"math"

	"conewright/ts/measured"
	"conewright/ts/repeat"
)

// Scatter returns how far the logarithms of Fs, Qms and Re of each sweep in free air of one driver
// lie from those of the first. Each is fitted together with the first, so that both have the same
// coil: alone, each might be given another law of it, which would count as scatter. Where no
// one coil fits both, each is fitted alone.
func Scatter(sweeps []measured.Sweep, cond measured.Conditions) ([][3]float64, error) {
	out := make([][3]float64, len(sweeps))
	cond.Repeats = repeat.Session // as far apart as they may be
	for k := 1; k < len(sweeps); k++ {
		if both, err := Fit([]measured.Sweep{sweeps[0], sweeps[k]}, cond); err == nil && both.Runs != nil {
			for i := range out[k] {
				out[k][i] = both.Runs[1][i] - both.Runs[0][i]
			}
			continue
		}
		first, err := Fit(sweeps[:1], cond)
		if err != nil {
			return nil, err
		}
		this, err := Fit(sweeps[k:k+1], cond)
		if err != nil {
			return nil, err
		}
		for i, id := range repeat.Quantities {
			a, _ := this.Parameters.Get(id)
			b, _ := first.Parameters.Get(id)
			out[k][i] = math.Log(a.Value / b.Value)
		}
	}
	return out, nil
}
