package estimate

import "math"

// band is a symmetric positive definite matrix that is zero beyond reach places from its
// diagonal, and then its Cholesky factor: row i holds the elements i-reach to i.
type band struct {
	n       int
	rows    []float64 // n * (reach+1)
	columns []float64 // of the factor: column i holds the elements i+1 to i+reach, zero beyond the end, n * reach
	per     []float64 // of the factor: the inverse of its diagonal
	inverse []float64 // memory of inverseDiagonal
}

// reach is the number of places on either side of the diagonal, see knots.
const reach = 15

const width = reach + 1

// newBand returns the unit matrix.
func newBand(n int) *band {
	b := new(band)
	b.resize(n)
	for i := range n {
		b.add(i, i, 1)
	}
	return b
}

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
	b.per, b.columns = sized(b.per, b.n), sized(b.columns, b.n*reach)
	clear(b.columns)
	for j := range b.n {
		square := b.rows[j*width+reach]
		root := math.Sqrt(square)
		b.rows[j*width+reach], b.per[j] = root, 1/root
		logDet += math.Log(square)
		column := (*[reach]float64)(b.columns[j*reach:])
		for k := range min(reach, b.n-1-j) {
			row := (*[width]float64)(b.rows[(j+1+k)*width:])
			l := row[reach-1-k] * b.per[j]
			row[reach-1-k], column[k] = l, l
			rest := row[reach-k:]
			for m, c := range column[:len(rest)] { // what this column takes from the row right of it
				rest[m] -= l * c
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
	for i := range min(reach, b.n) {
		row := b.rows[i*width+reach-i:]
		sum := v[i]
		for k, x := range v[:i] {
			sum -= row[k] * x
		}
		v[i] = sum * b.per[i]
	}
	for i := reach; i < b.n; i++ {
		a, x := (*[reach]float64)(b.rows[i*width:]), (*[reach]float64)(v[i-reach:])
		// Sums that do not wait for each other; what was found last comes last.
		p := a[0]*x[0] + a[4]*x[4] + a[8]*x[8]
		q := a[1]*x[1] + a[5]*x[5] + a[9]*x[9]
		r := a[2]*x[2] + a[6]*x[6] + a[10]*x[10]
		s := a[3]*x[3] + a[7]*x[7] + a[11]*x[11]
		v[i] = ((v[i] - (p + q)) - ((r + s) + a[12]*x[12]) - a[13]*x[13] - a[14]*x[14]) * b.per[i]
	}
}

// backward replaces v by the solution of L' x = v.
func (b *band) backward(v []float64) {
	for i := b.n - 1; i >= max(b.n-reach, 0); i-- {
		sum := v[i]
		for k, x := range v[i+1 : b.n] {
			sum -= b.columns[i*reach+k] * x
		}
		v[i] = sum * b.per[i]
	}
	for i := b.n - 1 - reach; i >= 0; i-- {
		a, x := (*[reach]float64)(b.columns[i*reach:]), (*[reach]float64)(v[i+1:])
		p := a[14]*x[14] + a[10]*x[10] + a[6]*x[6]
		q := a[13]*x[13] + a[9]*x[9] + a[5]*x[5]
		r := a[12]*x[12] + a[8]*x[8] + a[4]*x[4]
		s := a[11]*x[11] + a[7]*x[7] + a[3]*x[3]
		v[i] = ((v[i] - (p + q)) - ((r + s) + a[2]*x[2]) - a[1]*x[1] - a[0]*x[0]) * b.per[i]
	}
}

// inverseDiagonal returns the diagonal of the inverse of L L'. Only elements of the inverse inside the band are
// needed for it. Source: Takahashi, Fagan and Chen, 1973 (from memory).
func (b *band) inverseDiagonal() []float64 {
	const full = 2*reach + 1
	diagonal := make([]float64, b.n)
	b.inverse = sized(b.inverse, (b.n+reach)*full)
	inverse := b.inverse // row i holds the elements i-reach to i+reach
	clear(inverse)
	for i := b.n - 1; i >= 0; i-- {
		below := (*[reach]float64)(b.columns[i*reach:])
		// (i, j) = (1/d if i is j, minus the sum over k > i of L(k, i) (k, j)) / d, per = 1/d
		per := b.per[i]
		var row [reach]float64 // of j = i+1 on
		for j := range row {
			x := (*[reach]float64)(inverse[(i+1+j)*full+reach-j:]) // (i+1+j, k), k = i+1 on
			p := below[0]*x[0] + below[4]*x[4] + below[8]*x[8] + below[12]*x[12]
			q := below[1]*x[1] + below[5]*x[5] + below[9]*x[9] + below[13]*x[13]
			r := below[2]*x[2] + below[6]*x[6] + below[10]*x[10] + below[14]*x[14]
			s := below[3]*x[3] + below[7]*x[7] + below[11]*x[11]
			row[j] = -(p + q + r + s)
		}
		diagonal[i] = per
		for j := range row {
			row[j] *= per
			diagonal[i] -= below[j] * row[j]
			inverse[(i+1+j)*full+reach-1-j] = row[j]
		}
		diagonal[i] *= per
		copy(inverse[i*full+reach+1:], row[:])
		inverse[i*full+reach] = diagonal[i]
	}
	return diagonal
}

// sized returns v with the length n, with new memory if need be.
func sized(v []float64, n int) []float64 {
	if cap(v) < n {
		return make([]float64, n)
	}
	return v[:n]
}
