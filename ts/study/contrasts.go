package study

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// contrasts are the independent differences in which a level shows itself first: an
// orthonormal basis of what its groups explain beyond drivers and outer levels. A vector
// has one entry for each cell and applies to root-of-count times the mean of the cell.
type contrasts struct {
	vectors [][]float64
	// expect[k] multiplies the variance of level k in the expected mean square; the
	// variance of the readings comes on top of it, once.
	expect []float64
}

// contrast works out the contrasts of all levels, the degrees of freedom within, and whether
// the design is balanced.
func (d *Design) contrast() {
	var basis [][]float64
	add := func(of []int, n int) [][]float64 {
		from := len(basis)
		for g := range n {
			v := make([]float64, len(d.count))
			for c := range v {
				if of[c] == g {
					v[c] = math.Sqrt(d.count[c])
				}
			}
			if next, ok := orthogonal(v, basis); ok {
				basis = append(basis, next)
			}
		}
		return basis[from:]
	}
	add(d.driver, len(d.drivers))
	fixed := len(basis)
	for _, g := range d.group {
		d.basis = append(d.basis, contrasts{vectors: add(g.of, g.n)})
	}
	d.errorDof = len(d.cell) - len(basis)
	for i := range d.basis {
		b := &d.basis[i]
		b.expect = make([]float64, len(d.group))
		for k := range d.group {
			for _, v := range b.vectors {
				sums := d.sums(k, v)
				b.expect[k] += floats.Dot(sums, sums) / float64(len(b.vectors))
			}
		}
	}
	d.alike = d.sizes(basis[fixed:])
}

// orthogonal returns the unit vector of what v has beyond the orthonormal basis;
// false if that is nothing.
func orthogonal(v []float64, basis [][]float64) ([]float64, bool) {
	before := floats.Norm(v, 2)
	for range 2 { // the second pass removes what rounding left in the first
		for _, b := range basis {
			floats.AddScaled(v, -floats.Dot(v, b), b)
		}
	}
	left := floats.Norm(v, 2)
	if left < 1e-9*before {
		return nil, false
	}
	floats.Scale(1/left, v)
	return v, true
}

// sums returns what a contrast says about the error of each group of level k.
func (d *Design) sums(k int, v []float64) []float64 {
	out := make([]float64, d.group[k].n)
	for c, x := range v {
		out[d.group[k].of[c]] += math.Sqrt(d.count[c]) * x
	}
	return out
}

// sizes returns, for a balanced design, the number of readings that an error of each
// level is common to. Balanced means that the covariance of all contrasts is diagonal and
// equal within a level, whatever the variances are: then every mean square has
// its chi-square distribution, and all are independent. It returns nil otherwise.
func (d *Design) sizes(basis [][]float64) []float64 {
	out := make([]float64, len(d.group))
	for k := range d.group {
		// An error of level k shows in the contrasts of its own level and of those outside, which
		// come first, and in no other.
		var visible [][]float64
		for i := range d.basis[:k+1] {
			for range d.basis[i].vectors {
				visible = append(visible, d.sums(k, basis[len(visible)]))
			}
		}
		for i, a := range visible {
			for j, b := range visible[:i+1] {
				x := floats.Dot(a, b)
				switch {
				case i == 0 && j == 0:
					out[k] = x
				case i == j && math.Abs(x-out[k]) > 1e-9*out[k], i != j && math.Abs(x) > 1e-9*out[k]:
					return nil
				}
			}
		}
	}
	return out
}
