package connected

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
)

const (
	// leastLate is the least time (s) by which one input must lag to be named: one sample at 192 kHz, the highest rate in common
	// use. Inputs of one converter that are out of step are so by whole samples.
	leastLate = 1. / 192000
	// A bench resistor has between leastResistor and mostResistor (ohm); beyond, the circuit is another one of delays.
	leastResistor, mostResistor = 1, 1000
	// lateBetter is how much smaller than that of a driver the rms with a delay must be where a driver follows |Z|: of 775 drivers of
	// package truth, on a bench or exported, none is below 0.57.
	lateBetter = 0.55
	// hint is how much smaller than that of a driver the rms may be by a linear step for a delay to be tried: of 1,053 delays of
	// package truth that are named none is above 0.72.
	hint = 0.75
	// promising is how much smaller the rms must be after the first evaluations: those that come to lateBetter are there by then.
	promising = 0.7
	// latePerOctave is how many points an octave a delay is looked for with, which is smooth in frequency; of 1,180 delays of
	// package truth as many are named as with twice as many points.
	latePerOctave = 8
)

// late finds an input that lags, or leads, where |Z| is that of a driver: a fit takes the turn for a coil and for Re. Nil where
// no delay explains the curve far better than the coil of a driver.
func late(t measured.Impedance) *notice.Notice {
	if t.MagnitudeOnly {
		return nil
	}
	if few := thin(t, t.Freq[0], highest, latePerOctave); few.Len() >= fewest {
		t = few
	}
	starts, _ := guesses(t)
	driver, ok := circuit{kind: OneDriver, with: aDriver}.fit(t, hopeless, starts[0]) // of the one peak
	if !ok || driver.withDelay(t) > hint {
		return nil
	}
	best := driver
	for _, c := range delays(true) {
		if s, ok := c.fit(t, min(hopeless, promising*driver.rms), append(starts, driver.x)...); ok && s.lags() && s.rms < best.rms {
			best = s
		}
	}
	if best.rms > lateBetter*driver.rms || best.rms > follows {
		return nil
	}
	return best.notice(t)
}

// lags says whether the delay of a circuit counts.
func (s solved) lags() bool { return math.Abs(s.x[len(s.x)-1])*lateUnit >= leastLate }

// withDelay is the rms that a linear step leaves when a delay comes to the unknowns of a driver, over that of the driver. For small
// T the wirings of circuit.go give, with a resistor of a bench,
//
//	d ln Z = -jwT (1 + Z/R),  jwT (1 + R/Z),  jwT
func (s solved) withDelay(t measured.Impedance) float64 {
	p := s.circuit.of(curveOf(t), len(s.x))
	m, n := p.Dims()
	a := make([]float64, m*(n+3))
	basis, left, turn, more := a[:m*n], a[m*n:m*(n+1)], a[m*(n+1):m*(n+2)], a[m*(n+2):]
	const far = 20 // beyond, an exponent at its bound has no derivative left, while a delay can bring it back
	x := slices.Clone(s.x)
	x[xExponent] = min(far, max(-far, x[xExponent]))
	p.Eval(left, basis, x)
	for j := range n {
		v := basis[j*m : (j+1)*m]
		away(v, basis[:j*m])
		scale(v)
	}
	away(left, basis)
	for i, f := range t.Freq {
		turn[2*i+1] = f
	}
	away(turn, basis)
	tt, tr, rr := floats.Dot(turn, turn), floats.Dot(turn, left), floats.Dot(left, left)
	most := tr * tr / tt // what the sum of squares falls by, with probes
	for _, power := range []float64{1, -1} {
		for i, f := range t.Freq {
			v := complex(0, f) * cmplx.Pow(t.Z[i], complex(power, 0))
			more[2*i], more[2*i+1] = real(v), imag(v)
		}
		away(more, basis)
		um, mm, ur := floats.Dot(turn, more), floats.Dot(more, more), floats.Dot(more, left)
		gain := func(by float64) float64 { return param.Sq(tr+by*ur) / (tt + 2*by*um + by*by*mm) }
		// The likeliest share of the second column, of both free, if a bench has such a resistor.
		least, highest := math.Pow(leastResistor, -power), math.Pow(mostResistor, -power)
		by := (ur*tt - tr*um) / (tr*mm - ur*um)
		if by < min(least, highest) || by > max(least, highest) {
			most = max(most, gain(least), gain(highest))
			continue
		}
		most = max(most, gain(by))
	}
	return math.Sqrt(max(0, rr-most)/float64(m)) / s.rms
}

// away takes the part along orthonormal columns out of v.
func away(v, columns []float64) {
	for ; len(columns) > 0; columns = columns[len(v):] {
		floats.AddScaled(v, -floats.Dot(columns[:len(v)], v), columns[:len(v)])
	}
}

// scale brings v to the length 1, unless it is nothing.
func scale(v []float64) {
	if size := math.Sqrt(floats.Dot(v, v)); size > 0 {
		floats.Scale(1/size, v)
	}
}
