package spectra

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
)

// pooledDof is the number of complex degrees of freedom that a noise figure
// should rest on: 8 % uncertainty of the standard deviation.
const pooledDof = 40

// poolNoise replaces the noise of each point by the mean over its neighbours,
// because a noise figure of few degrees of freedom is itself uncertain while
// the noise of sound cards is smooth in frequency. The noise of the ratio is
// Ny - H Nx; dividing it by 1+|H|^2 takes the shape of the driver out. A point
// that is clearly louder than its neighbours keeps its own figure. Theory (6.11).
func poolNoise(points []Point) {
	scaled := make([]float64, len(points))
	for i, p := range points {
		scaled[i] = p.noise / (1 + dsp.SqAbs(p.Ratio))
	}
	pooled := slices.Clone(scaled)
	for i := range points {
		dof := points[i].dof
		sum := scaled[i] * float64(dof)
		for d := 1; dof < pooledDof && d <= pooledDof/2; d++ {
			for _, k := range []int{i - d, i + d} {
				if k < 0 || k >= len(points) {
					continue
				}
				sum += scaled[k] * float64(points[k].dof)
				dof += points[k].dof
			}
		}
		mean := sum / float64(dof)
		// One in a thousand exponential sums of own dof would exceed this.
		own := float64(points[i].dof)
		if limit := 1 + 3.1/math.Sqrt(own) + 3/own; scaled[i] <= limit*mean {
			pooled[i] = mean
		}
	}
	for i := range points {
		points[i].noise = pooled[i] * (1 + dsp.SqAbs(points[i].Ratio))
	}
}
