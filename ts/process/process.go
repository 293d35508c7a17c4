// Package process judges many units of one product: control charts, capability, and tolerance
// intervals from a few good units.
//
// All of it takes the units as independent and normally distributed. A quantity that is positive and
// skewed belongs in as its logarithm; units of one batch are no sample of the product.
package process

import (
	"math"

	"conewright/ts/notice"
)

// finite refuses values that are not finite, and fewer than least.
func finite(values []float64, least int) error {
	if len(values) < least {
		return notice.New("process-too-few", notice.Facts{"values": len(values), "least": least})
	}
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return notice.New("process-not-finite", notice.Facts{"value": i + 1})
		}
	}
	return nil
}

// probability refuses a confidence or a share that is not between 0 and 1.
func probability(name string, p float64) error {
	if !(p > 0 && p < 1) {
		return notice.New("process-probability", notice.Facts{"name": name, "value": p})
	}
	return nil
}
