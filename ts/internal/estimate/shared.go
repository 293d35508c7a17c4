package estimate

import "math"

// What sweeps of one driver have in common is told in two ways: shared finds it in the residuals; mostRepeats takes the most that
// it can be, where pieces of a law are fitted, which take what is wrong with the law out of the residuals.

// shared returns the factor by which the variance of a mean over the sweeps exceeds that of independent ones,
//
//	1 + 2 pairs rho/sweeps        for sweeps that all have one load: 1 + (sweeps - 1) rho
//
// from the residuals of a solution; rho is the correlation of two sweeps with the same load at the same
// frequency. What repeats leave in common (the steps of a table, a shape narrower than all splines) is an error of the model:
// sweeping again makes it no smaller, so it counts once, theory (4.11). 1 where rho is not clearly above zero.
//
// Source: variance of a mean of equally correlated values (design effect of a cluster), textbook.
func (s *solution) shared() float64 {
	p := s.prob
	if len(p.obs) < 2 {
		return 1
	}
	r := p.mem.columns(p.nrows)
	p.Eval(r, nil, s.x)
	var power, product, pairs, rows float64
	for k := range p.obs {
		o := &p.obs[k]
		for _, v := range r[o.row : o.row+o.rows()] {
			power += v * v / float64(p.sweepRows())
		}
		for l := range k {
			q := &p.obs[l]
			if q.load != o.load || q.magnitudeOnly != o.magnitudeOnly {
				continue
			}
			pairs++
			j := 0
			for i, at := range o.Lnw { // the point of the other sweep that is nearest
				for j+1 < len(q.Lnw) && math.Abs(q.Lnw[j+1]-at) <= math.Abs(q.Lnw[j]-at) {
					j++
				}
				for part := range o.parts() {
					product += r[o.row+part*len(o.z)+i] * r[q.row+part*len(q.z)+j]
					rows++
				}
			}
		}
	}
	if power == 0 || rows == 0 {
		return 1
	}
	rho := product / rows / power
	if rho < 3/math.Sqrt(rows) {
		return 1
	}
	return 1 + 2*pairs*rho/float64(len(p.obs))
}

// mostRepeats returns how many sweeps there are of the condition that has most. What is wrong with a law is the same in all of
// them: where a law is in doubt they say no more about it than one, and only what differs between them is averaged. theory (4.11),
// docs/decisions/0070.
func (o *observed) mostRepeats() float64 {
	count := map[int]int{}
	most := 0
	for k := range o.obs {
		count[o.obs[k].load]++
		most = max(most, count[o.obs[k].load])
	}
	return float64(most)
}
