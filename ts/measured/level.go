package measured

import "math"

// Level is how loud a sweep was at the terminals of the driver, rms while it was playing.
type Level struct {
	Value float64 // V, or part of full scale; 0: unknown
	Volts bool    // false: part of full scale
}

// Beside returns the ratio of a level to l, false where the two cannot be compared.
func (l Level) Beside(other Level) (ratio float64, ok bool) {
	if !(l.Value > 0 && other.Value > 0) || l.Volts != other.Volts {
		return 0, false
	}
	return other.Value / l.Value, true
}

// Ratios of levels beyond which they are far apart. Volts are what moved the driver; parts of full scale also follow the
// gain of the inputs.
const (
	farVolts = 1.5
	farParts = 2
)

// Far says whether another level is so different from l that the suspension may answer differently.
func (l Level) Far(other Level) bool {
	ratio, ok := l.Beside(other)
	far := float64(farParts)
	if l.Volts {
		far = farVolts
	}
	return ok && math.Abs(math.Log(ratio)) > math.Log(far)
}
