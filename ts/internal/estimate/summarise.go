package estimate

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/internal/stat"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// summarise builds the result of a fit from the members of the average. It refuses
// values that no driver has, masses that contradict each other, and a mass that had no effect.
func (in input) summarise(all []candidate, members []member, lost float64) (*fitted.Result, error) {
	best := members[0]
	p, l := best.prob, best.prob.lay
	f := &fitted.Result{
		Parameters: average(members),
		Coil:       p.form.coil.Coil(best.x[l.coil : l.coil+l.coils]),
		Model:      fitted.ModelChoice{Coil: p.form.coil.Name(), Creep: p.form.creep},
		Hand:       measured.HandMethod(in.sweeps[in.ref].Impedance),
		Runs:       in.runsOf(all[0].solution),
	}
	if in.cabinet == (cabinet{}) {
		f.Second = in.secondBeside(all)
	}
	for _, c := range all { // a form may stand twice, trusted and doubted
		a := fitted.Alternative{Coil: c.prob.form.coil.Name(), Creep: c.prob.form.creep, Weight: c.weight, Chi2: c.chi2}
		same := func(b fitted.Alternative) bool {
			return b.Coil == a.Coil && b.Creep == a.Creep
		}
		if i := slices.IndexFunc(f.Model.Alternatives, same); i >= 0 {
			f.Model.Alternatives[i].Weight += a.Weight
			continue
		}
		f.Model.Alternatives = append(f.Model.Alternatives, a)
	}
	slices.SortStableFunc(f.Model.Alternatives, func(a, b fitted.Alternative) int { return cmp.Compare(b.Weight, a.Weight) })
	q := &f.Quality
	q.Chi2 = best.chi2 * best.shared
	q.White = !best.misfit.any() && best.correlated == 1 && best.shared == 1
	q.DoF = p.sweepRows() - (p.lay.n - len(p.lay.priors))
	q.BandHz = [2]float64{math.Inf(1), 0}
	var sum float64
	for k, s := range in.sweeps {
		z := s.Impedance
		curve := p.impedance(best.x, k)
		c := fitted.Curve{Freq: slices.Clone(z.Freq), Measured: slices.Clone(z.Z), Fitted: curve, Sigma: make([]float64, z.Len())}
		if !z.MagnitudeOnly {
			c.Re = math.Exp(best.x[l.re] + at(best.x, l.heat[k]))
		}
		for i, v := range z.Z {
			c.Sigma[i] = 1 / (p.obs[k].weight[i] * math.Sqrt(best.shared))
			d := curve[i] - v
			if z.MagnitudeOnly {
				d = complex(cmplx.Abs(curve[i])-real(v), 0)
			}
			sum += param.Sq(cmplx.Abs(d) / cmplx.Abs(v))
		}
		q.Points += z.Len()
		q.BandHz[0] = min(q.BandHz[0], z.Freq[0])
		q.BandHz[1] = max(q.BandHz[1], z.Freq[z.Len()-1])
		f.Curves = append(f.Curves, c)
	}
	q.Outliers = len(in.outliers())
	q.ResidualRMSPercent = 100 * math.Sqrt(sum/float64(q.Points))
	f.Parameters.Mounting, f.Parameters.Temperature = in.cond.Mounting, in.air.Temperature
	if off := in.meterOff(members); math.Abs(off) > meterContradicts { // one that was joined lies nearer now
		f.Parameters.MeterOff = math.Log(in.cond.DCRe.Value) - f.Parameters.Scaled[f.Parameters.Index(param.Re)]
	}
	f.Parameters.Coverage = stat.Coverage(float64(q.DoF))
	f.Parameters.Skew = skew(f.Parameters, members)
	singles := in.allAlone(best)
	if wrong := wrongMass(in.sweeps, singles); wrong != nil {
		return nil, wrong
	}
	f.Methods = in.massMethods(f, best, singles)
	f.Warnings = in.warnings(f, best, lost)
	if _, _, err := fitted.Bounded(f.Parameters); err != nil { // what is not known need not be likely
		return nil, err
	}
	if err := measured.CheckValues(f.Parameters); err != nil {
		return nil, err
	}
	if err := in.massWithoutEffect(f.Parameters); err != nil {
		return nil, err
	}
	f.Parameters = in.withRepeats(f.Parameters)
	return f, nil
}
