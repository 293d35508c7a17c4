package estimate

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/internal/lsq"
	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
)

// second is a second resonance: a part of the moving mass on a spring of its own, as a surround, a part of the cone or a
// mass on soft glue. Mms holds its mass, which moves with the rest far below it. It adds to the mechanical impedance
//
//	w m2 x / (1/Q2 + j (x - 1/x)),   x = f/f2
//
// to what the mass m2 has there already. theory (3.11), derived from the circuit with m2 on k2 and r2 beside the cone.
type second struct {
	x    float64 // f2 over Fs
	q    float64
	mass float64 // m2 over Mms
}

// secondAt is what a second resonance does to an impedance, and the derivatives of that by the logarithms of its frequency,
// its Q and its mass.
type secondAt struct {
	value complex128
	by    [3]complex128
}

// value returns by how much a motional impedance (ohm) changes at the frequency u (over Fs); perRes is Qms over Res. With
// D the mechanical impedance over Rms, motional = Res/D and D grows by Qms times what is added to it over w Mms.
func (s second) value(motional complex128, u, perRes float64) complex128 {
	over := u / s.x
	added := times(s.mass*over, inverse(complex(1/s.q, over-1/over)))
	return motional*inverse(1+times(perRes*u, motional*added)) - motional
}

// at returns value with its derivatives.
func (s second) at(motional complex128, u, perRes float64) secondAt {
	over := u / s.x
	per := inverse(complex(1/s.q, over-1/over))
	added := times(s.mass*over, per)
	byF := added * (per*complex(0, over+1/over) - 1)
	byQ := times(1/s.q, added*per)
	value := s.value(motional, u, perRes)
	with := motional + value
	g := times(-perRes*u, with*with)
	return secondAt{value, [3]complex128{g * byF, g * byQ, g * added}}
}

// secondBeside returns the second resonance that the residuals of the forms show, beside a misfit that is smooth over frequency;
// nil where there is none. It plays no part in the values of the main one: as a member of the average it made four files
// of one driver disagree about the laws, and brought nothing to one. docs/decisions/0062.
func (in input) secondBeside(all []candidate) *fitted.Second {
	possible := slices.DeleteFunc(slices.Clone(all), func(c candidate) bool {
		return c.ruledOut || c.misfit.any() || !c.prob.form.causal() || c.prob.lay.coils == 0
	})
	if len(possible) == 0 {
		return nil
	}
	s := slices.MinFunc(possible, func(a, b candidate) int { return cmp.Compare(a.chi2, b.chi2) }).solution
	if neighbours, shared := s.correlation(); neighbours == 1 && shared == 1 { // a law is followed
		return nil
	}
	one, s := in.alone(s)
	miss := math.Sqrt(s.chi2 / float64(s.prob.sweepRows()))
	d := one.noDiscrepancy()
	d.noise = max(firstNoise*miss, floorOf(one.known(), miss))
	d.size = filledWith(d.count, secondNarrow)
	for i := range d.size {
		if wide(i) {
			d.size[i] = secondWide
		}
	}
	b := one.beside(s, one.whitener(d))
	start, ok := b.scan()
	if !ok {
		return nil
	}
	var r lsq.Result
	if err := in.mem.Solve(&r, b, b.shortened(start), lsq.Settings{OffsetTol: roughTol, MaxEvaluations: secondEvaluations}); err != nil {
		return nil
	}
	if dot(b.rest, b.rest)-r.SumSquares < 2*secondGain {
		return nil
	}
	return b.found(&r)
}

// beside is the search for a second resonance beside a fit to one sweep: a problem with the logarithms of frequency (Hz), Q and
// share of the moving mass as its unknowns. The unknowns of the law follow as a linear step tells, so that their columns need
// computing once.
type beside struct {
	w            *whitener
	obs          []observation
	fs, perRes   float64      // Hz; Qms over Res
	z, motional  []complex128 // ohm, of the law
	rest         []float64    // the residuals, whitened, without the part that the law can follow
	basis        []float64    // orthonormal columns of what the law can follow, whitened
	points, law  int          // rows of the sweep, number of those columns
	coefficients []float64    // memory
}

func (in input) beside(s *solution, w *whitener) *beside {
	p := in.doubting(s, w, 0)
	l, x := p.lay, in.warmStart(p, s)
	rows, n := p.Dims()
	b := &beside{w: w, obs: p.obs, fs: math.Exp(x[l.fs]), perRes: math.Exp(x[l.qms] - x[l.res]), points: p.sweepRows(), law: n,
		coefficients: make([]float64, w.coefficients())}
	b.z = p.impedance(x, 0)
	twice := slices.Clone(x)
	twice[l.res] += math.Ln2
	b.motional = p.impedance(twice, 0) // Z is linear in Res
	for i, z := range b.z {
		b.motional[i] -= z
	}
	b.basis, b.rest = make([]float64, rows*n), make([]float64, rows)
	p.Eval(b.rest, b.basis, x)
	for j := range n { // Gram and Schmidt
		v := b.basis[j*rows : (j+1)*rows]
		away(v, b.basis[:j*rows])
		if size := math.Sqrt(dot(v, v)); size > 0 {
			floats.Scale(1/size, v)
		}
	}
	away(b.rest, b.basis)
	return b
}

// Dims returns the rows of a whitened sweep with its priors, and 3.
func (b *beside) Dims() (m, n int) { return len(b.rest), 3 }

// Eval computes the residuals with a second resonance.
func (b *beside) Eval(r, jac, x []float64) {
	m, fs := len(b.rest), b.fs
	clear(r)
	clear(jac)
	e := second{math.Exp(x[0]) / fs, math.Exp(x[1]), math.Exp(x[2])}
	if e.mass > 1 || e.q > mostSecondQ || e.x*fs > secondHighest {
		r[0] = math.NaN() // there the law would have to follow much farther than a linear step tells
		return
	}
	for i, w := range b.obs[0].W {
		u := w / (2 * math.Pi * fs)
		if jac == nil {
			b.put(r, i, b.change(i, e.value(b.motional[i], u, b.perRes)))
			continue
		}
		at := e.at(b.motional[i], u, b.perRes)
		b.put(r, i, b.change(i, at.value))
		for j, d := range at.by {
			b.put(jac[j*m:(j+1)*m], i, b.slope(i, at.value, d))
		}
	}
	b.whiten(r)
	for i, v := range b.rest {
		r[i] += v
	}
	for ; len(jac) > 0; jac = jac[m:] {
		b.whiten(jac[:m])
	}
}

// change returns by how much what was measured at a point changes with the impedance, and slope the same for a small change d more.
func (b *beside) change(i int, by complex128) complex128 {
	if b.obs[0].magnitudeOnly {
		return complex(cmplx.Abs(b.z[i]+by)-cmplx.Abs(b.z[i]), 0)
	}
	return by
}

func (b *beside) slope(i int, by, d complex128) complex128 {
	if b.obs[0].magnitudeOnly {
		z := b.z[i] + by
		return complex(real(cmplx.Conj(z)*d)/cmplx.Abs(z), 0)
	}
	return d
}

// put writes the row or rows of a point.
func (b *beside) put(v []float64, i int, change complex128) {
	o := &b.obs[0]
	v[i] = real(change) * o.weight[i]
	if !o.magnitudeOnly {
		v[len(o.z)+i] = imag(change) * o.weight[i]
	}
}

// whiten takes the discrepancy, and then what the law can follow, out of a column.
func (b *beside) whiten(v []float64) {
	b.w.apply(v, b.obs, b.points)
	away(v, b.basis)
}

// scan returns the logarithms of the second resonance that the residuals show best, as a linear step tells.
func (b *beside) scan() (at [3]float64, ok bool) {
	var best float64
	c, rows, perWs := make([]float64, b.points), len(b.rest), 1/(2*math.Pi*b.fs)
	// The sweep's rows of a whitened column v are inv(1 + G G') v, so that products with it need no other column whitened.
	try := func(f, q float64) {
		e := second{x: f / b.fs, q: q, mass: scanShare}
		for i, w := range b.obs[0].W {
			b.put(c, i, b.change(i, e.value(b.motional[i], w*perWs, b.perRes)))
		}
		cr, cc := dot(c, b.rest[:b.points]), b.w.square(c, b.obs, b.coefficients)
		for j := range b.law {
			cc -= param.Sq(dot(c, b.basis[j*rows:j*rows+b.points]))
		}
		if times := -cr / cc; times > 0 && cr*cr/cc/2 > best {
			best = cr * cr / cc / 2
			at = [3]float64{math.Log(f), math.Log(q), math.Log(min(times*scanShare, mostSecond/2))}
		}
	}
	for f := max(secondLowest, secondAbove*b.fs); f < b.top(); f *= math.Exp2(secondStep) {
		try(f, secondQ)
	}
	if best < secondHint {
		return at, false
	}
	around := math.Exp(at[0])
	for _, shift := range []float64{-secondStep / 2, -secondStep / 4, secondStep / 4, secondStep / 2} {
		try(min(around*math.Exp2(shift), b.top()), secondQ)
	}
	around = math.Exp(at[0])
	for _, q := range []float64{secondQ / 2, 2 * secondQ} {
		try(around, q)
	}
	return at, true
}

// shortened returns a start with as much of the mass as lowers the sum of squares most: with all that a linear step asks for it may
// rise, and lead elsewhere.
func (b *beside) shortened(at [3]float64) []float64 {
	r, least := make([]float64, len(b.rest)), math.Inf(1)
	for {
		b.Eval(r, nil, at[:])
		left := dot(r, r)
		if !(left < least) {
			at[2] += math.Ln2
			return at[:]
		}
		least = left
		at[2] -= math.Ln2
	}
}

// top is the highest frequency (Hz) of a second resonance.
func (b *beside) top() float64 {
	w := b.obs[0].W
	return min(secondHighest, w[len(w)-1]/(4*math.Pi))
}

// found returns the second resonance of a solution; nil where it is none.
func (b *beside) found(r *lsq.Result) *fitted.Second {
	c, err := r.CovarianceTo(nil)
	if err != nil {
		return nil
	}
	s := fitted.Second{Frequency: math.Exp(r.X[0]), Q: math.Exp(r.X[1]), MassShare: math.Exp(r.X[2])}
	if s.Frequency < secondAbove*b.fs || s.Frequency > b.top() || s.Q < leastSecondQ || s.MassShare > mostSecond {
		return nil
	}
	for i := range s.Std {
		s.Std[i] = localDoubt * math.Sqrt(c[4*i])
	}
	return &s
}

// away takes the part along orthonormal columns out of v.
func away(v, columns []float64) {
	for ; len(columns) > 0; columns = columns[len(v):] {
		floats.AddScaled(v, -dot(v, columns[:len(v)]), columns[:len(v)])
	}
}
