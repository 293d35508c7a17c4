package saved

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"

	"conewright/cmd/internal/printable"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// A covariance is written as numbers that a computer has rounded. What rounding makes
// negative is mended when it is written; what is farther off when it is read was changed.
const (
	roundedEigenvalue = 1e-12 // of a correlation matrix
	changedEigenvalue = 1e-6
)

// roundedVariance is the part of the whole variance of a value below which the variance by
// noise is nothing but rounding.
const roundedVariance = 1e-18

// semidefinite returns the nearest covariance of the noise that can be one: variances that
// are nothing but rounding are zero, correlations stay within one, and the negative
// eigenvalues of their matrix are zero. A matrix that is sound comes back as it is, and so
// does one with an entry that is not finite: it is refused where it is used.
//
// Source: the projection onto the positive semidefinite matrices in the Frobenius norm,
// Higham, Linear Algebra Appl. 103, 1988 (from memory).
func semidefinite(p param.Parameters) *mat.SymDense {
	v := p.Noise
	n := v.SymmetricDim()
	if !finite(v) {
		return v
	}
	std := make([]float64, n)
	sound := true
	for i := range std {
		noise := v.At(i, i)
		whole := math.Abs(noise)
		for _, c := range p.Components {
			whole += c.Effect[i] * c.Effect[i]
		}
		if noise > roundedVariance*whole {
			std[i] = math.Sqrt(noise)
		} else if noise != 0 {
			sound = false
		}
	}
	for i := range n {
		for k := range i {
			if !(math.Abs(v.At(i, k)) <= (1+roundedEigenvalue)*std[i]*std[k]) {
				sound = false
			}
		}
	}
	eigen, ok := correlationEigen(v, std)
	if !ok {
		return v
	}
	values := eigen.Values(nil)
	if sound && values[0] >= -roundedEigenvalue {
		return v
	}
	var q mat.Dense
	eigen.VectorsTo(&q)
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for k := 0; k <= i; k++ {
			var sum float64
			for e, value := range values {
				sum += max(0, value) * q.At(i, e) * q.At(k, e)
			}
			out.SetSym(i, k, sum*std[i]*std[k])
		}
	}
	return out
}

// finite says whether every entry of a matrix is a number.
func finite(v *mat.SymDense) bool {
	for i := range v.SymmetricDim() {
		for k := 0; k <= i; k++ {
			if x := v.At(i, k); math.IsNaN(x) || math.IsInf(x, 0) {
				return false
			}
		}
	}
	return true
}

// correlationEigen decomposes the matrix of correlations; a value without variance is
// correlated with none.
func correlationEigen(v *mat.SymDense, std []float64) (*mat.EigenSym, bool) {
	n := v.SymmetricDim()
	c := mat.NewSymDense(n, nil)
	for i := range n {
		for k := 0; k <= i; k++ {
			if std[i] > 0 && std[k] > 0 {
				c.SetSym(i, k, min(max(v.At(i, k)/std[i]/std[k], -1), 1))
			}
		}
	}
	var eigen mat.EigenSym
	return &eigen, eigen.Factorize(c, true)
}

// isSemidefinite says whether a matrix can be a covariance, but for rounding.
func isSemidefinite(v *mat.SymDense) bool {
	std := make([]float64, v.SymmetricDim())
	for i := range std {
		if !(v.At(i, i) >= 0) {
			return false
		}
		std[i] = math.Sqrt(v.At(i, i))
	}
	for i := range std {
		for k := range i {
			if math.Abs(v.At(i, k)) > (1+changedEigenvalue)*std[i]*std[k] {
				return false
			}
		}
	}
	eigen, ok := correlationEigen(v, std)
	return ok && eigen.Values(nil)[0] >= -changedEigenvalue
}

// physical are the bounds of what a quantity of a driver can be, by its SI unit: from far
// below an earphone to far above the largest woofer. Judgement of this project.
var physical = map[string][2]float64{
	"ohm": {-1e6, 1e6}, "Hz": {0.1, 1e6}, "1": {-1e5, 1e5}, "kg": {1e-8, 10}, "m/N": {1e-8, 10}, "kg/s": {1e-6, 1e4},
	"T*m": {1e-3, 1e3}, "m^2": {1e-6, 5}, "m^3": {1e-9, 1e4}, "H": {1e-9, 1e3}, "F": {1e-9, 1e3}, "N": {0, 100},
}

// impossible says what no driver has, "" where all is well.
func impossible(p param.Parameters) string {
	for _, e := range p.All() {
		b := physical[e.ID.Info().Unit]
		if !(e.Value >= b[0] && e.Value <= b[1]) {
			return fmt.Sprintf("%s = %g is no value that a driver has", e.ID, e.Value)
		}
		if !(e.Low <= e.Value && e.Value <= e.High) {
			return fmt.Sprintf("%s does not lie in its interval", e.ID)
		}
	}
	if wide := p.Unbounded(); wide != nil {
		return fmt.Sprintf("the interval of %s is so wide that it says nothing", wide[0])
	}
	return ""
}

// Checksum is the SHA-256 over fields of JSON, whatever blanks and lines they are written with, and
// whether characters that act on a terminal stand there as such or escaped.
func Checksum(fields ...json.RawMessage) (string, error) {
	h := sha256.New()
	for _, f := range fields {
		var b bytes.Buffer
		if err := json.Compact(&b, f); err != nil {
			return "", err
		}
		h.Write([]byte(printable.Line(b.String()) + "\n"))
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// number is a number of JSON; null, which stands for one that is not finite, is none.
type number float64

// UnmarshalJSON reads it.
func (n *number) UnmarshalJSON(data []byte) error {
	if string(data) == "null" {
		return fmt.Errorf("null in place of a number")
	}
	return json.Unmarshal(data, (*float64)(n))
}

// floats are the numbers as such.
func floats(list []number) []float64 {
	out := make([]float64, len(list))
	for i, v := range list {
		out[i] = float64(v)
	}
	return out
}
