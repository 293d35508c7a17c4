package ts

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// report builds the result of a fit from the members of the average.
func (in *input) report(members []*member, all []*candidate) *Fitted {
	best := members[0]
	p := best.prob
	f := &Fitted{
		Parameters: average(members),
		Model:      ModelChoice{Coil: p.form.coil.name(), Creep: p.form.creep, RisingLoss: p.form.loss},
		Hand:       HandMethod(in.sweeps[in.ref].Impedance),
	}
	for _, c := range all { // a form may stand twice, trusted and doubted
		a := Alternative{Coil: c.prob.form.coil.name(), Creep: c.prob.form.creep, RisingLoss: c.prob.form.loss, Weight: c.weight, Chi2: c.chi2}
		same := func(b Alternative) bool {
			return b.Coil == a.Coil && b.Creep == a.Creep && b.RisingLoss == a.RisingLoss
		}
		if i := slices.IndexFunc(f.Model.Alternatives, same); i >= 0 {
			f.Model.Alternatives[i].Weight += a.Weight
			continue
		}
		f.Model.Alternatives = append(f.Model.Alternatives, a)
	}
	slices.SortStableFunc(f.Model.Alternatives, func(a, b Alternative) int { return cmpFloat(b.Weight, a.Weight) })
	q := &f.Quality
	q.Chi2 = best.chi2
	q.White = !best.misfit.any() && best.correlated == 1
	q.DoF = p.sweepRows() - (p.lay.n - len(p.lay.priors))
	q.BandHz = [2]float64{math.Inf(1), 0}
	var sum float64
	for k, s := range in.sweeps {
		z := s.Impedance
		fitted := p.impedance(best.x, k)
		c := Curve{Freq: slices.Clone(z.Freq), Measured: slices.Clone(z.Z), Fitted: fitted, Sigma: make([]float64, z.Len())}
		for i, v := range z.Z {
			c.Sigma[i] = 1 / p.obs[k].weight[i]
			d := fitted[i] - v
			if z.MagnitudeOnly {
				d = complex(cmplx.Abs(fitted[i])-real(v), 0)
			}
			sum += sq(cmplx.Abs(d) / cmplx.Abs(v))
		}
		q.Points += z.Len()
		q.BandHz[0] = min(q.BandHz[0], z.Freq[0])
		q.BandHz[1] = max(q.BandHz[1], z.Freq[z.Len()-1])
		f.Curves = append(f.Curves, c)
	}
	for _, t := range in.trust {
		for _, v := range t {
			if v < 1 {
				q.Outliers++
			}
		}
	}
	q.ResidualRMSPercent = 100 * math.Sqrt(sum/float64(q.Points))
	f.Parameters.Mounting, f.Parameters.Temperature = in.cond.Mounting, in.air.Temperature
	f.Parameters.Coverage = coverage(float64(q.DoF))
	f.Parameters.Skew = skew(f.Parameters, members)
	f.Methods = in.massMethods(f, best)
	f.Warnings = in.warnings(f, best)
	return f
}

func sq(x float64) float64 { return x * x }

// coverage returns the factor from a standard uncertainty to the half-width of
// the 95 % interval: the 97.5 % point of Student's t with the degrees of
// freedom given.
//
// Source: JCGM 100:2008, annex G (from memory).
func coverage(dof float64) float64 {
	if math.IsInf(dof, 1) {
		return distuv.UnitNormal.Quantile(0.975)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(dof, 1)}.Quantile(0.975)
}
