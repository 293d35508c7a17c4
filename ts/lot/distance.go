package lot

import (
	"math"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// matchDistance returns
//
//	D = sqrt( d' (V + diag(limit/2)^2)^-1 d )                    theory (5.15)
//
// a distance that knows the uncertainties and their correlations (after
// Mahalanobis) and measures in halves of the limits. V is given as its lower
// triangle row by row; it and d are overwritten: a batch asks for millions of
// distances, so that the Cholesky factor L is found in place, and D = |L^-1 d|.
func matchDistance(d, v, limits []float64) float64 {
	sum := 0.0
	for i := range d {
		row := v[i*(i+1)/2:]
		row[i] += param.Sq(limits[i] / 2)
		for j := range i + 1 {
			other := v[j*(j+1)/2:]
			for k := range j {
				row[j] -= row[k] * other[k]
			}
			switch {
			case j < i:
				row[j] /= other[j]
				d[i] -= row[j] * d[j]
			case !(row[i] > 0):
				return math.Inf(1)
			default:
				row[i] = math.Sqrt(row[i])
			}
		}
		d[i] /= row[i]
		sum += d[i] * d[i]
	}
	return math.Sqrt(sum)
}

// lowerTriangle copies the lower triangle of v row by row.
func lowerTriangle(v *mat.SymDense) []float64 {
	var out []float64
	for i := range v.SymmetricDim() {
		for j := range i + 1 {
			out = append(out, v.At(i, j))
		}
	}
	return out
}

// toleranceMetric returns (V + diag(limit/2)^2)^-1.
func toleranceMetric(v *mat.SymDense, limits []float64) *mat.SymDense {
	n := len(limits)
	m := mat.NewSymDense(n, nil)
	m.CopySym(v)
	for i, l := range limits {
		m.SetSym(i, i, m.At(i, i)+l*l/4)
	}
	var chol mat.Cholesky
	var w mat.SymDense
	if !chol.Factorize(m) || chol.InverseTo(&w) != nil {
		return nil
	}
	return &w
}
