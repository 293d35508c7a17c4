package estimate

import (
	"math"
	"slices"

	"conewright/ts/internal/lsq"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// local is a fit of one sweep around a solution, reduced to what the sizes of its discrepancy depend on: products of
// the columns of the Jacobian, the residuals as the last of them, with each other and with the splines. Real and imaginary
// part have the same splines.
type local struct {
	discrepancy
	class   []int // of each spline
	classes []class
	rows    int       // of the sweep
	n       int       // unknowns
	missed  float64   // relative rms by which the form alone misses the sweep
	parts   int       // 2 for a complex sweep
	own     []float64 // (n+1)^2, of the sweep
	prior   []float64 // (n+1)^2, of the rows of the priors
	with    []float64 // (n+1) columns of parts*count
	gram    band      // of the splines with each other

	*workspace
}

// workspace is memory of local.under.
type workspace struct {
	factor  band
	columns []float64
}

// class is a group of splines that have one size.
type class struct {
	wide   bool
	octave int // from the resonance
}

// reduceLocal prepares the search for sizes around the solution s, of an input with one sweep.
func (in input) reduceLocal(s *solution, d discrepancy) *local {
	p := in.problem(s.prob.form, false, 1)
	o := &p.obs[0]
	m, n, q := p.nrows, p.lay.n, d.count
	r := &local{discrepancy: d, rows: o.rows(), n: n, missed: s.misses(), parts: o.parts(), workspace: &in.mem.local}
	a := in.mem.columns(m * (n + 1))
	p.Eval(a[m*n:], a[:m*n], s.x)
	for i := range a[m*n:] {
		a[m*n+i] = -a[m*n+i]
	}
	r.own, r.prior = make([]float64, (n+1)*(n+1)), make([]float64, (n+1)*(n+1))
	for i := range n + 1 {
		for j := range i + 1 {
			u, v := a[i*m:(i+1)*m], a[j*m:(j+1)*m]
			own, prior := dot(u[:r.rows], v[:r.rows]), dot(u[r.rows:], v[r.rows:])
			r.own[i*(n+1)+j], r.own[j*(n+1)+i] = own, own
			r.prior[i*(n+1)+j], r.prior[j*(n+1)+i] = prior, prior
		}
	}
	r.with = make([]float64, r.parts*q*(n+1))
	r.gram.resize(q)
	points := in.mem.points[:0]
	for i, s := range d.at[0] {
		unit := o.weight[i] * o.size(i)
		for j := range s.value {
			s.value[j] *= unit
		}
		points = append(points, s)
		r.gram.addSquare(0, &s)
	}
	in.mem.points = points
	w := &whitener{discrepancy: d, column: [][]column{columns(points, d.count)}}
	for j := range n + 1 {
		w.project(r.with[j*r.parts*q:(j+1)*r.parts*q], a[j*m:(j+1)*m], p.obs)
	}
	fs := math.Exp(s.x[p.lay.fs])
	for spline := range q {
		c := class{wide(spline), int(math.Round(math.Log2(d.middle(spline) / fs)))}
		at := slices.Index(r.classes, c)
		if at < 0 {
			at = len(r.classes)
			r.classes = append(r.classes, c)
		}
		r.class = append(r.class, at)
	}
	return r
}

// miss is the rms of what the form alone leaves, in units of the noise.
func (r *local) miss() float64 { return math.Sqrt(r.own[len(r.own)-1] / float64(r.rows-r.n)) }

func dot(u, v []float64) float64 { return floats.Dot(u, v) }

// found is what the sweep says under given sizes: the restricted log likelihood, and of each class the sum of the squares of
// the likeliest coefficients, in units of their size, and how many of them the sweep determines. left is the sum of squares that
// is left of the residuals, in units of the noise.
type found struct {
	like                float64
	squares, determined []float64
	left                float64
}

// under returns what the sweep says under the sizes and the noise of d. theory (4.15).
func (r *local) under(size []float64, noise float64) (f found, ok bool) {
	q, n := r.count, r.n
	long := r.parts * q
	unit := make([]float64, q)
	for c := range unit {
		unit[c] = size[c] / noise
	}
	b := &r.factor
	b.resize(q)
	for i := range q {
		for j := max(0, i-reach); j <= i; j++ {
			b.rows[i*width+reach+j-i] = r.gram.rows[i*width+reach+j-i] * unit[i] * unit[j]
		}
		b.add(i, i, 1)
	}
	logDet := float64(r.parts) * b.factor()
	r.columns = sized(r.columns, 2*long*(n+1))
	scaled, t := r.columns[:long*(n+1)], r.columns[long*(n+1):]
	for from := 0; from < len(t); from += q {
		for c, v := range r.with[from : from+q] {
			scaled[from+c] = unit[c] * v
		}
		copy(t[from:from+q], scaled[from:from+q])
		b.solve(t[from : from+q])
	}
	m := r.products(noise)
	for i := range n + 1 {
		for j := i; j < n+1; j++ {
			m.SetSym(i, j, m.At(i, j)-dot(scaled[i*long:(i+1)*long], t[j*long:(j+1)*long]))
		}
	}
	law, ok := r.law(m, noise, logDet)
	if !ok {
		return f, false
	}
	f.like, f.left = law.like, law.left
	f.squares, f.determined = make([]float64, len(r.classes)), make([]float64, len(r.classes))
	free := b.inverseDiagonal()
	// What is left of the coefficients, and their variances: those beside known unknowns of the law, and what these add.
	rest, variance := t[n*long:], scaled[:long]
	for c := range variance {
		variance[c] = free[c%q]
	}
	for i := range n {
		floats.AddScaled(rest, -law.theta[i], t[i*long:(i+1)*long])
	}
	for i := range n {
		column, row := t[i*long:(i+1)*long], law.factor[i*n:i*n+i+1]
		for j, l := range row[:i] { // product with the inverse of the factor
			floats.AddScaled(column, -l, t[j*long:(j+1)*long])
		}
		for c, x := range column {
			x *= row[i]
			column[c] = x
			variance[c] += x * x
		}
	}
	for c, w := range rest {
		w /= noise
		k := r.class[c%q]
		f.squares[k] += w * w
		f.determined[k] += 1 - variance[c]
		f.left -= w * w
	}
	return f, true
}

// products returns the products of the columns with each other in the sweep and in the priors, where a unit is the noise.
func (r *local) products(noise float64) *mat.SymDense {
	n := r.n
	m := mat.NewSymDense(n+1, nil)
	for i := range n + 1 {
		for j := i; j < n+1; j++ {
			k := i*(n+1) + j
			m.SetSym(i, j, r.own[k]+noise*noise*r.prior[k])
		}
	}
	return m
}

// profile is what is left once the unknowns of the law take what they can.
type profile struct {
	like, left float64   // as in found, left with the coefficients
	theta      []float64 // the unknowns
	factor     []float64 // n*n, lower factor of their matrix with the inverse of its diagonal in place of that
}

// law profiles out the unknowns of the law, m being the products of the columns under the covariance of the residuals
// and logDet its logarithm of the determinant.
func (r *local) law(m *mat.SymDense, noise, logDet float64) (p profile, ok bool) {
	n := r.n
	var chol mat.Cholesky
	if !chol.Factorize(m.SliceSym(0, n)) {
		return p, false
	}
	right, theta := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		right.SetVec(i, m.At(i, n))
	}
	if chol.SolveVecTo(theta, right) != nil {
		return p, false
	}
	p.left = (m.At(n, n) - mat.Dot(right, theta)) / (noise * noise)
	p.like = -float64(r.rows-n)*math.Log(noise) - (logDet+chol.LogDet()+p.left)/2
	p.theta = theta.RawVector().Data
	var upper mat.TriDense
	chol.UTo(&upper)
	p.factor = make([]float64, n*n)
	for i := range n {
		for j := range i {
			p.factor[i*n+j] = upper.At(j, i)
		}
		p.factor[i*n+i] = 1 / upper.At(i, i)
	}
	return p, true
}

// sizes finds the sizes of the discrepancy and the noise that are likeliest, from those that it has. Each round brings the mean square
// of the coefficients of a class to its square; a class that the sweep says little about gets what is usual in the
// others. Source: Fellner 1986 and Schall 1991 (from memory).
func (r *local) sizes(known bool, rounds int) discrepancy {
	d := r.discrepancy
	if d.size == nil {
		d.size, d.noise = filledWith(d.count, firstSize), max(firstNoise*r.miss(), floorOf(known, r.miss()))
	}
	for range rounds {
		f, ok := r.under(d.size, d.noise)
		if !ok {
			break
		}
		usual := r.usual(f, d.size)
		before := d.size
		d.size = make([]float64, d.count)
		change, sum := 1.0, 0.0
		for spline, c := range r.class {
			square := before[spline] * before[spline] * f.squares[c]
			square = (square + sizePrior*usual[wide(spline)]) / (max(f.determined[c], 0) + sizePrior)
			d.size[spline] = min(max(math.Sqrt(square), r.leastOf(spline)), mostSize)
			change = max(change, d.size[spline]/before[spline], before[spline]/d.size[spline])
		}
		for _, v := range f.determined {
			sum += v
		}
		noise := d.noise * math.Sqrt(max(f.left, 1e-9*float64(r.rows))/max(float64(r.rows-r.n)-sum, 1))
		noise = max(noise, floorOf(known, r.miss()))
		change = max(change, noise/d.noise, d.noise/noise)
		d.noise = noise
		if math.Log(change) < sizeTol {
			break
		}
	}
	return d
}

// leastOf is the least size of a spline. An octave has few narrow ones, and around the resonance Fs and the Q values take what they say: by
// chance they often look far smaller than they are. So they are taken for no less than what they leave as noise.
func (r *local) leastOf(spline int) float64 {
	if wide(spline) {
		return leastSize
	}
	return max(leastLeft*r.missed, leastSize)
}

// usual returns the geometric mean of the squares of the sizes that the classes ask for, of wide and of narrow splines, each
// weighted by the number of coefficients that the sweep determines.
func (r *local) usual(f found, size []float64) map[bool]float64 {
	of := make([]float64, len(r.classes))
	for spline, c := range r.class {
		of[c] = size[spline]
	}
	logs, count := map[bool]float64{}, map[bool]float64{}
	for c, k := range r.classes {
		if n := f.determined[c]; n > 0 {
			logs[k.wide] += n * math.Log(max(of[c]*of[c]*f.squares[c]/n, leastSize*leastSize))
			count[k.wide] += n
		}
	}
	for k, n := range count {
		logs[k] = math.Exp(logs[k] / n)
	}
	return logs
}

// gain returns what a discrepancy adds to the restricted log likelihood.
func (r *local) gain(d discrepancy, known bool) float64 {
	noise := d.noise
	for range 3 {
		none, ok := r.law(r.products(noise), noise, 0)
		if !ok {
			return 0
		}
		noise = max(noise*math.Sqrt(none.left/float64(r.rows-r.n)), floorOf(known, r.miss()))
	}
	with, ok := r.under(d.size, d.noise)
	without, ok2 := r.law(r.products(noise), noise, 0)
	if !ok || !ok2 {
		return 0
	}
	return with.like - without.like
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
// and are found from one sweep: repeats tell the noise, and what differs from one to the next is no error of a law. The solution is its own
// minimum: around one that is off by what the runs differ by, a curve as narrow as a peak would be counted as a misfit.
func (in input) alone(s *solution) (input, *solution) {
	if len(in.obs) == 1 {
		return in, s
	}
	one := observe(in.sweeps[in.ref:in.ref+1], in.cond, &in.outline, in.cabinet).unweighted(in.mem)
	one.scale = in.scale[in.ref : in.ref+1]
	if in.trust != nil {
		one.trust = in.trust[in.ref : in.ref+1]
	}
	p := one.problem(s.prob.form, false, 1)
	start := one.warmStart(p, s)
	if t := settle(p, start, lsq.Settings{OffsetTol: roughTol}); t != nil {
		return one, t
	}
	return one, run(p, start, lsq.Settings{MaxEvaluations: 1})
}

func filledWith(n int, x float64) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = x
	}
	return v
}
