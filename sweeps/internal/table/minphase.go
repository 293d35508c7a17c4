package table

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
	return newPhaseKernel(u, at).phase(logs, low, high)
}

// phaseKernel is the part of minimumPhase that depends on the points alone.
type phaseKernel struct {
	u    []float64
	area [][]float64 // for each point wanted, the area from it to each point given
}

func newPhaseKernel(u, at []float64) phaseKernel {
	k := phaseKernel{u, make([][]float64, len(at))}
	same := len(u) > 0 && len(at) == len(u) && &u[0] == &at[0]
	for i, u0 := range at {
		k.area[i] = make([]float64, len(u))
		for j := range u {
			if same && j <= i { // the area is odd
				k.area[i][j] = -k.area[j][i]
			} else {
				k.area[i][j] = lnCothArea(u[j] - u0)
			}
		}
	}
	return k
}

func (k phaseKernel) phase(logs []float64, low, high float64) []float64 {
	all := lnCothArea(math.Inf(1))
	slopes := make([]float64, len(k.u))
	for j := 1; j < len(k.u); j++ {
		slopes[j] = (logs[j] - logs[j-1]) / (k.u[j] - k.u[j-1])
	}
	out := make([]float64, len(k.area))
	for i, area := range k.area {
		sum := low*(all+area[0]) + high*(all-area[len(area)-1])
		for j := 1; j < len(area); j++ {
			sum += slopes[j] * (area[j] - area[j-1])
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
