package friction

import (
	"math"
	"math/cmplx"

	"conewright/ts/driver"
	"conewright/ts/nonlinear"

	"gonum.org/v1/gonum/mat"
)

// Distances in m over which springs give way, after Dahl. Where force builds up within rubs of them it is friction on
// something hard; fibres of spider and surround slide on each other over longer ones (common practice).
var distances = []float64{0, 1e-6, 2e-6, 4e-6, 8e-6, 30e-6, 100e-6, 300e-6, 1000e-6}

const rubs = 5 // of distances

// The model of a harmonic is wrong by these parts of it, root of the sum of their squares: where the coil nearly comes to
// rest its velocity is no sine; the second grows with the order.
const (
	modelError    = 0.08
	modelPerOrder = 0.04
)

// turnError is how well the phase of the velocity is known, rad: it rests on what of the impedance the fit takes for the coil
// and its resistance, and for creep. An error of it turns order n by n times as much, all orders of a point together.
const turnError = 0.1

// column is what makes odd harmonics with the size one, by point and order; its own size is not below zero unless signed.
type column struct {
	at     [][]complex128
	signed bool
}

// columnsOf returns the springs that give way, in N, and beside them a stiffness and a force factor that are uneven but
// symmetric, in 1/m^2. Theory (9.1) to (9.5).
func columnsOf(points []point, bl float64) []column {
	var all []column
	for _, x := range distances {
		var c column
		law := nonlinear.Friction{Slides: x}
		for _, p := range points {
			shape := make([]complex128, 1+len(p.force))
			law.Shape(shape, p.excursed)
			c.at = append(c.at, shape[1:])
		}
		all = append(all, c)
	}
	unit := driver.Driver{BL: bl, Cms: 1}
	for _, u := range []nonlinear.Uneven{{K2: 1e6}, {BL2: 1e6}} {
		c := column{signed: true}
		for _, p := range points {
			at := make([]complex128, len(p.force))
			push := u.Push(unit, p.tone, 3)
			at[0] = push.Force - push.Voltage*p.voltage[0]
			c.at = append(c.at, at)
		}
		all = append(all, c)
	}
	return all
}

// sizes are the columns' with what is left: chi2 of the forces.
type sizes struct {
	size []float64
	chi2 float64
}

// rub returns the friction in N.
func (s sizes) rub() float64 {
	sum := 0.0
	for _, v := range s.size[:rubs] {
		sum += v
	}
	return sum
}

// separator holds the weighted sums of least squares.
type separator struct {
	points []point
	cols   []column
	weight [][]float64    // 1/N^2, by point and order
	turned [][]complex128 // N, by point and order: what turnError does
}

// model returns the force of one order at one point, in N.
func (s separator) model(size []float64, i, k int) complex128 {
	var sum complex128
	for j, c := range s.cols {
		sum += complex(size[j], 0) * c.at[i][k]
	}
	return sum
}

// weigh returns s with weights for the forces that at returns: their noise, and the errors of the model.
func (s separator) weigh(at func(i, k int) complex128) separator {
	s.weight, s.turned = make([][]float64, len(s.points)), make([][]complex128, len(s.points))
	for i, p := range s.points {
		for k, noise := range p.noise {
			order, force := float64(2*k+3), at(i, k)
			off := cmplx.Abs(force) * math.Hypot(math.Hypot(modelError, modelPerOrder*order), p.unsure[k])
			s.weight[i] = append(s.weight[i], 1/(noise*noise+off*off)/p.excess)
			s.turned[i] = append(s.turned[i], complex(0, turnError*order)*force)
		}
	}
	return s
}

// dot returns the weighted product of the forces a and b of point i.
func (s separator) dot(i int, a, b []complex128) float64 {
	sum := 0.0
	for k, w := range s.weight[i] {
		sum += w * real(cmplx.Conj(a[k])*b[k])
	}
	return sum
}

// products returns the sums over the points of the products of all pairs of columns, with the covariance that the turns u of all
// orders together add to the variances 1/w (Sherman and Morrison, textbook):
//
//	a'b - (a'u)(b'u)/(1 + u'u),   a'b = sum of w Re(conj(a) b)
func (s separator) products(cols [][][]complex128) *mat.SymDense {
	q := mat.NewSymDense(len(cols), nil)
	along := make([]float64, len(cols))
	for i := range s.points {
		u := s.turned[i]
		free := 1 / (1 + s.dot(i, u, u))
		for a, c := range cols {
			along[a] = s.dot(i, c[i], u)
			for b := range a + 1 {
				q.SetSym(a, b, q.At(a, b)+s.dot(i, c[i], cols[b][i])-free*along[a]*along[b])
			}
		}
	}
	return q
}

// normal returns the sums of least squares, and the sum of squares of the forces.
func (s separator) normal() (q *mat.SymDense, g []float64, squares float64) {
	var cols [][][]complex128
	for _, c := range s.cols {
		cols = append(cols, c.at)
	}
	var forces [][]complex128
	for _, p := range s.points {
		forces = append(forces, p.force)
	}
	all := s.products(append(cols, forces))
	n := len(cols)
	for j := range n {
		g = append(g, all.At(n, j))
	}
	return all.SliceSym(0, n).(*mat.SymDense), g, all.At(n, n)
}

// solve returns the sizes of least squares; without friction those of friction are zero.
func (s separator) solve(q *mat.SymDense, g []float64, squares float64, friction bool) sizes {
	n := len(g)
	x := make([]float64, n)
	first := 0
	if !friction {
		first = rubs
	}
	const sweeps, still = 3000, 1e-4 // of coordinate descent; standard errors
	for range sweeps {
		moved := 0.0
		for j := first; j < n; j++ {
			d := q.At(j, j)
			if d == 0 {
				continue
			}
			r := g[j]
			for k, v := range x {
				r -= q.At(j, k) * v
			}
			next := x[j] + r/d
			if !s.cols[j].signed {
				next = max(0, next)
			}
			moved = max(moved, math.Abs(next-x[j])*math.Sqrt(d))
			x[j] = next
		}
		if moved < still {
			break
		}
	}
	out := sizes{x, squares}
	for j, v := range x {
		out.chi2 -= 2 * v * g[j]
		for k, u := range x {
			out.chi2 += v * u * q.At(j, k)
		}
	}
	return out
}

// excessOf returns chi2 over the number of values, of all points with the same model; at least 1.
func (s sizes) excessOf(points []point) float64 {
	n := 0
	for _, p := range points {
		n += 2 * len(p.force)
	}
	return max(1, s.chi2/float64(n))
}

// separate returns what friction is among all that makes odd harmonics, and what there is without any, both with the same
// weights.
func separate(points []point, bl float64) (with, without sizes, s separator) {
	s = separator{points: points, cols: columnsOf(points, bl)}
	s = s.weigh(func(i, k int) complex128 { return points[i].force[k] })
	const rounds = 4 // of weights by the model that the last one found
	for range rounds {
		q, g, squares := s.normal()
		size := s.solve(q, g, squares, true).size
		s = s.weigh(func(i, k int) complex128 { return s.model(size, i, k) })
	}
	q, g, squares := s.normal()
	return s.solve(q, g, squares, true), s.solve(q, g, squares, false), s
}

// together is [separate] of several sweeps. Each has the weights that it has by itself, over its own excess: a loud sweep that the
// model does not hold then neither hides what a soft one shows nor moves its weights. The points of s hold it.
func together(several [][]point, bl float64) (with, without sizes, s separator) {
	if len(several) == 1 {
		return separate(several[0], bl)
	}
	for _, seen := range several {
		alone, _, own := separate(seen, bl)
		excess := alone.excessOf(seen)
		for i, p := range seen {
			p.excess = excess
			s.points = append(s.points, p)
			for k := range own.weight[i] {
				own.weight[i][k] /= excess
			}
		}
		s.weight, s.turned = append(s.weight, own.weight...), append(s.turned, own.turned...)
	}
	s.cols = columnsOf(s.points, bl)
	q, g, squares := s.normal()
	return s.solve(q, g, squares, true), s.solve(q, g, squares, false), s
}

// informationOn returns the information (1/N^2) on the size j when those from first on are free and the others zero.
func informationOn(q *mat.SymDense, j, first int) float64 {
	n := q.SymmetricDim() - first
	rest, cross := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for a := range n {
		cross.SetVec(a, q.At(j, first+a))
		for b := a; b < n; b++ {
			rest.SetSym(a, b, q.At(first+a, first+b))
		}
		rest.SetSym(a, a, rest.At(a, a)*(1+1e-9)) // columns that are alike
	}
	var solved mat.VecDense
	if err := solved.SolveVec(rest, cross); err != nil {
		return q.At(j, j)
	}
	return max(q.At(j, j)-mat.Dot(cross, &solved), 1e-9*q.At(j, j))
}
