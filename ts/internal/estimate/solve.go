package estimate

import (
	"math"

	"conewright/ts/internal/law"
	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// solution is one form fitted: a problem with the unknowns that were found for it.
// It is not changed once it is made.
type solution struct {
	prob   *problem
	x      []float64
	chi2   float64 // of the sweeps alone
	result lsq.Result
	// ruledOut says that x is not a minimum, and chi2 so large that it does not matter.
	ruledOut bool
}

// solve fits p from x0; nil when that leads nowhere.
func solve(p *problem, x0 []float64, tol float64) *solution {
	most := scanEvaluations
	if p.lay.tight >= 0 || p.lay.port >= 0 {
		most = boxEvaluations
	}
	return run(p, x0, lsq.Settings{OffsetTol: tol, MaxEvaluations: most})
}

// settle fits p from x0 for a result that is reported; nil where it comes to no
// minimum, or to one that leaves an unknown open. The settings are all but the number of evaluations.
func settle(p *problem, x0 []float64, set lsq.Settings) *solution {
	set.MaxEvaluations = finalEvaluations
	s := run(p, x0, set)
	if s == nil || !s.result.Converged() && (s.result.Rank < len(s.x) || s.result.Offset > settledTol) {
		return nil
	}
	return s
}

func run(p *problem, x0 []float64, set lsq.Settings) *solution {
	s := &solution{prob: p}
	if err := p.mem.Solve(&s.result, p, x0, set); err != nil {
		return nil
	}
	s.x = s.result.X
	s.chi2 = s.result.SumSquares
	for _, pr := range p.lay.priors {
		s.chi2 -= param.Sq(pr.rest(s.x))
	}
	if math.IsNaN(s.chi2) {
		return nil
	}
	return s
}

// under returns s with another problem of the same form, at the same unknowns. The
// two differ by finite factors of the weights, so that what was finite stays so.
func (s *solution) under(p *problem) *solution {
	if s.ruledOut {
		return ruledOut(p, s.x)
	}
	t := run(p, s.x, lsq.Settings{MaxEvaluations: 1})
	t.result.Status = s.result.Status
	return t
}

// scaled is under for a problem whose residuals are all those of s times by.
func (s *solution) scaled(p *problem, by float64) *solution {
	t := *s
	t.prob, t.chi2, t.result = p, s.chi2*by*by, s.result.Scaled(by)
	return &t
}

// ruledOut returns a solution that is known to be too far from the sweeps to be
// worth a fit.
func ruledOut(p *problem, x []float64) *solution {
	r := p.mem.columns(p.nrows)
	p.Eval(r, nil, x)
	s := &solution{prob: p, x: x, ruledOut: true}
	for _, v := range r[:p.sweepRows()] {
		s.chi2 += v * v
	}
	return s
}

// determined reports whether s is a minimum whose unknowns the data can tell
// apart.
func (s *solution) determined() bool {
	return s != nil && s.result.Converged() && s.result.Condition <= maxCondition
}

func better(a, b *solution) *solution {
	if a == nil || b != nil && b.result.SumSquares < a.result.SumSquares {
		return b
	}
	return a
}

// start returns a vector of unknowns for p: the resonance as given, the coil
// from the rough curve, loads from the shift of the peak, no drift.
func (in *observed) start(p *problem, o measured.Outline) []float64 {
	l := p.lay
	x := make([]float64, l.n)
	x[l.re], x[l.fs], x[l.qms], x[l.res] = math.Log(o.Re), math.Log(o.Fs), math.Log(o.Qms), math.Log(o.Res)
	copy(x[l.coil:], p.form.coil.Start(in.obs[in.ref].Axis, in.coil))
	for _, pr := range l.priors {
		x[pr.index] = pr.mean
	}
	if in.port != nil {
		in.startPort(l, x, o)
	}
	if in.closed {
		in.startTight(l, x)
	}
	in.startLoads(p, x, o)
	return x
}

// startLoads sets the starts of Mms, Vas and Sd from the peaks of loaded sweeps.
func (in *observed) startLoads(p *problem, x []float64, o measured.Outline) {
	l := p.lay
	w2 := 4 * math.Pi * math.Pi * o.Fs * o.Fs
	for _, s := range in.sweeps {
		r := o.Fs / measured.OutlineOf(s.Impedance).Fs
		switch s.Load.Kind {
		case measured.AddedMass:
			x[l.mms] = math.Log(s.Load.Value / max(r*r-1, 0.05))
		case measured.KnownBox:
			vas := s.Load.Value * max(1/(r*r)-1, 0.02)
			if l.vas >= 0 {
				x[l.vas] = math.Log(vas)
			} else if !in.masses {
				x[l.mms] = math.Log(p.air * p.sd * p.sd / vas / w2)
			}
		}
	}
	if l.sd >= 0 && !in.cond.Sd.Given() {
		for _, s := range in.sweeps {
			if s.Load.Kind == measured.KnownBox {
				r := measured.OutlineOf(s.Impedance).Fs / o.Fs
				vas := s.Load.Value * max(r*r-1, 0.02)
				x[l.sd] = math.Log(vas*w2*math.Exp(x[l.mms])/p.air) / 2
			}
		}
	}
}

// warmStart turns the solution of one form into a start for another.
func (in *observed) warmStart(p *problem, from *solution) []float64 {
	l, m := p.lay, from.prob.lay
	x := make([]float64, l.n)
	for _, pr := range l.priors {
		x[pr.index] = pr.mean
	}
	set := func(to, at int) {
		if to >= 0 && at >= 0 {
			x[to] = from.x[at]
		}
	}
	set(l.re, m.re)
	set(l.fs, m.fs)
	set(l.qms, m.qms)
	set(l.res, m.res)
	set(l.mms, m.mms)
	set(l.vas, m.vas)
	set(l.sd, m.sd)
	for k := range l.heat {
		set(l.heat[k], m.heat[k])
		set(l.drift[k], m.drift[k])
		set(l.friction[k], m.friction[k])
		set(l.magnet[k], m.magnet[k])
	}
	if l.port >= 0 {
		copy(x[l.port:l.port+ventUnknowns], from.x[m.port:])
	}
	if l.tight >= 0 {
		copy(x[l.tight:l.tight+tightUnknowns], from.x[m.tight:])
	}
	if l.creep >= 0 && m.creep < 0 {
		x[l.creep] = 0.02
	}
	set(l.creep, m.creep)
	if p.form.coil == from.prob.form.coil {
		copy(x[l.coil:l.coil+l.coils], from.x[m.coil:m.coil+m.coils])
		return x
	}
	g := in.obs[in.ref].Axis
	if m.coils == 0 {
		copy(x[l.coil:], p.form.coil.Start(g, in.coil))
		return x
	}
	zl := make([]complex128, len(g.W))
	from.prob.form.coil.Eval(zl, nil, g, from.x[m.coil:m.coil+m.coils])
	for i, w := range g.W {
		if w < 2*2*math.Pi*in.outline.Fs {
			zl[i] = 0
		}
	}
	copy(x[l.coil:], p.form.coil.Start(g, law.RoughOf(g, zl)))
	return x
}
