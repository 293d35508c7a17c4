package estimate

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/law"
	"conewright/ts/param"
)

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
	ids    []param.ParamID
	values []lin
	origin []param.Origin
	// timing is the doubt whether it is the coil or the bench, whose channels are
	// out of step, on all values; nil: none.
	timing []float64
}

func (d *derived) add(id param.ParamID, origin param.Origin, v lin) {
	d.ids = append(d.ids, id)
	d.values = append(d.values, v)
	d.origin = append(d.origin, origin)
}

// derive computes the parameters from the unknowns, theory (3.7). Almost all are
// products of powers, so their logarithms are linear in the unknowns and the
// propagation of uncertainty is exact in the linear model of the fit.
// The coil at 1 kHz is given when the sweeps reach that far.
func (in *input) derive(s *solution, reach float64) *derived {
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

	d := &derived{}
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
		if !in.masses {
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
		if in.cond.Sd.Given() {
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
		c := in.air.SoundSpeed()
		d.add(param.Eta0, param.Derived, sum([]float64{3, 1, -1}, fs, vas, qes).plus(math.Log(4*math.Pi*math.Pi/(c*c*c))))
	}
	d.add(param.Creep, param.FromFit, unknown(l.creep))
	if reach >= 1000 && l.coils > 0 {
		in.deriveCoil(d, s)
	}
	return d
}

// deriveCoil adds the inductance and loss of the coil at 1 kHz, which mean the
// same whatever the model. The free pieces of a coil law in doubt belong to it;
// what they add is interpolated between the two points of the sweep on either side.
// Channels out of step and a coil of several sections look alike: what the fit has
// given to the first may belong to the second.
func (in *input) deriveCoil(d *derived, s *solution) {
	l := s.prob.lay
	g := law.NewAxis([]float64{1000})
	z := make([]complex128, 1)
	grad := make([]complex128, l.coils)
	s.prob.form.coil.Eval(z, grad, g, s.x[l.coil:l.coil+l.coils])
	zl, all := z[0], make([]complex128, l.n) // ZL and its derivatives
	copy(all[l.coil:], grad)
	k, i, part := in.around(g.Lnw[0])
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

// evenOdds times a shift is the root mean square about the value of something
// that shifts it with even odds.
const evenOdds = math.Sqrt2 / 2

// around returns the sweep that reaches highest, its first point at or above lnw
// (logarithm of rad/s, within the sweep), and how far lnw lies on the way to it
// from the point before, 0 to 1.
func (in *input) around(lnw float64) (sweep, point int, part float64) {
	top := func(k int) float64 { g := in.obs[k].Axis.Lnw; return g[len(g)-1] }
	for k := range in.obs {
		if top(k) > top(sweep) {
			sweep = k
		}
	}
	g := in.obs[sweep].Axis.Lnw
	point, _ = slices.BinarySearch(g, lnw)
	point = min(max(point, 1), len(g)-1)
	return sweep, point, (lnw - g[point-1]) / (g[point] - g[point-1])
}
