package estimate

import (
	"fmt"
	"math"
	"slices"

	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
)

// discrepancy is what no law says: a relative error of the modelled impedance that is smooth over a part of an octave,
//
//	measured = law (1 + delta(f)) + noise,   delta = sum of splines, complex
//
// with coefficients of mean zero and the standard deviations size. It is the same in all sweeps under one load, so that
// what repeats share counts once. Being local, it leaves a law alone where that one holds. theory (4.15), docs/decisions/0062.
type discrepancy struct {
	*knots
	group  []int // of each sweep: the sweeps with the same load have one
	groups int
	size   []float64 // one a spline; nil: the laws are trusted
	noise  float64   // number by which the noise exceeds the weights
}

// any says whether the laws are doubted.
func (d discrepancy) any() bool { return d.size != nil }

// base returns the number of the first coefficient of sweep k, of the real or the imaginary part (0, 1). All real parts come first.
func (d *discrepancy) base(k, part int) int { return (part*d.groups + d.group[k]) * d.count }

// coefficients is the number of all coefficients.
func (d *discrepancy) coefficients() int { return 2 * d.groups * d.count }

// source is the name of the error of a spline, the same in all sweeps of a driver.
func (d *discrepancy) source(spline, part int) string {
	return fmt.Sprintf("no law at %.4g Hz, %s", d.middle(spline), [2]string{"real", "imaginary"}[part])
}

// whitener takes the discrepancy out of residuals and of the columns of a Jacobian. With G the columns of the
// coefficients in units of their size, |r - G t|^2 + |t|^2 is smallest for
//
//	t = inv(1 + G'G) G' r
//
// and is then r'inv(1 + G G') r. So r - G t, and t as residuals of their own, make the sum of squares under the
// discrepancy. theory (4.15).
type whitener struct {
	discrepancy
	column [][]column // [sweep][spline], of G
	factor [2]*band   // of 1 + G'G, real and imaginary parts: one and the same where all sweeps have both
	logDet float64
}

// whitener prepares a discrepancy for the sweeps, with the noise that goes with it. All problems with the same weights can
// use it.
func (in input) whitener(d discrepancy) *whitener {
	w, obs := &whitener{discrepancy: d}, in.weighted(d.noise)
	half := d.coefficients() / 2
	both := !slices.ContainsFunc(obs, func(o observation) bool { return o.magnitudeOnly })
	w.factor[0] = newBand(half)
	if w.factor[1] = w.factor[0]; !both {
		w.factor[1] = newBand(half)
	}
	for k := range obs {
		o := &obs[k]
		points := in.mem.points[:0]
		for i, s := range d.at[k] {
			unit := o.weight[i] * o.size(i)
			for j := range s.value {
				s.value[j] *= unit * d.size[s.spline(j)]
			}
			points = append(points, s)
			w.factor[0].addSquare(d.base(k, 0), &s)
			if !both && !o.magnitudeOnly {
				w.factor[1].addSquare(d.base(k, 0), &s)
			}
		}
		in.mem.points = points
		w.column = append(w.column, columns(points, d.count))
	}
	w.logDet = w.factor[0].factor()
	if both {
		w.logDet *= 2
	} else {
		w.logDet += w.factor[1].factor()
	}
	return w
}

// doubt gives the problem a discrepancy. Beside it the sweeps may not determine all unknowns of the coil, which get weak
// priors around at.
func (p *problem) doubt(w *whitener, at []float64) {
	for i, u := range p.form.coil.Unknowns() {
		p.lay.priors = append(p.lay.priors, prior{index: p.lay.coil + i, mean: at[i], std: widthCoil,
			component: param.Component{Source: "coil law, " + u.Symbol, Part: param.ModelPart}})
	}
	p.white = w
	p.number()
}

// addSquare adds the products of the values of one point, the splines counted from base.
func (b *band) addSquare(base int, s *support) {
	for j, n := range s.ahead {
		for i, m := range s.ahead {
			if m <= n {
				b.add(base+s.spline(j), base+s.spline(i), s.value[j]*s.value[i])
			}
		}
	}
}

// apply whitens one column, whose rows of the sweeps are set. The coefficients follow those from row on.
func (w *whitener) apply(v []float64, obs []observation, row int) {
	t := v[row : row+w.coefficients()]
	clear(t)
	w.project(t, v, obs)
	for part, b := range w.factor {
		b.solve(t[part*b.n : (part+1)*b.n])
	}
	for k := range obs {
		for part := range obs[k].parts() {
			e, c := obs[k].part(v, part), t[w.base(k, part):]
			for n := range w.column[k] {
				g := &w.column[k][n]
				floats.AddScaled(g.of(e), -c[n], g.value)
			}
		}
	}
}

// square returns the sum of squares of a column once it is whitened, without whitening it: v'v - |inv(L) G'v|^2 with 1 + G'G = L L'. It
// uses the memory t of the coefficients.
func (w *whitener) square(v []float64, obs []observation, t []float64) float64 {
	clear(t)
	w.project(t, v, obs)
	for part, b := range w.factor {
		b.forward(t[part*b.n : (part+1)*b.n])
	}
	return dot(v, v) - dot(t, t)
}

// project adds G'v to t.
func (w *whitener) project(t, v []float64, obs []observation) {
	for k := range obs {
		for part := range obs[k].parts() {
			e, c := obs[k].part(v, part), t[w.base(k, part):]
			for n := range w.column[k] {
				g := &w.column[k][n]
				c[n] += dot(g.value, g.of(e))
			}
		}
	}
}

// effects returns what an error of one standard deviation of each wide coefficient does to the derived values: theory (4.3).
// gc is the gradient of the values times the covariance of the unknowns.
func (w *whitener) effects(s *solution, gc [][]float64) (all []param.Component) {
	jac, rows, first := s.result.Jacobian, s.prob.nrows, s.prob.sweepRows()
	for c := range w.coefficients() {
		spline := c % w.count
		if !wide(spline) {
			continue
		}
		e := make([]float64, len(gc))
		some := false
		for i, g := range gc {
			for j, v := range g {
				e[i] -= v * jac[j*rows+first+c]
			}
			some = some || e[i] != 0
		}
		if some {
			// Beside the peak an error moves with the resonance, which is not where it was after a repair.
			peak := math.Abs(math.Log2(w.middle(spline))-s.x[s.prob.lay.fs]*math.Log2E) < 1
			all = append(all, param.Component{Source: w.source(spline, c/w.factor[0].n), Part: param.ModelPart, Own: peak, Effect: e})
		}
	}
	return all
}

// spread returns the sizes for the splines of other knots: that of the nearest spline of the same kind.
func (d *discrepancy) spread(k *knots) []float64 {
	size := make([]float64, k.count)
	for spline := range size {
		at := spline + perKnot*(k.first-d.first)
		for at < 0 {
			at += perKnot
		}
		for at >= d.count {
			at -= perKnot
		}
		size[spline] = d.size[at]
	}
	return size
}
