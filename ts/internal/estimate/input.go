package estimate

import (
	"math"
	"math/cmplx"
	"slices"
	"strconv"

	"conewright/ts/driver"
	"conewright/ts/internal/law"
	"conewright/ts/internal/lsq"
	"conewright/ts/internal/session"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// input is what a fit works on: the sweeps in the form of observations, the
// distinct loads, and the scale of each sweep's noise.
type input struct {
	sweeps []measured.Sweep
	cond   measured.Conditions
	air    driver.Air
	obs    []observation // weights without scale
	loads  []measured.Load
	ref    int // the first sweep in free air: the reference
	// repeated says that there are several sweeps in free air; the condition is
	// then their mean, otherwise that of the reference.
	repeated bool
	runs     session.BetweenRuns
	masses   bool
	boxes    bool
	outline  measured.Outline
	coilFor  []complex128 // rough coil impedance of the reference sweep

	// scale multiplies the noise of each sweep. It is 1 where the noise is known
	// and the noise relative to |Z| where it is not.
	scale []float64
	// trust multiplies the weight of each point, 1 unless it is an outlier; nil: 1.
	trust      [][]float64
	knownSigma []bool

	// alarm is the gain in log likelihood that a misfit brings to the heaviest form.
	alarm float64

	tol  float64 // relative offset at which a form counts as fitted
	work *workspace
}

const (
	// unknownNoise is the noise relative to |Z| that is assumed before the
	// residuals have told it.
	unknownNoise = 0.005
)

func newInput(sweeps []measured.Sweep, cond measured.Conditions) *input {
	in := &input{sweeps: sweeps, cond: cond, air: cond.Air(), ref: -1, tol: scanTol, work: new(workspace),
		runs: session.BetweenRuns{Heat: session.HeatStd, Drift: session.DriftStd, Friction: session.FrictionStd}}
	for k, s := range sweeps {
		z := s.Impedance
		o := observation{Axis: law.NewAxis(z.Freq), z: z.Z, magnitudeOnly: z.MagnitudeOnly, kind: s.Load.Kind, load: -1}
		o.weight = make([]float64, z.Len())
		for i := range o.weight {
			if z.Sigma != nil {
				o.weight[i] = 1 / z.Sigma[i]
			} else {
				o.weight[i] = 1 / cmplx.Abs(z.Z[i])
			}
		}
		in.knownSigma = append(in.knownSigma, z.Sigma != nil)
		in.scale = append(in.scale, unknownNoise)
		if z.Sigma != nil {
			in.scale[k] = 1
		}
		if s.Load.Kind == measured.Free {
			if in.ref < 0 {
				in.ref = k
			} else {
				in.repeated = true
			}
		} else {
			o.load = slices.Index(in.loads, s.Load)
			if o.load < 0 {
				o.load = len(in.loads)
				in.loads = append(in.loads, s.Load)
			}
			in.masses = in.masses || s.Load.Kind == measured.AddedMass
			in.boxes = in.boxes || s.Load.Kind == measured.KnownBox
		}
		in.obs = append(in.obs, o)
	}
	z := sweeps[in.ref].Impedance
	in.outline = measured.OutlineOf(z)
	in.coilFor = in.outline.CoilPart(z)
	return in
}

// hasMms says whether the loads and the area can give the moving mass.
func (in *input) hasMms() bool { return in.masses || in.boxes && in.cond.Sd.Given() }

// problem lays out the least-squares problem of one form. The full problem has
// what is known of loads, area and air among its unknowns, each with its prior; the other
// one, for finding the way, only what moves between sweeps. The noise of all
// sweeps is multiplied by noise.
func (in *input) problem(f form, full bool, noise float64) *problem {
	l := newLayout(f, len(in.obs))
	p := &problem{form: f, lay: l, work: in.work, loads: in.loads, air: in.air.Stiffness(), sd: in.cond.Sd.Value}
	p.obs = make([]observation, len(in.obs))
	for k, o := range in.obs {
		p.obs[k] = o
		if scale := in.scale[k] * noise; scale != 1 || in.trust != nil {
			weight := make([]float64, len(o.weight))
			for i, w := range o.weight {
				weight[i] = w / scale
				if in.trust != nil {
					weight[i] *= in.trust[k][i]
				}
			}
			p.obs[k].weight = weight
		}
		if k == in.ref && !in.repeated {
			continue
		}
		// Errors of their own: what one sweep is off by, the next is not.
		at := " of sweep " + strconv.Itoa(k+1)
		l.heat[k] = l.addPrior(in.runs.Heat, "heating"+at, param.RepeatPart, true)
		l.drift[k] = l.addPrior(in.runs.Drift, "drift of the suspension"+at, param.RepeatPart, true)
		l.friction[k] = l.addPrior(in.runs.Friction, "drift of the losses"+at, param.RepeatPart, true)
	}
	if in.hasMms() {
		l.mms = l.add()
	}
	sd := in.cond.Sd
	switch {
	case in.boxes && !in.masses && !sd.Given():
		l.vas = l.add()
	case in.boxes && in.masses && !sd.Given():
		l.sd = l.add()
	case full && sd.Given() && sd.Std > 0:
		l.sd = l.add()
		l.priors = append(l.priors, prior{l.sd, math.Log(sd.Value), sd.Std / sd.Value, "diameter", param.BenchPart, false})
	}
	l.load = none(len(in.loads))
	if full {
		in.addBench(p)
	}
	p.prepare()
	return p
}

// addBench adds the errors of loads, area and air to the unknowns of a problem.
func (in *input) addBench(p *problem) {
	l := p.lay
	for i, load := range in.loads {
		if load.Std > 0 {
			l.load[i] = l.addPrior(1, load.Source(), param.BenchPart, false)
		}
	}
	if in.boxes {
		l.boxAir = l.addPrior(session.BoxAirStd, "air in the box", param.BenchPart, false)
	}
	if q := in.cond.Pressure; q.Std > 0 && in.cond.Sd.Given() {
		l.pressure = l.addPrior(q.Std/in.air.Pressure, "air pressure", param.BenchPart, true)
	}
}

// benchSources lists the sources of systematic errors in order of appearance.
func (in *input) benchSources() []string {
	var all []string
	for _, s := range in.sweeps {
		for _, sys := range s.Impedance.Systematic {
			if !slices.Contains(all, sys.Source) {
				all = append(all, sys.Source)
			}
		}
	}
	return all
}

// start returns a vector of unknowns for p: the resonance as given, the coil
// from the rough curve, loads from the shift of the peak, no drift.
func (in *input) start(p *problem, o measured.Outline) []float64 {
	l := p.lay
	x := make([]float64, l.n)
	x[l.re], x[l.fs], x[l.qms], x[l.res] = math.Log(o.Re), math.Log(o.Fs), math.Log(o.Qms), math.Log(o.Res)
	copy(x[l.coil:], p.form.coil.Start(in.obs[in.ref].Axis, in.coilFor))
	for _, pr := range l.priors {
		x[pr.index] = pr.mean
	}
	in.startLoads(p, x, o)
	return x
}

// startLoads sets the starts of Mms, Vas and Sd from the peaks of loaded sweeps.
func (in *input) startLoads(p *problem, x []float64, o measured.Outline) {
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

// solution is one form fitted.
type solution struct {
	prob   *problem
	x      []float64
	chi2   float64 // of the sweeps alone
	result lsq.Result
	// ruledOut says that x is not a minimum, and chi2 so large that it does not matter.
	ruledOut bool
}

// sweepRows returns the number of residuals that belong to sweeps.
func (p *problem) sweepRows() int { return p.nrows - len(p.lay.priors) }

// maxEvaluations is several times what a fit needs whose unknowns the sweeps
// determine; one that takes longer wanders along a valley without end.
const maxEvaluations = 30

// solve fits p from x0; nil when that leads nowhere.
func solve(p *problem, x0 []float64, tol float64) *solution {
	s := &solution{prob: p, x: x0}
	if !s.run(lsq.Settings{OffsetTol: tol, MaxEvaluations: maxEvaluations}) {
		return nil
	}
	return s
}

// assess brings the outcome of a solution up to date with its problem, at the
// same unknowns.
func (s *solution) assess() {
	status := s.result.Status
	s.run(lsq.Settings{MaxEvaluations: 1})
	s.result.Status = status
}

// run solves the problem of s from x. It reports whether that led anywhere.
func (s *solution) run(set lsq.Settings) bool {
	if err := s.prob.work.Solve(&s.result, s.prob, s.x, set); err != nil {
		return false
	}
	s.x = s.result.X
	s.chi2 = s.result.SumSquares
	for _, pr := range s.prob.lay.priors {
		s.chi2 -= param.Sq((s.x[pr.index] - pr.mean) / pr.std)
	}
	return !math.IsNaN(s.chi2)
}
