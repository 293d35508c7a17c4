package sweeps

import "math"

// minimumPhase returns the phase in rad that belongs to a magnitude over
// frequency. It holds for every function with neither poles nor zeros in the
// right half plane: the impedance of a passive one-port is one, and so is the
// ratio of two voltages along a chain of two passive one-ports.
//
//	phase(u0) = 1/pi integral of (d ln|Z|/du) ln coth(|u - u0|/2) du,  u = ln f
//
// The magnitude is given by the natural logarithms logs at the points u, which
// rise strictly; between them it is taken as straight, beyond both ends it goes
// on with the slopes low and high. The phase is wanted at the points at.
//
// Source: H. W. Bode, Network Analysis and Feedback Amplifier Design, 1945,
// chapter 14, from memory.
func minimumPhase(u, logs []float64, low, high float64, at []float64) []float64 {
	all := lnCothArea(math.Inf(1))
	last := len(u) - 1
	out := make([]float64, len(at))
	for i, u0 := range at {
		left := lnCothArea(u[0] - u0)
		sum := low*(all+left) + high*(all-lnCothArea(u[last]-u0))
		for k := 1; k < len(u); k++ {
			right := lnCothArea(u[k] - u0)
			sum += (logs[k] - logs[k-1]) / (u[k] - u[k-1]) * (right - left)
			left = right
		}
		out[i] = sum / math.Pi
	}
	return out
}

// endSlopes guesses how the magnitude goes on beyond both ends: as over the
// outer third of an octave, but never faster than an inductor or a capacitor.
func endSlopes(u, logs []float64) (low, high float64) {
	const reach = math.Ln2 / 3
	last := len(u) - 1
	i := 1
	for i < last && u[i]-u[0] < reach {
		i++
	}
	j := last - 1
	for j > 0 && u[last]-u[j] < reach {
		j--
	}
	low = (logs[i] - logs[0]) / (u[i] - u[0])
	high = (logs[last] - logs[j]) / (u[last] - u[j])
	return min(1, max(-1, low)), min(1, max(-1, high))
}

// lnCothArea returns the integral of ln coth(|t|/2) from 0 to x, by the series
// for small and for large x. Each half of the whole area is pi^2/4.
func lnCothArea(x float64) float64 {
	if x < 0 {
		return -lnCothArea(-x)
	}
	if x < 0.7 {
		if x == 0 {
			return 0
		}
		x2 := x * x
		return x*(1-math.Log(x/2)) + x*x2*(1./36-x2*(7./7200-x2*31./635040))
	}
	sum := 0.
	p := math.Exp(-x)
	for k, fall := 1., p*p; p > 1e-17; k += 2 {
		sum += p / (k * k)
		p *= fall
	}
	return math.Pi*math.Pi/4 - 2*sum
}
