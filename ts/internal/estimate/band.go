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

// inverseDiagonal writes the diagonal of the inverse of L L' to dst. Only elements of the inverse inside the band are
// needed for it. Source: Takahashi, Fagan and Chen, 1973 (from memory).
func (b *band) inverseDiagonal(dst, work []float64) {
	// work holds the inverse like rows: row i the elements i to i+reach.
	for i := b.n - 1; i >= 0; i-- {
		d := b.rows[i*width+reach]
		last := min(b.n-1, i+reach)
		for j := last; j >= i; j-- {
			// Sigma(i,j) = (i==j)/d^2 - 1/d sum over k>i of L(k,i) Sigma(k,j)
			var sum float64
			for k := i + 1; k <= last; k++ {
				lo, hi := min(k, j), max(k, j)
				if hi-lo > reach {
					continue
				}
				sum += b.rows[k*width+reach+i-k] * work[lo*width+hi-lo]
			}
			v := -sum / d
			if i == j {
				v += 1 / (d * d)
			}
			work[i*width+j-i] = v
		}
		dst[i] = work[i*width]
	}
}

// sized returns v with the length n, with new memory if need be.
func sized(v []float64, n int) []float64 {
	if cap(v) < n {
		return make([]float64, n, n+n/2)
	}
	return v[:n]
}
