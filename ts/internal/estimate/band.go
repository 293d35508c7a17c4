package estimate

import "math"

// band is a symmetric positive definite matrix that is zero beyond reach places from its
// diagonal, and then its Cholesky factor: row i holds the elements i-reach to i.
type band struct {
	n       int
	rows    []float64 // n * (reach+1)
	inverse []float64 // memory of inverseDiagonal
}

// reach is the number of places on either side of the diagonal, see knots.
const reach = 15

const width = reach + 1

func (b *band) resize(n int) {
	b.n = n
	b.rows = sized(b.rows, n*width)
	clear(b.rows)
}

// add adds v to the element (i, j), i-reach <= j <= i.
func (b *band) add(i, j int, v float64) { b.rows[i*width+reach+j-i] += v }

// factor replaces a matrix by its Cholesky factor L, L L' = matrix, and returns the logarithm of its
// determinant. Textbook.
func (b *band) factor() (logDet float64) {
	for i := range b.n {
		row := b.rows[i*width : (i+1)*width]
		first := max(0, i-reach)
		for j := first; j <= i; j++ {
			other := b.rows[j*width : (j+1)*width]
			at := reach + j - i
			sum := row[at]
			from := max(first, j-reach)
			a, c := row[reach+from-i:at], other[reach+from-j:]
			for k, v := range a {
				sum -= v * c[k]
			}
			if j < i {
				row[at] = sum / other[reach]
			} else {
				row[reach] = math.Sqrt(sum)
				logDet += math.Log(sum)
			}
		}
	}
	return logDet
}

// solve replaces v by the solution of L L' x = v.
func (b *band) solve(v []float64) {
	b.forward(v)
	b.backward(v)
}

// forward replaces v by the solution of L x = v.
func (b *band) forward(v []float64) {
	for i := range b.n {
		row := (*[width]float64)(b.rows[i*width:])
		sum := v[i]
		if i < reach {
			for k, x := range v[:i] {
				sum -= row[reach-i+k] * x
			}
		} else {
			sum -= product((*[reach]float64)(row[:]), (*[reach]float64)(v[i-reach:]))
		}
		v[i] = sum / row[reach]
	}
}

// backward replaces v by the solution of L' x = v.
func (b *band) backward(v []float64) {
	for i := b.n - 1; i >= 0; i-- {
		row := (*[width]float64)(b.rows[i*width:])
		v[i] /= row[reach]
		x := v[i]
		if i < reach {
			for k := range i {
				v[k] -= row[reach-i+k] * x
			}
			continue
		}
		before := (*[reach]float64)(v[i-reach:])
		for k := reach - 1; k >= 0; k-- {
			before[k] -= row[k] * x
		}
	}
}

// product returns the scalar product, from sums that do not wait for each other. The last elements, which were found last,
// come last.
func product(a, b *[reach]float64) float64 {
	s := a[0]*b[0] + a[4]*b[4] + a[8]*b[8]
	t := a[1]*b[1] + a[5]*b[5] + a[9]*b[9]
	u := a[2]*b[2] + a[6]*b[6] + a[10]*b[10]
	v := a[3]*b[3] + a[7]*b[7] + a[11]*b[11]
	return ((s + t) + (u + v) + (a[12]*b[12] + a[13]*b[13]) + a[14]*b[14])
}

// inverseDiagonal returns the diagonal of the inverse of L L'. Only elements of the inverse inside the band are
// needed for it. Source: Takahashi, Fagan and Chen, 1973 (from memory).
func (b *band) inverseDiagonal() []float64 {
	const full = 2*reach + 1
	diagonal := make([]float64, b.n)
	b.inverse = sized(b.inverse, (b.n+reach)*full)
	inverse := b.inverse // row i holds the elements i-reach to i+reach
	clear(inverse)
	var below [reach]float64 // column i of L below its diagonal
	for i := b.n - 1; i >= 0; i-- {
		clear(below[:])
		for k := range min(b.n-1-i, reach) {
			below[k] = b.rows[(i+1+k)*width+reach-1-k]
		}
		// (i, j) = (1/d if i is j, minus the sum over k > i of L(k, i) (k, j)) / d
		d := b.rows[i*width+reach]
		var row [reach]float64 // of j = i+1 on
		for k, l := range below {
			for j, v := range (*[reach]float64)(inverse[(i+1+k)*full+reach-k:]) {
				row[j] -= l * v
			}
		}
		diagonal[i] = 1 / d
		for j := range row {
			row[j] /= d
			diagonal[i] -= below[j] * row[j]
			inverse[(i+1+j)*full+reach-1-j] = row[j]
		}
		diagonal[i] /= d
		copy(inverse[i*full+reach+1:], row[:])
		inverse[i*full+reach] = diagonal[i]
	}
	return diagonal
}

// sized returns v with the length n, with new memory if need be.
func sized(v []float64, n int) []float64 {
	if cap(v) < n {
		return make([]float64, n, n+n/2)
	}
	return v[:n]
}
