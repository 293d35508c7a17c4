package estimate

import (
	"conewright/ts/internal/lsq"

	"math"

	"gonum.org/v1/gonum/mat"
)

// local is a fit around a solution without discrepancy or with one, reduced to what the sizes of the discrepancy depend on.
type local struct {
	discrepancy
	class   []int // of each coefficient
	classes int
	rows    int       // of the sweeps
	n       int       // unknowns
	jj      []float64 // (n+1)^2: products of the columns of the Jacobian and of the residuals, sweeps alone
	prior   []float64 // (n+1)^2: the same of the rows of the priors
	gj      []float64 // (n+1) columns: their products with the splines
	gg      band
}

// bands of frequency that have a size of their own: so many octaves, one of them around the resonance.
const sizeBand = 1

// reduceLocal prepares the search for sizes around the solution s. Its residuals are taken without discrepancy.
func (in input) reduceLocal(s *solution, d discrepancy) *local {
	p := in.problem(s.prob.form, false, 1)
	rows, n := p.sweepRows(), p.lay.n
	r := &local{discrepancy: d, rows: rows, n: n}
	m := p.nrows
	a := make([]float64, m*(n+1))
	p.Eval(a[m*n:], a[:m*n], s.x)
	for i := range a[m*n:] {
		a[m*n+i] = -a[m*n+i]
	}
	r.jj, r.prior = make([]float64, (n+1)*(n+1)), make([]float64, (n+1)*(n+1))
	for i := range n + 1 {
		for j := range i + 1 {
			for part, dst := range [][]float64{r.jj, r.prior} {
				from, to := 0, rows
				if part == 1 {
					from, to = rows, m
				}
				var sum float64
				u, v := a[i*m+from:i*m+to], a[j*m+from:j*m+to]
				for k, x := range u {
					sum += x * v[k]
				}
				dst[i*(n+1)+j], dst[j*(n+1)+i] = sum, sum
			}
		}
	}
	q := d.coefficients()
	r.gj = make([]float64, q*(n+1))
	r.gg.resize(q)
	w := &whitener{discrepancy: r.discrepancy}
	for k := range p.obs {
		o := &p.obs[k]
		at := make([]support, len(o.z))
		for i, s := range d.at[k] {
			unit := o.weight[i] * o.size(i)
			for j := range s.value {
				s.value[j] *= unit
			}
			at[i] = s
			for part := range o.parts() {
				r.gg.addSquare(d.base(k, part), &s)
			}
		}
		w.at = append(w.at, at)
	}
	for j := range n + 1 {
		w.project(r.gj[j*q:(j+1)*q], a[j*m:(j+1)*m], p.obs)
	}
	// Classes: wide and narrow splines by bands around the resonance.
	fs := math.Exp(s.x[p.lay.fs])
	index := map[[2]int]int{}
	for c := range q {
		spline := c % d.count
		key := [2]int{int(math.Round(math.Log2(d.middle(spline)/fs) / sizeBand)), 0}
		if !wide(spline) {
			key[1] = 1
		}
		if _, ok := index[key]; !ok {
			index[key] = len(index)
		}
		r.class = append(r.class, index[key])
	}
	r.classes = len(index)
	return r
}

// at returns the restricted log likelihood of sizes and noise, and the sums over the coefficients of each class that the
// next sizes follow from: squares of the likeliest coefficients, in units of their sizes, and how many of them the sweeps determine.
// residual is the sum of squares that is left, in units of the noise.
func (r *local) at(size []float64, noise float64) (like float64, squares, determined []float64, residual float64) {
	q, n := r.coefficients(), r.n
	var b band
	b.resize(q)
	unit := make([]float64, q)
	for c := range unit {
		unit[c] = size[c%r.count] / noise
	}
	for i := range q {
		for j := max(0, i-reach); j <= i; j++ {
			b.rows[i*width+reach+j-i] = r.gg.rows[i*width+reach+j-i] * unit[i] * unit[j]
		}
		b.add(i, i, 1)
	}
	logDet := b.factor()
	t := make([]float64, q*(n+1))
	m := mat.NewSymDense(n+1, nil)
	for j := range n + 1 {
		col := t[j*q : (j+1)*q]
		for c := range col {
			col[c] = unit[c] * r.gj[j*q+c]
		}
		b.solve(col)
	}
	for i := range n + 1 {
		for j := i; j < n+1; j++ {
			v := r.jj[i*(n+1)+j] + noise*noise*r.prior[i*(n+1)+j]
			for c := range q {
				v -= unit[c] * r.gj[i*q+c] * t[j*q+c]
			}
			m.SetSym(i, j, v)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(m.SliceSym(0, n)) {
		return math.Inf(-1), nil, nil, 0
	}
	theta := make([]float64, n)
	rhs := make([]float64, n)
	for i := range rhs {
		rhs[i] = m.At(i, n)
	}
	sol := mat.NewVecDense(n, theta)
	if chol.SolveVecTo(sol, mat.NewVecDense(n, rhs)) != nil {
		return math.Inf(-1), nil, nil, 0
	}
	left := m.At(n, n)
	for i, v := range rhs {
		left -= v * theta[i]
	}
	left /= noise * noise
	var inv mat.SymDense
	if chol.InverseTo(&inv) != nil {
		return math.Inf(-1), nil, nil, 0
	}
	like = -float64(r.rows-n)*math.Log(noise) - logDet/2 - chol.LogDet()/2 - left/2
	squares, determined = make([]float64, r.classes), make([]float64, r.classes)
	diag := make([]float64, q)
	b.inverseDiagonal(diag, make([]float64, q*width))
	residual = left
	for c := range q {
		w := t[n*q+c]
		v := diag[c]
		for i := range n {
			w -= t[i*q+c] * theta[i]
			for j := range n {
				v += t[i*q+c] * inv.At(i, j) * t[j*q+c]
			}
		}
		w /= noise
		squares[r.class[c]] += w * w
		determined[r.class[c]] += 1 - v
		residual -= w * w
	}
	return like, squares, determined, residual
}

const (
	sizeRounds = 12
	sizePrior  = 4.0
	leastSize  = 1e-6
	mostSize   = 0.05
)

// sizes finds the sizes of the discrepancy by restricted likelihood, from sizes that it has, and what it gains against none.
// Each round brings the mean square of the coefficients of a class to what they would be by chance. Source: Fellner 1986,
// Schall 1991 (from memory).
func (r *local) sizes(known bool) (d discrepancy, gain float64) {
	d = r.discrepancy
	if d.size == nil {
		d.size = make([]float64, d.count)
		for i := range d.size {
			d.size[i] = 0.01
		}
		d.noise = math.Sqrt(r.jj[len(r.jj)-1] / float64(r.rows-r.n))
	}
	like := 0.0
	for range sizeRounds {
		var squares, determined []float64
		var residual float64
		like, squares, determined, residual = r.at(d.size, d.noise)
		if squares == nil {
			break
		}
		next := make([]float64, d.count)
		var all, some [2]float64 // narrow, wide
		kind := func(spline int) int {
			if wide(spline) {
				return 1
			}
			return 0
		}
		seen := make([]bool, r.classes)
		classSize := make([]float64, r.classes)
		sum := 0.0
		for spline := range d.count {
			c := r.class[spline]
			if !seen[c] {
				seen[c] = true
				classSize[c] = d.size[spline]
				if det := max(determined[c], 0); det > 0 {
					all[kind(spline)] += det * math.Log(max(squares[c]*d.size[spline]*d.size[spline]/det, leastSize*leastSize))
					some[kind(spline)] += det
				}
				sum += determined[c]
			}
		}
		for spline := range next {
			c, k := r.class[spline], kind(spline)
			mean := math.Exp(all[k] / max(some[k], 1e-3))
			a2 := d.size[spline] * d.size[spline]
			next[spline] = min(mostSize, max(leastSize, math.Sqrt((squares[c]*a2+sizePrior*mean)/(max(determined[c], 0)+sizePrior))))
		}
		d.size = next
		d.noise *= math.Sqrt(max(residual, 1e-9*float64(r.rows)) / max(float64(r.rows-r.n)-sum, 1))
		d.noise = max(d.noise, floorOf(known))
	}
	none := make([]float64, d.count)
	noise0 := d.noise
	for range 3 {
		_, _, _, residual := r.at(none, noise0)
		noise0 = max(noise0*math.Sqrt(residual/float64(r.rows-r.n)), floorOf(known))
	}
	like0, _, _, _ := r.at(none, noise0)
	like, _, _, _ = r.at(d.size, d.noise)
	return d, like - like0
}

// noDiscrepancy lays out the splines for the sweeps, without sizes.
func (o *observed) noDiscrepancy() discrepancy {
	d := discrepancy{noise: 1}
	var freq [][]float64
	number := map[int]int{}
	for k := range o.obs {
		freq = append(freq, o.sweeps[k].Impedance.Freq)
		load := o.obs[k].load
		if _, ok := number[load]; !ok {
			number[load] = len(number)
		}
		d.group = append(d.group, number[load])
	}
	d.groups = len(number)
	d.knots = newKnots(freq...)
	return d
}

// alone returns the reference sweep alone, and a solution for it. The sizes of a discrepancy are those of the driver
// and are found from one sweep: repeats tell the noise, and what differs from one to the next is no error of a law.
func (in input) alone(s *solution) (input, *solution) {
	if len(in.obs) == 1 {
		return in, s
	}
	one := observe(in.sweeps[in.ref:in.ref+1], in.cond, &in.outline).unweighted(in.mem)
	one.scale = in.scale[in.ref : in.ref+1]
	if in.trust != nil {
		one.trust = in.trust[in.ref : in.ref+1]
	}
	p := one.problem(s.prob.form, false, 1)
	t := run(p, s.x[:p.lay.n], lsq.Settings{MaxEvaluations: 1})
	return one, t
}

func (o *observed) freqs() (all [][]float64) {
	for _, s := range o.sweeps {
		all = append(all, s.Impedance.Freq)
	}
	return all
}
