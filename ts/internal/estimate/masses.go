package estimate

import (
	"math"

	"conewright/ts/fitted"
	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// The ways to the moving mass, in the order in which they are reported.
const (
	byFrequencies = "frequencies"
	byQ           = "Qes/Fs"
	byJointFit    = "joint fit"
)

// alone is what one sweep says by itself: logarithms of Fs and of Cmes =
// Qes/(2 pi Fs Re), and their covariance.
type alone struct {
	fs, cmes float64
	cov      [2][2]float64
}

// fitAlone fits one sweep by itself with the form of best.
func (in input) fitAlone(k int, best member) (alone, bool) {
	s := in.sweeps[k]
	s.Load = measured.Load{}
	one := prepare([]measured.Sweep{s}, measured.Conditions{}, in.mem)
	one.scale = in.scale[k : k+1]
	f := best.prob.form
	f.power = false
	p := one.problem(f, false, 1)
	sol := settle(p, one.startAt(p, best.solution), lsq.Settings{OffsetTol: finalTol})
	if !sol.determined() {
		return alone{}, false
	}
	c, err := sol.result.CovarianceTo(nil)
	if err != nil {
		return alone{}, false
	}
	_, noise := sol.likelihood(one.known())
	l := p.lay
	cov := mat.NewDense(l.n, l.n, c)
	// ln Cmes = ln Qms - ln ws - ln Res
	grad := [2][]float64{make([]float64, l.n), make([]float64, l.n)}
	grad[0][l.fs] = 1
	grad[1][l.qms], grad[1][l.fs], grad[1][l.res] = 1, -1, -1
	a := alone{fs: sol.x[l.fs], cmes: sol.x[l.qms] - sol.x[l.fs] - sol.x[l.res] - math.Log(2*math.Pi)}
	for i := range a.cov {
		for j := range a.cov {
			a.cov[i][j] = noise * noise * mat.Inner(mat.NewVecDense(l.n, grad[i]), cov, mat.NewVecDense(l.n, grad[j]))
		}
	}
	return a, true
}

// allAlone fits every sweep by itself where masses were added; nil for those that say nothing alone.
func (in input) allAlone(best member) []*alone {
	all := make([]*alone, len(in.sweeps))
	for k := range all {
		if !in.masses || in.sweeps[k].Load.Kind == measured.KnownBox {
			continue
		}
		if a, ok := in.fitAlone(k, best); ok {
			all[k] = &a
		}
	}
	return all
}

// startAt is the start of a sweep alone: resonance from its own peak, coil from
// the fit of all.
func (in *observed) startAt(p *problem, from *solution) []float64 {
	x := in.start(p, in.outline)
	l, m := p.lay, from.prob.lay
	copy(x[l.coil:l.coil+l.coils], from.x[m.coil:m.coil+m.coils])
	x[l.re] = from.x[m.re]
	if l.creep >= 0 && m.creep >= 0 {
		x[l.creep] = from.x[m.creep]
	}
	return x
}

// massMethods returns the moving mass by each way that the loads allow: from the
// fall of the resonance, theory (2.5), which trusts the compliance to be the same
// at both frequencies and in both sweeps; from the rise of Qes/Fs, theory (2.6),
// which does not; and from the joint fit. With several masses the one with the
// smallest uncertainty is used for the first two.
func (in input) massMethods(f *fitted.Result, best member, singles []*alone) []fitted.MassMethod {
	if !in.masses || singles[in.ref] == nil {
		return nil
	}
	free := singles[in.ref]
	creep := 0.0
	if e, ok := f.Parameters.Get(param.Creep); ok {
		creep = math.Hypot(e.Value, e.Std)
	}
	ways := [2]fitted.MassMethod{{Name: byFrequencies}, {Name: byQ}}
	for k, s := range in.sweeps {
		a := singles[k]
		if s.Load.Kind != measured.AddedMass || a == nil {
			continue
		}
		// Mms = dM/(ratio-1), d ln Mms = d ln dM - ratio/(ratio-1) d ln ratio.
		for i, lnRatio := range []float64{2 * (free.fs - a.fs), a.cmes - free.cmes} {
			ratio := math.Exp(lnRatio)
			if ratio <= 1 {
				continue
			}
			v := a.cov[i][i] + free.cov[i][i]
			if i == 0 { // the compliance moves from sweep to sweep, and by creep from one frequency to the other
				v = 4*v + param.Sq(repeat.DriftStd) + param.Sq(creep*(free.fs-a.fs)/math.Ln10)
			}
			m := fitted.MassMethod{Name: ways[i].Name, Value: s.Load.Value / (ratio - 1)}
			sweepStd := m.Value * ratio / (ratio - 1) * math.Sqrt(v)
			if best.misfit.any() { // one sweep alone has to trust a law that is in doubt
				sweepStd = math.Hypot(sweepStd, worthSaying*m.Value)
			}
			m.Std = math.Hypot(sweepStd, m.Value*math.Hypot(s.Load.Std, s.Load.PlacingStd)/s.Load.Value)
			m.SweepStd = sweepStd
			if ways[i].Value == 0 || m.Std/m.Value < ways[i].Std/ways[i].Value {
				ways[i] = m
			}
		}
	}
	var all []fitted.MassMethod
	for _, m := range ways {
		if m.Value > 0 {
			all = append(all, m)
		}
	}
	if e, ok := f.Parameters.Get(param.Mms); ok {
		joint := fitted.MassMethod{Name: byJointFit, Value: e.Value, Std: e.Std}
		joint.SweepStd = math.Sqrt(max(0, param.Sq(e.Std)-param.Sq(e.Budget.Bench)))
		all = append(all, joint)
	}
	return all
}
