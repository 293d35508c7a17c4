package estimate

import (
	"math"
	"math/cmplx"

	"conewright/ts/internal/law"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// statement is what one fit says about the driver: values, their covariance
// from the noise of the sweeps, and the effects of all other sources of error.
type statement struct {
	derived
	noise   *mat.SymDense // covariance of values
	effects []param.Component
}

// std returns the standard uncertainty of the value i.
func (m statement) std(i int) float64 {
	v := m.noise.At(i, i)
	for _, e := range m.effects {
		v += param.Sq(e.Effect[i])
	}
	return math.Sqrt(v)
}

// lin is a value with its gradient by the unknowns of a fit.
type lin struct {
	v float64
	g []float64
}

// sum returns the linear combination of terms with the coefficients given.
func sum(c []float64, terms ...lin) lin {
	out := lin{g: make([]float64, len(terms[0].g))}
	for i, t := range terms {
		out.v += c[i] * t.v
		for j, g := range t.g {
			out.g[j] += c[i] * g
		}
	}
	return out
}

// plus returns a with a constant added.
func (a lin) plus(c float64) lin { return lin{a.v + c, a.g} }

// derived is everything that one fit says about the driver: values on the scale
// of Parameters and their gradients by the unknowns.
type derived struct {
	ids    []param.ID
	values []lin
	origin []param.Origin
	// timing is the doubt whether it is the coil or the bench, whose channels are
	// out of step, on all values; nil: none.
	timing []float64
}

func (d *derived) add(id param.ID, origin param.Origin, v lin) {
	d.ids = append(d.ids, id)
	d.values = append(d.values, v)
	d.origin = append(d.origin, origin)
}

// derive computes the parameters from the unknowns, theory (3.7). Almost all are
// products of powers, so their logarithms are linear in the unknowns and the
// propagation of uncertainty is exact in the linear model of the fit.
// The coil at 1 kHz is given when the sweeps reach that far.
func (o *observed) derive(s *solution) derived {
	p, l := s.prob, s.prob.lay
	unknown := func(i int) lin {
		v := lin{at(s.x, i), make([]float64, l.n)}
		if i >= 0 {
			v.g[i] = 1
		}
		return v
	}
	re, fs, qms, res := unknown(l.re), unknown(l.fs), unknown(l.qms), unknown(l.res)
	ws := fs.plus(math.Log(2 * math.Pi))
	qes := sum([]float64{1, 1, -1}, re, qms, res)
	share := 1 / (1 + math.Exp(qms.v-qes.v)) // Qes/(Qms+Qes)
	qts := sum([]float64{share, 1 - share}, qms, qes)
	qts.v = qms.v + math.Log(share)

	var d derived
	d.add(param.Re, param.FromFit, re)
	d.add(param.Fs, param.FromFit, fs)
	d.add(param.Qms, param.FromFit, qms)
	d.add(param.Qes, param.Derived, qes)
	d.add(param.Qts, param.Derived, qts)
	d.add(param.Res, param.FromFit, res)
	d.add(param.Lces, param.Derived, sum([]float64{1, -1, -1}, res, ws, qms))
	d.add(param.Cmes, param.Derived, sum([]float64{1, -1, -1}, qms, ws, res))

	air := unknown(l.pressure).plus(math.Log(p.air)) // ln rho c^2
	var cms, sd, vas lin
	if l.mms >= 0 {
		mms := unknown(l.mms)
		origin := param.FromFit
		if !o.masses {
			origin = param.Derived
		}
		cms = sum([]float64{-2, -1}, ws, mms)
		rms := sum([]float64{1, 1, -1}, ws, mms, qms)
		d.add(param.Mms, origin, mms)
		d.add(param.Cms, param.Derived, cms)
		d.add(param.Rms, param.Derived, rms)
		d.add(param.BL, param.Derived, sum([]float64{0.5, 0.5}, res, rms))
	}
	switch {
	case l.sd >= 0:
		sd = unknown(l.sd)
		if o.cond.Sd.Given() {
			d.add(param.Sd, param.Entered, sd)
		} else {
			d.add(param.Sd, param.Derived, sd)
		}
	case p.sd > 0:
		sd = unknown(-1).plus(math.Log(p.sd))
		d.add(param.Sd, param.Entered, sd)
	}
	switch {
	case l.vas >= 0:
		vas = unknown(l.vas)
		d.add(param.Vas, param.FromFit, vas)
	case sd.g != nil && cms.g != nil:
		vas = sum([]float64{1, 2, 1}, air, sd, cms)
		d.add(param.Vas, param.Derived, vas)
	}
	if vas.g != nil {
		// eta0 = 4 pi^2 fs^3 Vas/(c^3 Qes)
		c := o.air.SoundSpeed()
		d.add(param.Eta0, param.Derived, sum([]float64{3, 1, -1}, fs, vas, qes).plus(math.Log(4*math.Pi*math.Pi/(c*c*c))))
	}
	if l.port >= 0 {
		d.addPort(unknown, l.port)
	}
	if l.tight >= 0 {
		d.addTight(unknown, l.tight)
	}
	d.add(param.Creep, param.FromFit, unknown(l.creep))
	if o.reach() >= 1000 && l.coils > 0 {
		o.deriveCoil(&d, s)
	}
	return d
}

// deriveCoil adds the inductance and loss of the coil at 1 kHz, which mean the
// same whatever the model. The free pieces of a coil law in doubt belong to it;
// what they add is interpolated between the two points of the sweep on either side.
// Channels out of step and a coil of several sections look alike: what the fit has
// given to the first may belong to the second.
func (o *observed) deriveCoil(d *derived, s *solution) {
	l := s.prob.lay
	g := law.NewAxis([]float64{1000})
	z := make([]complex128, 1)
	grad := make([]complex128, l.coils)
	s.prob.form.coil.Eval(z, grad, g, s.x[l.coil:l.coil+l.coils])
	zl, all := z[0], make([]complex128, l.n) // ZL and its derivatives
	copy(all[l.coil:], grad)
	k, i, part := o.around(g.Lnw[0])
	var lag complex128
	for j, e := range s.prob.extra {
		a, b := e.effect[k][i-1], e.effect[k][i]
		v := a * cmplx.Pow(b/a, complex(part, 0)) // nearly a power of frequency; never zero
		switch x := complex(s.x[l.extra[j]], 0); {
		case e.ofCoil():
			all[l.extra[j]] = v
			zl += v * x
		case e.law == timing:
			lag = v * x
		}
	}
	if imag(zl) <= 0 { // no inductance has a logarithm then: the law alone has one
		clear(all)
		copy(all[l.coil:], grad)
		zl = z[0]
	}
	ind := lin{math.Log(imag(zl) / g.W[0]), make([]float64, l.n)}
	loss := lin{real(zl), make([]float64, l.n)}
	for j, v := range all {
		ind.g[j] = imag(v) / imag(zl)
		loss.g[j] = real(v)
	}
	d.add(param.L1k, param.Derived, ind)
	d.add(param.R1k, param.Derived, loss)
	if lag != 0 {
		d.timing = make([]float64, len(d.values))
		d.timing[len(d.values)-2] = evenOdds * imag(lag) / imag(zl)
		d.timing[len(d.values)-1] = evenOdds * real(lag)
	}
}

// finite says whether all values are. A coil whose law has taken the turn of a late channel may have no inductance at 1 kHz; its
// logarithm is none then, and the law is none of a coil.
func (d derived) finite() bool {
	for _, v := range d.values {
		if math.IsNaN(v.v) || math.IsInf(v.v, 0) {
			return false
		}
	}
	return true
}

// evenOdds times a shift is the root mean square about the value of something
// that shifts it with even odds.
const evenOdds = math.Sqrt2 / 2

// state returns what a solution says. It splits its covariance into the part of each
// prior and the rest, which is the noise of the sweeps, and carries both over to the
// derived values. The split is exact: with C = inv(J'J) the effect of an error
// of one standard deviation in the row of a prior on the unknown i is column
// index of C, less what it goes along with, over the standard deviation of the prior, theory (4.3). Where laws are
// in doubt all of it is widened.
func (o *observed) state(s *solution, inDoubt bool) (statement, error) {
	n := s.prob.lay.n
	c, err := s.result.CovarianceTo(nil)
	if err != nil {
		return statement{}, err
	}
	m := statement{derived: o.derive(s)}
	k := len(m.values)
	g := mat.NewDense(k, n, nil)
	for i, v := range m.values {
		g.SetRow(i, v.g)
	}
	var gc, full mat.Dense
	gc.Mul(g, mat.NewDense(n, n, c))
	full.Mul(&gc, g.T())
	m.noise = mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			m.noise.SetSym(i, j, full.At(i, j))
		}
	}
	if w := s.prob.white; w != nil {
		rows := make([][]float64, k)
		for i := range rows {
			rows[i] = gc.RawRowView(i)
		}
		for _, e := range w.effects(s, rows) {
			m.noise.SymRankOne(m.noise, -1, mat.NewVecDense(k, e.Effect))
			floats.Scale(localDoubt, e.Effect)
			m.effects = append(m.effects, e)
		}
	}
	for _, pr := range s.prob.lay.priors {
		e := make([]float64, k)
		for i := range e {
			e[i] = gc.At(i, pr.index)
			for _, g := range pr.given {
				e[i] -= g.slope * gc.At(i, g.index)
			}
			e[i] /= pr.std
		}
		m.noise.SymRankOne(m.noise, -1, mat.NewVecDense(k, e))
		if pr.component.Part == param.ModelPart && inDoubt {
			floats.Scale(wideDoubt, e)
		}
		c := pr.component
		c.Effect = e
		m.effects = append(m.effects, c)
	}
	switch {
	case s.prob.white != nil:
		m.noise.ScaleSym(param.Sq(localDoubt), m.noise)
	case inDoubt:
		m.noise.ScaleSym(param.Sq(wideDoubt), m.noise)
	}
	if m.timing != nil {
		m.effects = append(m.effects, param.Component{Source: param.CoilOrTiming, Part: param.ModelPart, Effect: m.timing})
	}
	m.effects = append(m.effects, o.benchEffects(s, &gc)...)
	for i := range k { // rounding may leave -1e-20 where a prior alone decides
		m.noise.SetSym(i, i, max(0, m.noise.At(i, i)))
	}
	return m, nil
}

// benchEffects carries the systematic errors of the sweeps over to the derived
// values: an error that adds E to the measured impedance moves the unknowns by
// C J'W E. They are carried over and not fitted, although the curve could tell
// some of them: measured errors scale with the measured impedance and its noise,
// and a fit that may scale the data makes the noise smaller by scaling it down.
// theory (4.8), docs/decisions/0015. gc is the gradient of the derived values
// times C.
func (o *observed) benchEffects(s *solution, gc *mat.Dense) []param.Component {
	sources, frequencies := o.sourcesOf(false), o.frequencyErrors()
	if len(sources)+len(frequencies) == 0 {
		return nil
	}
	p := s.prob
	rows, n := p.Dims()
	r, jac := make([]float64, rows), make([]float64, rows*n)
	p.Eval(r, jac, s.x)
	carried := func() []float64 {
		if p.white != nil {
			p.white.apply(r, p.obs, p.sweepRows())
		}
		jr := mat.NewVecDense(n, nil)
		for j := range n {
			var sum float64
			for row, v := range r {
				sum += jac[j*rows+row] * v
			}
			jr.SetVec(j, sum)
		}
		e := mat.NewVecDense(gc.RawMatrix().Rows, nil)
		e.MulVec(gc, jr)
		return e.RawVector().Data
	}
	var all []param.Component
	for _, source := range sources {
		clear(r)
		for k, sweep := range o.sweeps {
			for _, e := range sweep.Impedance.Systematic {
				if e.Source == source {
					p.weigh(r, &p.obs[k], e.Effect)
				}
			}
		}
		all = append(all, param.Component{Source: source, Part: param.BenchPart, Effect: carried()})
	}
	for _, source := range frequencies {
		clear(r)
		for k, sweep := range o.sweeps {
			if f := sweep.Impedance.Frequency; f.Std > 0 && f.Source() == source {
				p.weigh(r, &p.obs[k], p.shifted(s.x, k, f.Std))
			}
		}
		all = append(all, param.Component{Source: source, Part: param.BenchPart, Own: source != measured.FrequencyError{}.Source(), Effect: carried()})
	}
	return all
}

// weigh writes a change of the impedance of one sweep, in ohm, to the rows of
// its residuals.
func (p *problem) weigh(r []float64, o *observation, change []complex128) {
	for i, e := range change {
		w := o.weight[i]
		if o.magnitudeOnly {
			r[o.row+i] = real(e) * w // Z is real there
			continue
		}
		r[o.row+i] = real(e) * w
		r[o.row+len(change)+i] = imag(e) * w
	}
}
