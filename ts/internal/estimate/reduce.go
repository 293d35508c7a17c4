package estimate

import (
	"math"

	"conewright/ts/internal/lsq"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// reduced is a fit around its solution, reduced to what the sizes of the
// misfit depend on: the residuals and the columns of the free pieces with the
// part that the unknowns of the form can follow taken out, both rotated into
// few rows.
type reduced struct {
	total float64 // sum of squares that the form leaves
	rest  float64 // sum of squares that form and pieces together leave
	law   []int   // of each column
	ata   *mat.SymDense
	atc   []float64
	dof   float64 // rows minus unknowns
	miss  float64 // rms of what the form leaves, in units of the noise
}

// reduce prepares the search for the sizes of the misfit.
func (in input) reduce(s *solution, all []piece) *reduced {
	p := in.problem(s.prob.form, false, 1)
	n, priors := p.lay.n, len(p.lay.priors)
	p.addPieces(all, unitSizes, s.x[p.lay.coil:])
	l := p.lay
	nf := l.n - n
	x := make([]float64, l.n)
	copy(x, s.x)
	m := p.nrows
	// The residuals with their sign changed are one more column. The rows of the
	// priors of the pieces play no part here.
	a := p.mem.columns(m * (l.n + 1))
	r := a[m*l.n:]
	p.Eval(r, a[:m*l.n], x)
	for i := range r {
		r[i] = -r[i]
	}
	rows := m - len(l.priors) + priors
	for j := range l.n + 1 {
		clear(a[j*m+rows : (j+1)*m])
	}
	lsq.Triangle(a, m)
	rr := func(i, j int) float64 { return a[j*m+i] }
	red := &reduced{dof: float64(rows - n), rest: param.Sq(rr(l.n, l.n)), ata: mat.NewSymDense(nf, nil), atc: make([]float64, nf)}
	for i := range nf {
		red.law = append(red.law, all[i].law)
		c := rr(n+i, l.n)
		red.total += c * c
		for j := i; j < nf; j++ {
			red.atc[j] += rr(n+i, n+j) * c
			for k := j; k < nf; k++ {
				red.ata.SetSym(j, k, red.ata.At(j, k)+rr(n+i, n+j)*rr(n+i, n+k))
			}
		}
	}
	red.total += red.rest
	red.miss = math.Sqrt(red.total / red.dof)
	return red
}

// spectrum is the part of a reduced fit that belongs to one law: the eigenvalues
// of its block of ata and the squares of atc along the eigenvectors. It gives the
// likelihood of one law alone without factoring a matrix for every size.
type spectrum struct{ values, squares []float64 }

func (r *reduced) spectrum(law int) spectrum {
	var idx []int
	for i, l := range r.law {
		if l == law {
			idx = append(idx, i)
		}
	}
	k := len(idx)
	if k == 0 {
		return spectrum{}
	}
	block := mat.NewSymDense(k, nil)
	for i, ii := range idx {
		for j := i; j < k; j++ {
			block.SetSym(i, j, r.ata.At(ii, idx[j]))
		}
	}
	var e mat.EigenSym
	if !e.Factorize(block, true) {
		return spectrum{}
	}
	var v mat.Dense
	e.VectorsTo(&v)
	s := spectrum{values: e.Values(nil), squares: make([]float64, k)}
	for j := range k {
		var g float64
		for i, ii := range idx {
			g += v.At(i, j) * r.atc[ii]
		}
		s.squares[j] = g * g
	}
	return s
}

// gain returns what the law with the size tau adds to the log likelihood at one
// noise.
func (s spectrum) gain(tau, noise float64) float64 {
	t := tau * tau / (noise * noise)
	var like float64
	for j, v := range s.values {
		d := 1 + t*v
		like += t*s.squares[j]/(noise*noise*d) - math.Log(d)
	}
	return like / 2
}

// likelihood returns the restricted log likelihood of the sizes tau and the
// noise that makes it largest: theory (4.5). known says that the noise cannot be
// smaller than the weights say.
func (r *reduced) likelihood(tau sizes, known bool) (float64, float64) {
	var idx []int
	for i, law := range r.law {
		if tau[law] > 0 {
			idx = append(idx, i)
		}
	}
	k := len(idx)
	b := mat.NewSymDense(max(k, 1), nil)
	v := make([]float64, k)
	var chol mat.Cholesky
	eval := func(noise float64) float64 {
		like := -r.dof*math.Log(noise) - r.total/(2*noise*noise)
		if k == 0 {
			return like
		}
		// In units of tau and noise the prior of the pieces is the unit matrix.
		for i, ii := range idx {
			ti := tau[r.law[ii]] / noise
			for j := i; j < k; j++ {
				b.SetSym(i, j, ti*tau[r.law[idx[j]]]/noise*r.ata.At(ii, idx[j]))
			}
			b.SetSym(i, i, b.At(i, i)+1)
			v[i] = ti * r.atc[ii] / noise
		}
		if !chol.Factorize(b) {
			return math.Inf(-1)
		}
		var sol mat.VecDense
		rhs := mat.NewVecDense(k, v)
		if err := chol.SolveVecTo(&sol, rhs); err != nil {
			return math.Inf(-1)
		}
		return like - chol.LogDet()/2 + mat.Dot(rhs, &sol)/2
	}
	if k == 0 {
		return r.withoutPieces(known)
	}
	return r.likeliest(known, eval)
}

// withoutPieces is likelihood without any misfit.
func (r *reduced) withoutPieces(known bool) (like, noise float64) {
	noise = max(math.Sqrt(r.total/r.dof), floorOf(known, r.miss))
	return -r.dof*math.Log(noise) - r.total/(2*noise*noise), noise
}

// floorOf is the least noise that residuals can ask for where the form alone misses the sweeps by miss, both in units
// of the noise.
func floorOf(known bool, miss float64) float64 {
	if known {
		return max(1, leastLeft*miss)
	}
	return minNoise
}

// likeliest returns the largest value of a log likelihood over the noise, and
// that noise. It lies close to what is left when the pieces take all they can, unless they
// are so many that they can take nearly everything: the steps up from there grow until the
// likelihood falls, and small ones follow from where they became large.
func (r *reduced) likeliest(known bool, eval func(noise float64) float64) (like, noise float64) {
	const small = 1.32
	from := max(math.Sqrt(r.rest/max(r.dof-float64(len(r.law)), 1)), floorOf(known, r.miss))
	most := max(small*from, math.Sqrt(r.total/r.dof)) // no piece takes less than nothing
	for {
		like, noise = eval(from), from
		before := from
		for step := 0.01; ; step *= 2 {
			next := from * (1 + step)
			if next > most {
				break
			}
			v := eval(next)
			if v < like {
				break
			}
			before, like, noise = noise, v, next
		}
		if noise <= small*from {
			return like, noise
		}
		from = before
	}
}

// alarm returns the largest gain in log likelihood that a misfit of one law
// alone brings.
func (r *reduced) alarm(known bool) float64 {
	none, _ := r.withoutPieces(known)
	gain := 0.0
	for law, q := range laws {
		s := r.spectrum(law)
		for t := q.lo; t <= q.hi; t *= 2 {
			like, _ := r.likeliest(known, func(noise float64) float64 {
				return s.gain(t, noise) - r.dof*math.Log(noise) - r.total/(2*noise*noise)
			})
			gain = max(gain, like-none)
		}
	}
	return gain
}

// size finds the sizes of the misfit that make the residuals most likely, none
// below its floor when floors is set.
func (r *reduced) size(known, floors bool) misfit {
	var m misfit
	none, _ := r.likelihood(sizes{}, known)
	floor := func(law int) float64 {
		if floors {
			return laws[law].floor
		}
		return 0
	}
	for law := range laws {
		m.tau[law] = floor(law)
	}
	best, noise := r.likelihood(m.tau, known)
	for _, step := range []float64{4, 2, 1.4} {
		for range 6 {
			moved := false
			for law, q := range laws {
				if floors && law == coilBent {
					continue // the free pieces hold it
				}
				keep := m.tau[law]
				try := []float64{max(keep/step, floor(law)), min(keep*step, q.hi)}
				if keep == 0 {
					try = nil
					for t := q.lo; t < q.hi; t *= 4 {
						try = append(try, t)
					}
				} else if floor(law) == 0 && keep/step < q.lo {
					try[0] = 0
				}
				for _, t := range try {
					tau := m.tau
					tau[law] = t
					if like, n := r.likelihood(tau, known); like > best+1e-6 {
						best, noise, moved, m.tau = like, n, true, tau
					}
				}
			}
			if !moved {
				break
			}
		}
	}
	if floors { // a law that fails where it shows is not better where it is hidden
		m.tau[coilHidden] = max(m.tau[coilHidden], m.tau[coilFree])
	}
	m.noise, m.gain = noise, best-none
	return m
}
