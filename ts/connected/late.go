package connected

import (
	"math"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	// leastLate is the least time (s) by which one input must lag to be named: one sample at 192 kHz, the highest rate in common
	// use. Inputs of one converter that are out of step are so by whole samples.
	leastLate = 1. / 192000
	// A bench resistor has between leastResistor and mostResistor (ohm); beyond, the circuit is another one of delays.
	leastResistor, mostResistor = 1, 1000
	// hint is how much smaller than that of a driver the rms may be by a linear step for a delay to be tried.
	hint = 0.8
)

// late finds an input that lags, or leads, where |Z| is that of a driver: a fit takes the turn for a coil and for Re. Nil where
// no delay explains the curve far better than the coil of a driver.
func late(t measured.Impedance) *notice.Notice {
	if t.MagnitudeOnly {
		return nil
	}
	starts, _ := guesses(t)
	driver, ok := circuit{kind: OneDriver, z: driverZ}.fit(t, starts...)
	if !ok || driver.withDelay(t) > hint {
		return nil
	}
	best := driver
	for _, c := range delays(true) {
		if s, ok := c.fit(t, append(starts, driver.x)...); ok && s.lags() && s.rms < best.rms {
			best = s
		}
	}
	if best.rms > better*driver.rms || best.rms > follows {
		return nil
	}
	return best.notice(t)
}

// lags says whether the delay of a circuit counts.
func (s solved) lags() bool { return math.Abs(s.x[len(s.x)-1])*lateUnit >= leastLate }

// withDelay is the rms that a linear step leaves when a delay comes to the unknowns of a driver, over that of the driver. For small
// T the wirings of circuit.go give
//
//	d ln Z = -jwT (1 + Z/R),  jwT (1 + R/Z),  jwT
func (s solved) withDelay(t measured.Impedance) float64 {
	p := misfit{t, s.circuit, len(s.x)}
	m, n := p.Dims()
	a := make([]float64, m*(n+1))
	basis, left := a[:m*n], a[m*n:]
	p.Eval(left, basis, s.x)
	for j := range n {
		v := basis[j*m : (j+1)*m]
		away(v, basis[:j*m])
		scale(v)
	}
	away(left, basis)
	least := square(left)
	for _, power := range []int{1, -1} {
		columns := make([]float64, 2*m)
		for i, f := range t.Freq {
			turn := complex(0, f)
			z := t.Z[i]
			if power < 0 {
				z = 1 / z
			}
			columns[2*i+1] = f
			columns[m+2*i], columns[m+2*i+1] = real(turn*z), imag(turn*z)
		}
		r := append([]float64(nil), left...)
		for j := range 2 {
			v := columns[j*m : (j+1)*m]
			away(v, basis)
			away(v, columns[:j*m])
			scale(v)
			away(r, v)
		}
		least = min(least, square(r))
	}
	return math.Sqrt(least/float64(m)) / s.rms
}

// away takes the part along orthonormal columns out of v.
func away(v, columns []float64) {
	for ; len(columns) > 0; columns = columns[len(v):] {
		var part float64
		for i, x := range columns[:len(v)] {
			part += x * v[i]
		}
		for i, x := range columns[:len(v)] {
			v[i] -= part * x
		}
	}
}

// scale brings v to the length 1, unless it is nothing.
func scale(v []float64) {
	size := math.Sqrt(square(v))
	if size == 0 {
		return
	}
	for i := range v {
		v[i] /= size
	}
}

func square(v []float64) (sum float64) {
	for _, x := range v {
		sum += x * x
	}
	return sum
}
