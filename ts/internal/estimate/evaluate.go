package estimate

import (
	"math"
	"math/cmplx"

	"conewright/ts/driver"
	"conewright/ts/measured"
)

// mechanics holds the quantities of the mechanical side that do not depend on
// frequency, for one vector of unknowns.
type mechanics struct {
	lnws, q, res float64
	lambda       float64
	power        bool
	angle        float64 // imaginary part of the stiffness at resonance: kappa lambda, or its tangent
	dangle       float64 // its derivative by lambda
	viscous      float64 // 1 - Q times the imaginary part of all stiffness at resonance
	vent         vent
	tight        tight
}

func (l *layout) mechanics(x []float64, power bool) mechanics {
	m := mechanics{
		lnws: math.Log(2*math.Pi) + x[l.fs], q: math.Exp(x[l.qms]), res: math.Exp(x[l.res]),
		lambda: at(x, l.creep), power: power,
	}
	m.angle, m.dangle = driver.CreepLoss*m.lambda, driver.CreepLoss
	if power {
		m.angle = math.Tan(driver.CreepLoss * m.lambda)
		m.dangle *= 1 + m.angle*m.angle
	}
	m.tight = tight{own: 1}
	if l.tight >= 0 {
		m.tight = tightAt(x[l.tight:])
	}
	m.viscous = 1 - m.loss()*m.q
	if l.port >= 0 {
		m.vent = ventAt(x[l.port:])
	}
	return m
}

// loss returns the imaginary part of all stiffness at resonance, over its real part.
func (m *mechanics) loss() float64 { return m.tight.own*m.angle + (1-m.tight.own)*m.tight.angle }

// creep returns the stiffness relative to its real part at resonance, at ln x,
// and its derivatives by lambda and by ln x: theory (3.3) for a compliance that
// falls with the logarithm of frequency, theory (3.4) for a stiffness that rises
// with a power of it.
func (m *mechanics) creep(lnx float64) (law, byLambda, byLn complex128) {
	const perDecade = 1 / math.Ln10
	slope := m.lambda * perDecade
	if m.power {
		size := math.Exp(slope * lnx)
		law = complex(size, size*m.angle)
		return law, times(lnx*perDecade, law) + complex(0, size*m.dangle), times(slope, law)
	}
	perDen := inverse(complex(1-slope*lnx, -m.angle))
	law = times(1+m.angle*m.angle, perDen)
	bySlope := perDen * law
	return law, times(2*m.angle*m.dangle, perDen) + bySlope*complex(lnx*perDecade, driver.CreepLoss), times(slope, bySlope)
}

// sweepLoad is the state of one sweep: what its load adds, and how far the
// driver has moved since the reference.
type sweepLoad struct {
	re              float64
	mass            float64 // added mass over Mms
	massError       float64 // its derivative by the load error
	placing         float64 // the same by the error of placing
	stiff           float64 // added stiffness times Cms
	stiffError      float64 // relative derivative of stiff by the load error
	leak            float64 // rad/s, below which the box is none
	box             bool
	drift, friction float64 // factors
	magnet          float64 // factor of BL^2
}

// lossy returns a part of the suspension law as it is with the losses of the sweep: friction is about all of them, viscous or
// not, so that it is 1/Qms at a given stiffness.
func (s *sweepLoad) lossy(law complex128) complex128 { return complex(real(law), s.friction*imag(law)) }

func (p *problem) sweepLoad(x []float64, k int) sweepLoad {
	l, o := p.lay, &p.obs[k]
	s := sweepLoad{
		re:       math.Exp(x[l.re] + at(x, l.heat[k])),
		drift:    math.Exp(at(x, l.drift[k])),
		friction: math.Exp(at(x, l.friction[k])),
		magnet:   math.Exp(at(x, l.magnet[k])),
	}
	if o.load < 0 {
		return s
	}
	load := p.loads[o.load]
	err := at(x, l.load[o.load])
	switch load.Kind {
	case measured.AddedMass:
		mms := math.Exp(x[l.mms])
		s.mass = (load.Value + err*load.Std + at(x, l.placing[k])*load.PlacingStd) / mms
		s.massError, s.placing = load.Std/mms, load.PlacingStd/mms
	case measured.KnownBox:
		s.box = true
		vb := load.Value + err*load.Std
		s.stiff = p.vas(x) / vb
		s.stiffError = -load.Std / vb
		s.mass = at(x, l.boxAir)
		s.leak = p.ws * at(x, l.leak)
	}
	return s
}

// vas returns the equivalent volume in m^3, theory (2.2).
func (p *problem) vas(x []float64) float64 {
	l := p.lay
	if l.vas >= 0 {
		return math.Exp(x[l.vas])
	}
	ws := 2 * math.Pi * math.Exp(x[l.fs])
	sd := p.sd
	if l.sd >= 0 {
		sd = math.Exp(x[l.sd])
	}
	return p.air * math.Exp(at(x, l.pressure)) * sd * sd / (ws * ws * math.Exp(x[l.mms]))
}

// Eval computes residuals and, unless jac is nil, the Jacobian column by
// column, theory (3.1) to (3.6).
func (p *problem) Eval(r, jac, x []float64) {
	m := p.lay.mechanics(x, p.form.power)
	for k := range p.obs {
		p.evalSweep(r, jac, x, k, m)
	}
	if p.white != nil {
		row := p.sweepRows()
		p.white.apply(r, p.obs, row)
		if jac != nil {
			for j := range p.lay.n {
				p.white.apply(jac[j*p.nrows:(j+1)*p.nrows], p.obs, row)
			}
		}
	}
	row := p.nrows - len(p.lay.priors)
	if jac != nil {
		for j := range p.lay.n {
			clear(jac[j*p.nrows+row : (j+1)*p.nrows])
		}
	}
	for i, pr := range p.lay.priors {
		r[row+i] = pr.rest(x)
		if jac != nil {
			jac[pr.index*p.nrows+row+i] = 1 / pr.std
			for _, g := range pr.given {
				jac[g.index*p.nrows+row+i] = -g.slope / pr.std
			}
		}
	}
}

// evalSweep does the work of Eval for one sweep. With the abbreviations of
// theory (3.2), D is the mechanical impedance over Rms, so that Zmot = Res/D and
// every derivative of Zmot is -Zmot/D times that of D.
func (p *problem) evalSweep(r, jac, x []float64, k int, m mechanics) {
	l, o := p.lay, &p.obs[k]
	s := p.sweepLoad(x, k)
	p.mem.zl = grown(p.mem.zl, len(o.z))
	zl := p.mem.zl
	var grad []complex128
	if jac != nil {
		p.mem.grad = grown(p.mem.grad, len(o.z)*l.coils)
		grad = p.mem.grad
	}
	p.form.coil.Eval(zl, grad, o.Axis, x[l.coil:l.coil+l.coils])

	// What a sweep does not feel stays zero; the rest is set at every point.
	p.mem.dz = grown(p.mem.dz, l.n)
	clear(p.mem.dz)
	e := evaluation{problem: p, mechanics: m, sweepLoad: s, x: x, k: k, zl: zl, grad: grad, dz: p.mem.dz, perWs: math.Exp(-m.lnws)}
	e.viscousNow, e.lossNow = m.viscous*s.friction, m.loss()*m.q*s.friction
	window := smoothWindow(p.form.smooth)
	for i := range o.W {
		if p.form.smooth > 0 && math.Abs(o.Lnw[i]-m.lnws) < smoothReach {
			p.store(r, jac, p.mem.dz, o, i, e.smoothed(i, &window, jac != nil))
			continue
		}
		p.store(r, jac, p.mem.dz, o, i, e.point(i, shift{0, 1}, jac != nil))
	}
}

// evaluation is one sweep at one vector of unknowns.
type evaluation struct {
	*problem
	mechanics
	sweepLoad
	x        []float64
	k        int
	zl, grad []complex128
	dz       []complex128
	perWs    float64
	// viscousNow is viscous, and lossNow 1 - viscous, with the losses of the sweep.
	viscousNow, lossNow float64
}

// shift is a step in frequency: its logarithm, and the factor.
type shift struct{ ln, factor float64 }

// point returns the impedance (ohm) beside point i, where coil and free pieces are still those of the point. With
// derivatives it sets dz.
func (e *evaluation) point(i int, by shift, derivatives bool) complex128 {
	p, m, s, x, k, dz := e.problem, &e.mechanics, &e.sweepLoad, e.x, e.k, e.dz
	l, o := p.lay, &p.obs[k]
	lnx, xr := o.Lnw[i]-m.lnws+by.ln, o.W[i]*e.perWs*by.factor
	law := complex(1, 0) // k(x)
	var byLambda, byLn complex128
	if l.creep >= 0 {
		law, byLambda, byLn = m.creep(lnx)
		if s.friction != 1 {
			law, byLambda, byLn = s.lossy(law), s.lossy(byLambda), s.lossy(byLn)
		}
	}
	of := law // of the suspension alone
	if l.tight >= 0 {
		law, byLambda, byLn = times(m.tight.own, law), times(m.tight.own, byLambda), times(m.tight.own, byLn)
	}
	if p.bend != nil {
		for j, b := range l.bend {
			law += times(x[b], s.lossy(p.bend[k][j][i]))
		}
	}
	spring := times(s.drift, law)
	var tight, byLeak complex128 // part of the stiffness of a box that a leak leaves
	if s.box {
		tight, byLeak = leaking(xr/e.perWs, s.leak)
		spring += times(s.stiff, tight)
	}
	var closed tightValue
	if l.tight >= 0 {
		closed = m.tight.at(xr)
		spring += times(1-m.tight.own, s.lossy(closed.value))
	}
	var air ventValue // of a vented box
	if l.port >= 0 {
		air = m.vent.at(xr / e.perWs)
		spring += air.value
	}
	qx, qox := m.q*xr, m.q/xr
	// D = real + j qx (1+mass) - j qox spring; -j (a + jb) = b - j a.
	d := complex(e.viscousNow+qox*imag(spring), qx*(1+s.mass)-qox*real(spring))
	perD := inverse(d)
	mot := times(m.res*s.magnet, perD)
	z := complex(s.re, 0) + e.zl[i] + mot
	for j, a := range p.extra {
		if a.effect[k] != nil {
			z += times(x[l.extra[j]], a.effect[k][i])
		}
	}
	var off, perOff complex128 // what the inputs are off by, as (sum b E) perOff
	if p.input != nil {
		off, perOff = p.inputsOff(x, k, i)
		z -= off * perOff
	}
	if !derivatives {
		return z
	}
	g := -mot * perD                 // dZ/dD
	gs := complex(imag(g), -real(g)) // -j g
	gs = times(qox, gs)              // by a change of spring
	gx := complex(-imag(g), real(g))
	gx = times(qx, gx) // by a change of the mass over Mms
	dz[l.re] = complex(s.re, 0)
	dz[l.res] = mot
	byMass, bySpring := times(1+s.mass, gx), gs*spring
	dz[l.qms] = byMass + bySpring - times(e.lossNow, g)
	dz[l.fs] = bySpring - byMass
	if l.creep >= 0 {
		byLaw := times(s.drift, gs)
		dz[l.fs] -= byLaw * byLn
		dz[l.creep] = byLaw*byLambda - times(m.tight.own*m.dangle*m.q*s.friction, g)
	}
	if l.tight >= 0 {
		share := 1 - m.tight.own
		dz[l.fs] -= times(share, gs*s.lossy(closed.byLn))
		dz[l.tight+tightAlpha] = times(share*m.tight.own, gs*(s.lossy(closed.value)-times(s.drift, of))-times((m.tight.angle-m.angle)*m.q*s.friction, g))
		for j, d := range closed.by {
			dz[l.tight+tightQL+j] = times(share, gs*s.lossy(d)-times(m.tight.byAngle[j]*m.q*s.friction, g))
		}
	}
	if l.port >= 0 {
		for j, d := range air.by {
			dz[l.port+j] = gs * d
		}
	}
	copy(dz[l.coil:l.coil+l.coils], e.grad[i*l.coils:(i+1)*l.coils])
	if j := l.heat[k]; j >= 0 {
		dz[j] = complex(s.re, 0)
	}
	if j := l.drift[k]; j >= 0 {
		dz[j] = times(s.drift, gs*law)
	}
	if j := l.friction[k]; j >= 0 {
		dz[j] = times(e.viscousNow, g) + gs*complex(0, s.drift*imag(law)+s.friction*(1-m.tight.own)*imag(closed.value))
	}
	if j := l.magnet[k]; j >= 0 {
		dz[j] = mot
	}
	for j, b := range l.bend {
		dz[b] = times(s.drift, gs*s.lossy(p.bend[k][j][i]))
	}
	for j, a := range p.extra {
		if a.effect[k] != nil {
			dz[l.extra[j]] = a.effect[k][i]
		}
	}
	for j, a := range p.input {
		if a.effect[k] != nil {
			d := a.effect[k][i]
			if a.bend[k] != nil {
				d -= off * perOff * a.bend[k][i]
			}
			dz[l.input[j]] = -d * perOff
		}
	}
	if o.load >= 0 {
		if s.box {
			if j := l.leak; j >= 0 {
				dz[j] = times(s.stiff*p.ws, gs*byLeak)
			}
			gs *= tight
		}
		p.loadDerivatives(dz, *s, o.load, gx, gs)
		if j := l.placing[k]; j >= 0 {
			dz[j] = times(s.placing, gx)
		}
	}
	return z
}

// inputsOff returns how far the point i of sweep k is off by errors of the inputs, as
// the sum of their effects b E in ohm and 1/(1 + sum b Q), theory (6.21).
func (p *problem) inputsOff(x []float64, k, i int) (sum, perBend complex128) {
	bend := complex(1, 0)
	for j, e := range p.input {
		if e.effect[k] == nil {
			continue
		}
		b := x[p.lay.input[j]]
		sum += times(b, e.effect[k][i])
		if e.bend[k] != nil {
			bend += times(b, e.bend[k][i])
		}
	}
	return sum, inverse(bend)
}

// times returns a z for a real a, without the products by zero of a complex
// multiplication.
func times(a float64, z complex128) complex128 { return complex(a*real(z), a*imag(z)) }

// square returns |z|^2.
func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// inverse returns 1/z, much faster than a complex division, which guards
// against overflow of |z|^2.
func inverse(z complex128) complex128 {
	s := 1 / square(z)
	return complex(real(z)*s, -imag(z)*s)
}

// leaking returns the part of the stiffness of a closed box that is left at w where its leak and its compliance have
// the corner c, both in rad/s, theory (3.5), and its derivative by c.
func leaking(w, c float64) (part, byCorner complex128) {
	per := inverse(complex(c, w))
	part = complex(0, w) * per
	return part, -part * per
}

// loadDerivatives sets in dz what the load of a sweep contributes; gm and gs are
// the derivatives of Z by the added mass over Mms and by the added stiffness
// times Cms.
func (p *problem) loadDerivatives(dz []complex128, s sweepLoad, load int, gm, gs complex128) {
	l := p.lay
	errIndex := l.load[load]
	if !s.box {
		dz[l.mms] = times(-s.mass, gm)
		if errIndex >= 0 {
			dz[errIndex] = times(s.massError, gm)
		}
		return
	}
	if l.boxAir >= 0 {
		dz[l.boxAir] = gm
	}
	gv := times(s.stiff, gs) // by ln Vas
	if errIndex >= 0 {
		dz[errIndex] = times(s.stiffError, gv)
	}
	if l.vas >= 0 {
		dz[l.vas] = gv
		return
	}
	dz[l.fs] -= 2 * gv
	dz[l.mms] = -gv
	if l.sd >= 0 {
		dz[l.sd] = 2 * gv
	}
	if l.pressure >= 0 {
		dz[l.pressure] = gv
	}
}

// store writes the residuals of one point and its row or rows of the Jacobian.
func (p *problem) store(r, jac []float64, dz []complex128, o *observation, i int, z complex128) {
	w := o.weight[i]
	row, m := o.row+i, p.nrows
	if o.magnitudeOnly {
		mag := cmplx.Abs(z)
		r[row] = (mag - real(o.z[i])) * w
		if jac != nil {
			u := cmplx.Conj(z) * complex(w/mag, 0)
			for j, d := range dz {
				jac[j*m+row] = real(u)*real(d) - imag(u)*imag(d)
			}
		}
		return
	}
	row2 := row + len(o.z)
	r[row] = (real(z) - real(o.z[i])) * w
	r[row2] = (imag(z) - imag(o.z[i])) * w
	if jac != nil {
		for _, d := range dz {
			jac[row] = real(d) * w
			jac[row2] = imag(d) * w
			row, row2 = row+m, row2+m
		}
	}
}
