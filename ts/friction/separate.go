package friction

import (
	"math"
	"math/cmplx"

	"conewright/ts/driver"

	"gonum.org/v1/gonum/mat"
)

// Distances over which springs give way, in m: up to slides it is friction, beyond the suspension itself.
var distances = []float64{0, 1e-6, 2e-6, 4e-6, 8e-6, 30e-6, 100e-6, 300e-6, 1000e-6}

const rubs = 5 // of distances

// column is one thing that makes odd harmonics; its size is not below zero unless it is signed.
type column struct {
	at     [][]complex128 // by point and order
	signed bool
}

type Separated struct {
	Size  []float64
	Std   float64
	Force float64
	Chi2, Chi2Without, N float64
	Share float64
}

func columnsOf(points []point) []column {
	var all []column
	for _, x := range distances {
		c := column{}
		f := driver.Friction{Slides: x}
		for _, p := range points {
			shape := make([]complex128, 1+len(p.force))
			f.Shape(shape, p.place)
			c.at = append(c.at, shape[1:])
		}
		all = append(all, c)
	}
	// a spring of x^3, and a motor
	spring, motor := column{signed: true}, column{signed: true}
	for _, p := range points {
		a, b := make([]complex128, len(p.force)), make([]complex128, len(p.force))
		if len(a) > 0 {
			// x = X sin(t - pi/2): third order -X^3/4 sin(3t - 3pi/2)
			a[0] = complex(0, -0.25*math.Pow(p.place/50e-6, 3))
		}
		_ = b
		spring.at = append(spring.at, a)
		motor.at = append(motor.at, b)
	}
	all = append(all, spring)
	return all
}

func separate(points []point, cols []column) Separated {
	n := len(cols)
	size := make([]float64, n)
	var out Separated
	var q *mat.SymDense
	for round := 0; round < 4; round++ {
		q = mat.NewSymDense(n, nil)
		g := make([]float64, n)
		out.N = 0
		for i, p := range points {
			for k := range p.force {
				model := complex(0, 0)
				for j, c := range cols {
					model += complex(size[j], 0) * c.at[i][k]
				}
				if round == 0 {
					model = p.force[k]
				}
				order := float64(2*k + 3)
				s := math.Hypot(p.noise[k], cmplx.Abs(model)*math.Hypot(0.08, 0.04*order))
				w := 1 / (s * s)
				for a := range cols {
					ta := cols[a].at[i][k]
					g[a] += w * real(ta*cmplx.Conj(p.force[k]))
					for b := a; b < n; b++ {
						q.SetSym(a, b, q.At(a, b)+w*real(ta*cmplx.Conj(cols[b].at[i][k])))
					}
				}
				out.N += 2
			}
		}
		size = bounded(q, g, cols)
	}
	out.Size = size
	chi := func(size []float64) float64 {
		sum := 0.0
		for i, p := range points {
			for k := range p.force {
				model, full := complex(0, 0), complex(0, 0)
				for j, c := range cols {
					model += complex(size[j], 0) * c.at[i][k]
					full += complex(out.Size[j], 0) * c.at[i][k]
				}
				order := float64(2*k + 3)
				s := math.Hypot(p.noise[k], cmplx.Abs(full)*math.Hypot(0.08, 0.04*order))
				sum += sqAbs(model-p.force[k]) / (s * s)
			}
		}
		return sum
	}
	out.Chi2 = chi(size)
	without := append([]float64(nil), size...)
	for j := range rubs {
		out.Force += size[j]
		without[j] = 0
	}
	out.Chi2Without = chi(without)
	return out
}

func sqAbs(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// bounded solves q x = g with x not below zero where columns are not signed.
func bounded(q *mat.SymDense, g []float64, cols []column) []float64 {
	n := len(g)
	x := make([]float64, n)
	for range 3000 {
		moved := 0.0
		for j := range x {
			d := q.At(j, j)
			if d == 0 {
				continue
			}
			r := g[j]
			for k := range x {
				r -= q.At(j, k) * x[k]
			}
			next := x[j] + r/d
			if !cols[j].signed {
				next = max(0, next)
			}
			moved = max(moved, math.Abs(next-x[j])*math.Sqrt(d))
			x[j] = next
		}
		if moved < 1e-4 {
			break
		}
	}
	return x
}

// Try is a prototype.
func Try(points []point) Separated { return separate(points, columnsOf(points)) }
