package connected

import (
	"math"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	// leastLate is the least time (s) by which one input must lag to be named.
	leastLate = 8e-6
	// A bench resistor has between leastResistor and mostResistor (ohm); beyond, the circuit is another one of delays.
	leastResistor, mostResistor = 1, 1000
	// lateBetter is how much smaller than that of a driver the rms with a delay must be where a driver follows |Z|.
	lateBetter = 0.5
	// The phase of a coil beyond Re, in right angles, over the exponent of its rise: of 120 drivers of package truth five in six
	// lie within these.
	leastTurn, mostTurn = -0.25, 0.08
)

// late finds an input that lags, or leads, where |Z| is that of a driver: a fit takes the turn for a coil and for Re. Nil where
// the phase goes with the magnitude, as it does far above the resonance, or where no delay explains it.
func late(t measured.Impedance) *notice.Notice {
	if t.MagnitudeOnly || !turned(t) {
		return nil
	}
	starts, _ := guesses(t)
	driver, ok := circuit{kind: OneDriver, z: driverZ}.fit(t, starts...)
	if !ok {
		return nil
	}
	// A turn by itself, the quickest to try, explains most of what any wiring does.
	all := delays(true)
	if s, ok := all[len(all)-1].fit(t, driver.x); !ok || s.rms > better*driver.rms {
		return nil
	}
	best := driver
	for _, c := range all {
		if s, ok := c.fit(t, append(starts, driver.x)...); ok && s.plausible() && s.rms < best.rms {
			best = s
		}
	}
	if best.rms > lateBetter*driver.rms || best.rms > follows {
		return nil
	}
	return best.notice(t)
}

// turned says whether the phase of the coil is not that of its magnitude.
func turned(t measured.Impedance) bool {
	d := coilOf(t).off()
	return d < leastTurn || d > mostTurn
}

// lags says whether the delay of a circuit counts.
func (s solved) lags() bool { return math.Abs(s.x[len(s.x)-1])*lateUnit >= leastLate }

// plausible says whether a circuit with a delay is one: it lags by a time that counts, and its resistor is one of a bench.
func (s solved) plausible() bool {
	return s.lags() && (len(s.x) == xMore+1 || s.x[xMore] > math.Log(leastResistor) && s.x[xMore] < math.Log(mostResistor))
}
