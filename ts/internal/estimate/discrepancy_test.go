package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// A banded matrix is factored, solved and inverted as gonum does it for the full one.
func TestBandAgainstFullMatrix(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	const n = 50
	var b band
	b.resize(n)
	full := mat.NewSymDense(n, nil)
	for i := range n {
		for j := max(0, i-reach); j <= i; j++ {
			v := rng.NormFloat64()
			if i == j {
				v = 40 + rng.Float64()
			}
			b.add(i, j, v)
			full.SetSym(i, j, v)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(full) {
		t.Fatal("the matrix is not positive definite")
	}
	if got, want := b.factor(), chol.LogDet(); math.Abs(got-want) > 1e-10*want {
		t.Errorf("logarithm of the determinant %v, want %v", got, want)
	}
	right := mat.NewVecDense(n, nil)
	for i := range n {
		right.SetVec(i, rng.NormFloat64())
	}
	var want mat.VecDense
	if err := chol.SolveVecTo(&want, right); err != nil {
		t.Fatal(err)
	}
	got := slices.Clone(right.RawVector().Data)
	b.solve(got)
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		t.Fatal(err)
	}
	for i, d := range b.inverseDiagonal() {
		if math.Abs(got[i]-want.AtVec(i)) > 1e-13 {
			t.Errorf("solution %d is %v, want %v", i, got[i], want.AtVec(i))
		}
		if math.Abs(d-inverse.At(i, i)) > 1e-14 {
			t.Errorf("element %d of the inverse is %v, want %v", i, d, inverse.At(i, i))
		}
	}
}

// Splines of either width add up to one everywhere, stand at the same frequencies in every sweep, and those that overlap have
// numbers within reach of each other.
func TestKnots(t *testing.T) {
	freq := simulated.LogFreq(1.3, 20000, 31)
	k := newKnots(freq)
	other := newKnots(simulated.LogFreq(7, 900, 24))
	for i, s := range k.at[0] {
		var sums [2]float64
		for j := range s.value {
			n := s.spline(j)
			if n < 0 || n >= k.count || wide(n) != (j < 4) {
				t.Fatalf("%v Hz: spline %d of %d", freq[i], n, k.count)
			}
			sums[j/4] += s.value[j]
			span := []float64{2 * wideStep, 2 * wideStep / narrow}[j/4]
			if off := math.Abs(math.Log2(k.middle(n) / freq[i])); off > span+1e-9 {
				t.Errorf("%v Hz lies %v octaves from the middle of spline %d", freq[i], off, n)
			}
		}
		if math.Abs(sums[0]-1) > 1e-12 || math.Abs(sums[1]-1) > 1e-12 {
			t.Errorf("%v Hz: splines add up to %v", freq[i], sums)
		}
		if far := slices.Max(s.ahead[:]) - slices.Min(s.ahead[:]); far > reach {
			t.Errorf("%v Hz: splines are %d apart", freq[i], far)
		}
	}
	for n := range other.count {
		if m := n + perKnot*(other.first-k.first); math.Abs(other.middle(n)/k.middle(m)-1) > 1e-12 {
			t.Errorf("spline %d stands at %v Hz and at %v Hz", n, other.middle(n), k.middle(m))
		}
	}
}

// lawlessInput is a sweep that follows no law, a solution for it, and a discrepancy with uneven sizes.
func lawlessInput(t *testing.T) (input, *solution, discrepancy) {
	rng := rand.New(rand.NewPCG(4, 991))
	in := inputOf([]measured.Sweep{{Impedance: simulated.DrawLawless(rng, 0.02).Sweep(rng)}}, measured.Conditions{})
	p := in.problem(form{coil: law.Semi, creep: true}, false, 1)
	s := solve(p, in.start(p, in.outline), scanTol)
	if !s.determined() {
		t.Fatal("no minimum")
	}
	d := in.noDiscrepancy()
	d.noise = 0.6
	d.size = make([]float64, d.count)
	for i := range d.size {
		d.size[i] = 0.002 * float64(1+i%7)
	}
	return in, s, d
}

// The few narrow splines of an octave are no smaller than a fifth of what the law misses, however small they look.
func TestNarrowSplinesAreNotTooSmall(t *testing.T) {
	in, s, _ := lawlessInput(t)
	least, atLeast := leastLeft*s.misses(), 0
	d := in.reduceLocal(s, in.noDiscrepancy()).sizes(in.known(), sizeRounds)
	for spline, size := range d.size {
		if wide(spline) {
			continue
		}
		if size < least {
			t.Errorf("a narrow spline at %.0f Hz has the size %v, the law misses the sweep by %v", d.middle(spline), size, s.misses())
		}
		if size == least {
			atLeast++
		}
	}
	if atLeast == 0 {
		t.Error("all narrow splines are larger by themselves: the test says nothing")
	}
}

// The sizes that several sweeps take are those that the first of them shows alone, although all of them have another common minimum.
func TestSizesAreThoseOfOneSweep(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 991))
	d := simulated.DrawLawless(rng, 0.02)
	first := measured.Sweep{Impedance: d.Sweep(rng)}
	sizes := func(sweeps ...measured.Sweep) discrepancy {
		in := inputOf(sweeps, measured.Conditions{})
		p := in.problem(form{coil: law.Semi, creep: true}, false, 1)
		s := solve(p, in.start(p, in.outline), scanTol)
		if !s.determined() {
			t.Fatal("no minimum")
		}
		one, own := in.alone(s)
		return one.reduceLocal(own, one.noDiscrepancy()).sizes(one.known(), sizeRounds)
	}
	stiffer := d
	stiffer.Fs *= 1.01
	want, got := sizes(first), sizes(first, measured.Sweep{Impedance: stiffer.Sweep(rng)}, measured.Sweep{Impedance: stiffer.Sweep(rng)})
	for spline, size := range want.size {
		if math.Abs(math.Log(got.size[spline]/size)) > 0.1 {
			t.Errorf("at %.0f Hz the size is %v, that of the sweep alone is %v", want.middle(spline), got.size[spline], size)
		}
	}
}

// covariance is K = 1 + G G' of the rows of a sweep, written down as it is defined.
func (w *whitener) covariance(o *observation) *mat.SymDense {
	n := len(o.z)
	k := mat.NewSymDense(2*n, nil)
	for i := range n {
		for j := range i + 1 {
			var sum float64
			for a := range 8 {
				m := w.discrepancy.at[0][i].spline(a)
				for b := range 8 {
					q := w.discrepancy.at[0][j].spline(b)
					if m == q {
						sum += w.size[m] * w.size[m] * w.discrepancy.at[0][i].value[a] * w.discrepancy.at[0][j].value[b]
					}
				}
			}
			sum *= o.weight[i] * o.size(i) * o.weight[j] * o.size(j)
			if i == j {
				sum++
			}
			k.SetSym(i, j, sum)
			k.SetSym(n+i, n+j, sum)
		}
	}
	return k
}

// The sum of squares of whitened residuals is r'inv(K)r, and the determinant that of K, by the full matrix.
func TestWhitenedSumOfSquares(t *testing.T) {
	in, s, d := lawlessInput(t)
	p := in.problem(s.prob.form, false, d.noise)
	r := make([]float64, p.nrows)
	p.Eval(r, nil, s.x)
	p.doubt(in.whitener(d), s.x[p.lay.coil:])
	white := make([]float64, p.nrows)
	p.Eval(white, nil, s.x)
	var chol mat.Cholesky
	if !chol.Factorize(p.white.covariance(&p.obs[0])) {
		t.Fatal("K is not positive definite")
	}
	v := mat.NewVecDense(p.sweepRows(), r[:p.sweepRows()])
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, v); err != nil {
		t.Fatal(err)
	}
	// The whitened rows have no further prior rows to count: those of the coil are zero at s.x.
	if got, want := dot(white, white), mat.Dot(v, &x); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("sum of squares %v, want %v", got, want)
	}
	if got, want := p.white.logDet, chol.LogDet(); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("logarithm of the determinant %v, want %v", got, want)
	}
}

// The restricted likelihood is that of the full matrices, up to a constant, and a round of the search goes
// towards its maximum: at the sizes that are found every class has as many squares as coefficients.
func TestRestrictedLikelihood(t *testing.T) {
	in, s, d := lawlessInput(t)
	r := in.reduceLocal(s, d)
	full := func(noise, factor float64) float64 {
		e := d
		e.noise, e.size = noise, make([]float64, d.count)
		for i, v := range d.size {
			e.size[i] = factor * v
		}
		p := in.problem(s.prob.form, false, noise)
		n, m := p.lay.n, p.sweepRows()
		res, jac := make([]float64, p.nrows), make([]float64, p.nrows*n)
		p.Eval(res, jac, s.x)
		p.doubt(in.whitener(e), s.x[p.lay.coil:])
		var chol mat.Cholesky
		if !chol.Factorize(p.white.covariance(&p.obs[0])) {
			t.Fatal("K is not positive definite")
		}
		j := mat.NewDense(m, n, nil)
		for c := range n {
			j.SetCol(c, jac[c*m:(c+1)*m])
		}
		var kj, jkj mat.Dense
		if chol.SolveTo(&kj, j) != nil {
			t.Fatal("no solution")
		}
		jkj.Mul(j.T(), &kj)
		v := mat.NewVecDense(m, res)
		var kv, jkv, theta mat.VecDense
		if chol.SolveVecTo(&kv, v) != nil {
			t.Fatal("no solution")
		}
		jkv.MulVec(kj.T(), v)
		if theta.SolveVec(&jkj, &jkv) != nil {
			t.Fatal("no solution")
		}
		logDet, _ := mat.LogDet(&jkj)
		left := mat.Dot(v, &kv) - mat.Dot(&jkv, &theta)
		// In units of the noise one, J'inv(K)J is smaller by noise^2 for each unknown.
		return -float64(m-n)*math.Log(noise) - (chol.LogDet()+logDet+2*float64(n)*math.Log(noise)+left)/2
	}
	at := func(noise, factor float64) float64 {
		size := slices.Clone(d.size)
		for i := range size {
			size[i] *= factor
		}
		f, ok := r.under(size, noise)
		if !ok {
			t.Fatal("no likelihood")
		}
		return f.like
	}
	base, want := at(0.6, 1), full(0.6, 1)
	for _, c := range [][2]float64{{0.6, 2}, {0.3, 1}, {0.1, 0.5}} {
		if got := at(c[0], c[1]) - base; math.Abs(got-(full(c[0], c[1])-want)) > 1e-4 {
			t.Errorf("noise %v, sizes times %v: %v, want %v", c[0], c[1], got, full(c[0], c[1])-want)
		}
	}
}

// A driver that follows no law has its errors where they are: the sizes that are found are largest where the misfit is, and
// the discrepancy is believed; a driver that follows a law is trusted.
func TestDiscrepancyIsLocal(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 991))
	d := simulated.DrawLawless(rng, 0.02)
	in := inputOf([]measured.Sweep{{Impedance: d.Sweep(rng)}}, measured.Conditions{})
	in, found := in.rescale(in.explore())
	all, _ := in.weigh(found)
	if !all[0].misfit.local.any() {
		t.Fatalf("the heaviest is %v, without discrepancy", all[0].prob.form)
	}
	local := all[0].misfit.local
	var low, high float64
	for spline, v := range local.size {
		switch f := local.middle(spline); {
		case !wide(spline):
		case f < 2*d.Fs:
			low = max(low, v)
		case f > 8*d.Fs:
			high = max(high, v)
		}
	}
	if high < 1.5*low {
		t.Errorf("sizes up to %v near the resonance, up to %v above: the truth has a third below three times Fs", low, high)
	}
}

// What the wide splines leave open is given as errors of their own, and with the noise makes up the covariance.
func TestDiscrepancyInTheUncertainty(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 991))
	sweeps := []measured.Sweep{{Impedance: simulated.DrawLawless(rng, 0.02).Sweep(rng)}}
	in := inputOf(sweeps, measured.Conditions{})
	in, found := in.rescale(in.explore())
	all, _ := in.weigh(found)
	m, ok := in.member(all[0])
	if !ok || m.prob.white == nil {
		t.Fatal("no member with a discrepancy")
	}
	c, err := m.result.CovarianceTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	n, re := len(m.x), m.prob.lay.re
	want := localDoubt * localDoubt * c[re*n+re]
	for _, p := range m.prob.lay.priors { // their errors count once
		e := c[re*n+p.index] / p.std
		for _, g := range p.given {
			e -= g.slope * c[re*n+g.index] / p.std
		}
		want -= (localDoubt*localDoubt - wideDoubt*wideDoubt) * e * e
	}
	at := slices.Index(m.ids, param.Re)
	if got := param.Sq(m.std(at)); math.Abs(got/want-1) > 1e-6 {
		t.Errorf("variance of ln Re %v, want %v", got, want)
	}
	var own, shared int
	fs := math.Exp(m.x[m.prob.lay.fs])
	for _, e := range m.effects {
		var f float64
		if n, _ := fmt.Sscanf(e.Source, "no law at %g Hz", &f); n == 1 {
			near := f > fs/2 && f < 2*fs
			if e.Own != near {
				t.Errorf("%s, resonance %v Hz: its own %v", e.Source, fs, e.Own)
			}
			if e.Own {
				own++
			} else {
				shared++
			}
		}
	}
	if own == 0 || shared == 0 {
		t.Errorf("%d errors of the laws are its own, %d shared", own, shared)
	}
	if !slices.ContainsFunc(m.effects, func(e param.Component) bool { return e.Part == param.ModelPart && e.Effect[at] != 0 }) {
		t.Error("no error of the laws moves Re")
	}
}
