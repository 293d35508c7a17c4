package law

import "math"

// Axis is a set of frequencies, kept as w = 2 pi f (rad/s) and ln w.
type Axis struct {
	W, Lnw []float64
}

// NewAxis returns the axis of frequencies in Hz.
func NewAxis(freq []float64) *Axis {
	g := &Axis{W: make([]float64, len(freq)), Lnw: make([]float64, len(freq))}
	for i, f := range freq {
		g.W[i] = 2 * math.Pi * f
		g.Lnw[i] = math.Log(g.W[i])
	}
	return g
}
