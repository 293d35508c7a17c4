package estimate

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/internal/lsq"
	"conewright/ts/param"
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

// secondAt is what a second resonance adds to the mechanical impedance over w Mms, and its derivatives by the
// logarithms of frequency and Q.
type secondAt struct{ value, byF, byQ complex128 }

// at returns the effect at the frequency x (over Fs).
func (s second) at(x float64) secondAt {
	u := x / s.x
	per := inverse(complex(1/s.q, u-1/u))
	value := times(s.mass*u, per)
	return secondAt{value, value * (per*complex(0, u+1/u) - 1), times(1/s.q, value*per)}
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
	w := one.whitener(d)
	start, left, ok := one.scanSecond(s, w)
	if !ok {
		return nil
	}
	p := one.doubting(s, w, 0)
	p.addSecond()
	x := one.warmStart(p, s)
	copy(x[p.lay.second:], start[:])
	t := run(p, x, lsq.Settings{OffsetTol: roughTol, MaxEvaluations: secondEvaluations})
	if t == nil || left-t.result.SumSquares < 2*secondGain {
		return nil
	}
	return t.second()
}

// addSecond adds the logarithms of a second resonance to the unknowns: frequency in Hz, Q, mass over Mms.
func (p *problem) addSecond() {
	p.lay.second = p.lay.n
	p.lay.n += 3
}

// second returns the second resonance of a solution; nil where it is none.
func (s *solution) second() *fitted.Second {
	l, n := s.prob.lay, len(s.x)
	c, err := s.result.CovarianceTo(nil)
	if err != nil {
		return nil
	}
	at := s.x[l.second:]
	found := fitted.Second{Frequency: math.Exp(at[0]), Q: math.Exp(at[1]), MassShare: math.Exp(at[2])}
	if found.Frequency < secondAbove*math.Exp(s.x[l.fs]) || found.Frequency > secondTop(s.prob) || found.Q < leastSecondQ || found.MassShare > mostSecond {
		return nil
	}
	for i := range found.Std {
		found.Std[i] = localDoubt * math.Sqrt(c[(l.second+i)*(n+1)])
	}
	return &found
}

// secondTop is the highest frequency (Hz) of a second resonance.
func secondTop(p *problem) float64 {
	w := p.obs[0].W
	return min(secondHighest, w[len(w)-1]/(4*math.Pi))
}

// scanSecond returns the logarithms of frequency (Hz), Q and share of the moving mass of the second resonance that the
// residuals of a solution to one sweep show best, as a linear step tells, and the sum of squares without it.
func (in input) scanSecond(s *solution, w *whitener) (at [3]float64, left float64, ok bool) {
	p := in.doubting(s, w, 0)
	l, o := p.lay, &p.obs[0]
	x := in.warmStart(p, s)
	rows, n := p.Dims()
	points, coefficients := p.sweepRows(), w.coefficients()
	a := make([]float64, rows*(n+1)+points+coefficients)
	basis, r, c, t := a[:rows*n], a[rows*n:rows*(n+1)], a[rows*(n+1):][:points], a[rows*(n+1)+points:]
	z := p.impedance(x, 0)
	twice := slices.Clone(x)
	twice[l.res] += math.Ln2
	motional := p.impedance(twice, 0) // ohm: Z is linear in Res
	for i := range z {
		motional[i] -= z[i]
	}
	p.Eval(r, basis, x)
	for j := range n { // orthogonal columns, Gram and Schmidt
		v := basis[j*rows : (j+1)*rows]
		away(v, basis[:j*rows])
		if size := math.Sqrt(dot(v, v)); size > 0 {
			for i := range v {
				v[i] /= size
			}
		}
	}
	away(r, basis)
	fs, perRes := math.Exp(x[l.fs]), math.Exp(x[l.qms]-x[l.res])
	var best float64
	// The sweep's rows of a whitened column v are inv(1 + G G') v, so that products with it need no other column whitened.
	try := func(f, q float64) {
		e := second{x: f / fs, q: q, mass: 1}
		for i, m := range motional { // derivative of Z by the share
			u := o.W[i] / (2 * math.Pi * fs)
			v := times(-u*perRes*o.weight[i], m*m*e.at(u).value)
			if o.magnitudeOnly {
				c[i] = real(v*cmplx.Conj(z[i])) / cmplx.Abs(z[i])
			} else {
				c[i], c[len(o.z)+i] = real(v), imag(v)
			}
		}
		cr, cc := dot(c, r[:points]), w.square(c, p.obs, t)
		for j := range n {
			cc -= param.Sq(dot(c, basis[j*rows:j*rows+points]))
		}
		if share := -cr / cc; share > 0 && cr*cr/cc/2 > best {
			best = cr * cr / cc / 2
			at = [3]float64{math.Log(f), math.Log(q), math.Log(min(share, mostSecond/2))}
		}
	}
	for f := max(secondLowest, secondAbove*fs); f < secondTop(p); f *= math.Exp2(secondStep) {
		try(f, secondQ)
	}
	if best < secondHint {
		return at, 0, false
	}
	around := math.Exp(at[0])
	for _, shift := range []float64{-secondStep / 2, -secondStep / 4, secondStep / 4, secondStep / 2} {
		try(around*math.Exp2(shift), secondQ)
	}
	around = math.Exp(at[0])
	for _, q := range []float64{secondQ / 2, 2 * secondQ} {
		try(around, q)
	}
	return at, dot(r, r), true
}

// away takes the part along orthonormal columns out of v.
func away(v, columns []float64) {
	for ; len(columns) > 0; columns = columns[len(v):] {
		part := dot(v, columns[:len(v)])
		for i, x := range columns[:len(v)] {
			v[i] -= part * x
		}
	}
}
