package estimate

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/law"
)

// frequencyErrors lists the sources of errors of the frequencies in order of appearance. Sweeps of one source have one
// counter, which is off by one factor in all of them.
func (o *observed) frequencyErrors() (all []string) {
	for _, s := range o.sweeps {
		f := s.Impedance.Frequency
		if f.Std > 0 && !slices.Contains(all, f.Source()) {
			all = append(all, f.Source())
		}
	}
	return all
}

// shifted returns the change in ohm of the modelled impedance of sweep k where its frequencies are higher by the small
// part given; of its magnitude where that was measured. Derived: the difference of the model to either side.
func (p *problem) shifted(x []float64, k int, part float64) []complex128 {
	at := func(factor float64) []complex128 {
		q := *p
		q.obs = slices.Clone(p.obs)
		freq := make([]float64, len(q.obs[k].z))
		for i, w := range q.obs[k].W {
			freq[i] = factor * w / (2 * math.Pi)
		}
		q.obs[k].Axis = law.NewAxis(freq)
		return q.impedance(x, k)
	}
	up, down := at(1+part), at(1-part)
	for i := range up {
		if p.obs[k].magnitudeOnly {
			up[i] = complex((cmplx.Abs(up[i])-cmplx.Abs(down[i]))/2, 0)
		} else {
			up[i] = (up[i] - down[i]) / 2
		}
	}
	return up
}
