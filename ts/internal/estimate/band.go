package estimate

import "math"

// band is a symmetric positive definite matrix that is zero beyond reach places from its
// diagonal, and then its Cholesky factor: row i holds the elements i-reach to i.
type band struct {
	n    int
	rows []float64 // n * (reach+1)
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
	for i := range b.n {
		row := b.rows[i*width : (i+1)*width]
		first := max(0, i-reach)
		sum := v[i]
		for k, l := range row[reach+first-i : reach] {
			sum -= l * v[first+k]
		}
		v[i] = sum / row[reach]
	}
	for i := b.n - 1; i >= 0; i-- {
		row := b.rows[i*width : (i+1)*width]
		first := max(0, i-reach)
		v[i] /= row[reach]
		x := v[i]
		for k, l := range row[reach+first-i : reach] {
			v[first+k] -= l * x
		}
	}
}

// inverseDiagonal returns the diagonal of the inverse of L L'. Only elements of the inverse inside the band are
// needed for it. Source: Takahashi, Fagan and Chen, 1973 (from memory).
func (b *band) inverseDiagonal() []float64 {
	diagonal := make([]float64, b.n)
	inverse := make([]float64, b.n*width) // row i holds the elements i to i+reach
	var below [reach]float64              // column i of L below its diagonal
	for i := b.n - 1; i >= 0; i-- {
		d := b.rows[i*width+reach]
		count := min(b.n-1-i, reach)
		for k := range count {
			below[k] = b.rows[(i+1+k)*width+reach-1-k]
		}
		row := inverse[i*width : (i+1)*width]
		for j := count; j >= 0; j-- {
			// (i, j) = (1/d if i is j, minus the sum over k > i of L(k, i) (k, j)) / d
			var sum float64
			for k := range min(j, count) {
				sum += below[k] * inverse[(i+1+k)*width+j-1-k]
			}
			for k := j; k < count; k++ {
				if j > 0 {
					sum += below[k] * inverse[(i+j)*width+k+1-j]
				} else {
					sum += below[k] * row[k+1]
				}
			}
			if j == 0 {
				sum -= 1 / d
			}
			row[j] = -sum / d
		}
		diagonal[i] = row[0]
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
