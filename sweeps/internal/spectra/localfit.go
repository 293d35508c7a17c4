package spectra

import (
	"math"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/floats"
)

// A local fit finds the ratio of two spectra around one frequency. The ratio is
// a quadratic in frequency over the band; what leaks in from before the start
// and after the end of a segment is another smooth function, a quadratic for
// each segment, and is taken out. What is left is noise. Theory (6.4) to (6.6).
//
// Source: Pintelon, Schoukens, Vandersteen, Barbé, "Estimation of nonparametric
// noise and FRF models for multivariable systems", Mech. Syst. Signal Process.
// 24, 2010 (local polynomial method; from memory).
const (
	ratioOrder = 2                              // of the polynomial of the ratio
	leakOrder  = 2                              // of the polynomial of the leakage
	minCells   = ratioOrder + leakOrder + 2 + 6 // bins in a band of one segment: the unknowns and some to judge by

	leastSpread = 0.05 // variance of the position of the power in a band, which is 1/3 for a wide signal, below which it tells no slope
	mostNoise   = 0.1  // power of noise relative to that of channel 1 above which a band is given up
	splitError  = 0.5  // standard uncertainty of the correction for noise in channel 1, relative
)

// localFit collects the sums of one band over its segments.
type localFit struct {
	skip     []bool                                     // bins that are left out; nil for none
	used     int                                        // bins that are not
	leak     [leakOrder + 1][leakOrder + 1]float64      // see legendre
	gram     [ratioOrder + 2][ratioOrder + 2]complex128 // of X, dX, ddX, Y; leakage taken out
	segments int
	power    float64 // sum of |X|^2, leakage included
}

// newLocalFit returns a fit for segments of n bins without those to skip.
func newLocalFit(n int, skip []bool) *localFit {
	f := &localFit{skip: skip, used: n}
	for _, s := range skip {
		if s {
			f.used--
		}
	}
	if f.used >= minCells {
		f.leak = legendre(n, skip)
	}
	return f
}

// legendre returns the coefficients of polynomials that are orthonormal over
// those of n bins that are not to skip: coefficient r of polynomial q multiplies
// d^r.
func legendre(n int, skip []bool) [leakOrder + 1][leakOrder + 1]float64 {
	var c [leakOrder + 1][leakOrder + 1]float64
	var p [leakOrder + 1][]float64 // their values
	for q := range p {
		p[q] = make([]float64, n)
		c[q][q] = 1
		for j := range p[q] {
			if skip == nil || !skip[j] {
				p[q][j] = math.Pow(centred(j, n), float64(q))
			}
		}
		for range 2 { // twice is enough for orthogonality to rounding
			for r := range q {
				dot := floats.Dot(p[q], p[r])
				floats.AddScaled(p[q], -dot, p[r])
				floats.AddScaled(c[q][:], -dot, c[r][:])
			}
		}
		norm := 1 / floats.Norm(p[q], 2)
		floats.Scale(norm, p[q])
		floats.Scale(norm, c[q][:])
	}
	return c
}

// centred returns the position of bin j among n, from -1 to 1.
func centred(j, n int) float64 { return (2*float64(j) - float64(n-1)) / float64(n-1) }

// add takes in the bins of one segment. All that the fit needs follows from a few
// sums over powers of d, the position in the band.
func (f *localFit) add(x, y []complex128) {
	if f.used < minCells {
		return
	}
	const top = ratioOrder + leakOrder
	var px [top + 1]float64               // sums of |X|^2 d^k
	var sx [top + 1]complex128            // of X d^k
	var sy, xy [ratioOrder + 1]complex128 // of Y d^k and X* Y d^k
	var py float64                        // of |Y|^2
	y = y[:len(x)]
	step := 2 / float64(len(x)-1)
	// In two loops, because a processor has registers for half of the sums.
	for j, v := range x {
		if f.skip != nil && f.skip[j] {
			continue
		}
		d := float64(j)*step - 1
		d2 := d * d
		d3, d4 := d2*d, d2*d2
		re, im := real(v), imag(v)
		p := re*re + im*im
		px[0] += p
		px[1] += d * p
		px[2] += d2 * p
		px[3] += d3 * p
		px[4] += d4 * p
		sx[0] += v
		sx[1] += complex(d*re, d*im)
		sx[2] += complex(d2*re, d2*im)
		sx[3] += complex(d3*re, d3*im)
		sx[4] += complex(d4*re, d4*im)
	}
	for j, v := range x {
		if f.skip != nil && f.skip[j] {
			continue
		}
		d := float64(j)*step - 1
		d2 := d * d
		w := y[j]
		re, im := real(w), imag(w)
		py += re*re + im*im
		sy[0] += w
		sy[1] += complex(d*re, d*im)
		sy[2] += complex(d2*re, d2*im)
		re, im = real(v)*re+imag(v)*im, real(v)*im-imag(v)*re
		xy[0] += complex(re, im)
		xy[1] += complex(d*re, d*im)
		xy[2] += complex(d2*re, d2*im)
	}
	const rhs = ratioOrder + 1
	var proj [leakOrder + 1][ratioOrder + 2]complex128 // on the polynomials of the leakage
	for q := range proj {
		for r, c := range f.leak[q] {
			for a := range ratioOrder + 1 {
				proj[q][a] += complex(c, 0) * sx[a+r]
			}
			proj[q][rhs] += complex(c, 0) * sy[r]
		}
	}
	for a := range ratioOrder + 1 {
		for b := a; b <= ratioOrder; b++ {
			f.gram[a][b] += complex(px[a+b], 0)
		}
		f.gram[a][rhs] += xy[a]
	}
	f.gram[rhs][rhs] += complex(py, 0)
	for q := range proj {
		for a := range proj[q] {
			for b := a; b < len(proj[q]); b++ {
				f.gram[a][b] -= conj(proj[q][a]) * proj[q][b]
			}
		}
	}
	f.power += px[0]
	f.segments++
}

func conj(z complex128) complex128 { return complex(real(z), -imag(z)) }

// local is the outcome of a local fit.
type local struct {
	at    float64    // position in the band, -1 to 1, where its power lies
	ratio complex128 // Y/X there
	gain  float64    // variance of ratio for unit variance of the noise in a cell
	noise float64    // variance of the noise Ny - ratio Nx in a cell
	split float64    // variance of ratio because nobody knows which channel is the noisier
	dof   int        // complex degrees of freedom behind noise
	power float64    // of X in a cell, leakage taken out
	total float64    // of X in a bin, all segments together
}

// solve returns the ratio with its noise, false when the band has no
// information.
func (f *localFit) solve() (local, bool) {
	const rhs = ratioOrder + 1
	cells := f.segments * (f.used - (leakOrder + 1))
	total := real(f.gram[rhs][rhs])
	if cells < 1 || !(total > 0) || !(real(f.gram[0][0]) > 1e-12*f.power) {
		return local{}, false
	}
	// The ratio is told where it is known best: a band may reach beyond the
	// signal, or hold a single tone. Then its slope cannot be told either.
	at := min(max(real(f.gram[0][1])/real(f.gram[0][0]), -1), 1)
	n := ratioOrder + 1
	if spread := real(f.gram[1][1])/real(f.gram[0][0]) - at*at; spread < leastSpread {
		n = 1
	}
	dof := cells - n
	if dof < 1 {
		return local{}, false
	}
	// Noise in channel 1 makes the sums of |X|^2 too large and the ratio too
	// small. It is taken to be as strong as that of channel 2; two rounds suffice
	// because the correction is small wherever the point is of use.
	var l local
	var noiseX float64
	for range 3 {
		a := f.gram
		for i := range n {
			for k := i; k < n; k++ {
				a[i][k] -= complex(noiseX*momentRatio(i+k)*float64(cells), 0)
			}
		}
		g, gain, ok := solveHermitian(a, n, at)
		if !ok {
			return local{}, false
		}
		rss := total
		for i := range n {
			rss -= 2 * real(conj(g[i])*a[i][rhs])
			for k := range n {
				e := f.gram[min(i, k)][max(i, k)]
				if i > k {
					e = conj(e)
				}
				rss += real(conj(g[i]) * e * g[k])
			}
		}
		// Rounding leaves a floor of about 1e-15 of the power.
		rss = max(rss, 1e-15*total)
		power := real(f.gram[0][0]) / float64(cells)
		l = local{at: at, ratio: g[0] + complex(at, 0)*(g[1]+complex(at, 0)*g[2]), gain: gain, noise: rss / float64(dof), dof: dof,
			power: power, total: power * float64(f.segments)}
		noiseX = l.noise / (1 + dsp.SqAbs(l.ratio))
	}
	if noiseX > mostNoise*l.power {
		return local{}, false
	}
	l.split = dsp.SqAbs(l.ratio) * splitError * splitError * noiseX * noiseX / (l.power * l.power)
	return l, true
}

// momentRatio is the mean of d^m for d even over -1 to 1.
func momentRatio(m int) float64 {
	if m%2 == 1 {
		return 0
	}
	return 1 / float64(m+1)
}

// solveHermitian solves the normal equations of the first n columns in the
// upper triangle of a (its last column is the right side) by Cholesky's method.
// It returns the solution and, for unit noise, the variance of its polynomial at
// the position at.
func solveHermitian(a [ratioOrder + 2][ratioOrder + 2]complex128, n int, at float64) (g [ratioOrder + 1]complex128, gain float64, ok bool) {
	var l [ratioOrder + 1][ratioOrder + 1]complex128 // lower triangle
	for i := range n {
		for k := 0; k <= i; k++ {
			s := conj(a[k][i])
			for m := range k {
				s -= l[i][m] * conj(l[k][m])
			}
			if k < i {
				l[i][k] = s / l[k][k]
				continue
			}
			if !(real(s) > 1e-12*real(a[i][i])) {
				return g, 0, false
			}
			l[i][i] = complex(math.Sqrt(real(s)), 0)
		}
	}
	back := func(b [ratioOrder + 1]complex128) [ratioOrder + 1]complex128 {
		for i := range n {
			for m := range i {
				b[i] -= l[i][m] * b[m]
			}
			b[i] /= l[i][i]
		}
		for i := n - 1; i >= 0; i-- {
			for m := i + 1; m < n; m++ {
				b[i] -= conj(l[m][i]) * b[m]
			}
			b[i] /= l[i][i]
		}
		return b
	}
	var rhs, powers [ratioOrder + 1]complex128
	for i := range n {
		rhs[i] = a[i][ratioOrder+1]
		powers[i] = complex(math.Pow(at, float64(i)), 0)
	}
	g = back(rhs)
	for i, v := range back(powers) {
		gain += real(powers[i]) * real(v)
	}
	return g, gain, true
}
