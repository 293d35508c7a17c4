package connected

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	// better is how much smaller than that of a driver the rms of another circuit must be,
	// and of the residuals of a driver themselves.
	better = 0.6
	// follows is the rms in ln Z up to which a circuit follows a curve.
	follows = 0.12
	// leastPeak is the least R of the resonance of a driver over Re, its Qms/Qes: smaller ones are of a cone or a surround, or what a
	// circuit makes of the noise of a blocked coil. Common practice: 1 for the most damped.
	leastPeak = 0.5
)

// circuits fits a driver and what else may be connected, and says what follows the curve
// better than a driver.
func circuits(t measured.Impedance) *notice.Notice {
	starts, others := guesses(t)
	driver, ok := circuit{kind: OneDriver, with: aDriver}.fit(t, hopeless, starts...)
	if !ok {
		return nil
	}
	best := driver
	for _, c := range append(delays(!t.MagnitudeOnly),
		circuit{Capacitor, [][]float64{{-math.Log(2 * math.Pi * t.Freq[0] * cmplx.Abs(t.Z[0]))}}, aCapacitor},
		circuit{twoResonances, others, aSecondResonance}) {
		if s, ok := c.fit(t, hopeless, append(starts, driver.x)...); ok && s.rms < best.rms*(1-0.02*float64(len(s.x)-len(best.x))) {
			best = s
		}
	}
	if best.rms > better*driver.rms || best.rms > follows {
		return nil
	}
	return best.notice(t)
}

// delays are the circuits with an input that lags, or leads; a magnitude shows neither.
func delays(phase bool) []circuit {
	if !phase {
		return nil
	}
	var both, alone [][]float64
	for _, t := range []float64{-2, 2} {
		alone = append(alone, []float64{t})
		for _, r := range []float64{-0.7, 0.7} { // about 10 and 100 ohm
			both = append(both, []float64{r, t})
		}
	}
	plain := seen{xMore, aDriver}
	return []circuit{{Delay, both, plain.resistorFirst(lag)}, {Delay, both, plain.driverFirst(lag)}, {Delay, alone, plain.probes(lag)}}
}

// notice says what a circuit is, with its evidence; nil where it is a driver after all.
func (s solved) notice(z measured.Impedance) *notice.Notice {
	at := func(i int) float64 { return math.Exp(s.x[i]) }
	switch s.kind {
	case Capacitor:
		c := at(xMore)
		// It must be seen: its reactance at the lowest frequency beside what the driver has.
		if x := 1 / (2 * math.Pi * z.Freq[0] * c); x < 0.5*at(xRe) {
			return nil
		}
		return notice.New("capacitor-in-series", notice.Facts{"capacitance": c, "peak": at(xF)})
	case Delay:
		if !s.lags() || s.x[xR] < s.x[xRe]+math.Log(leastPeak) {
			return nil
		}
		return notice.New("channels-late", notice.Facts{"time": math.Abs(s.x[len(s.x)-1]) * lateUnit})
	case twoResonances:
		return s.resonances()
	}
	return nil
}

// resonances tells two peaks of one box from a mass that is loose, from two drivers, and
// from a driver whose cone or surround has a second resonance of its own, which is none of
// these.
//
// A box with a port and a mass on a spring put the same circuit on the cone: the impedance
// of a port mass beside that of a spring of air. Without losses, with C = Q/(w R) of each resonance,
//
//	1/Cmes = 1/C1 + 1/C2     Lces = L1 + L2     fz^2 = (f2^2/C1 + f1^2/C2) Cmes
//	alpha = (f2^2 - fz^2)(fz^2 - f1^2)/(f1 f2)^2     fs = f1 f2/fz
//
// fz is the tuning of the box or of the mass alone, alpha the stiffness of the box or of the
// spring over that of the driver, and alpha (fs/fz)^2 the mass over that of the cone. Two
// drivers in series are the same again: which of them it is, only sizes tell, and often not.
// Small 1973 (equations from memory, derived again and checked against a circuit simulator).
func (s solved) resonances() *notice.Notice {
	re := math.Exp(s.x[xRe])
	type peak struct{ f, q, r float64 }
	var p [2]peak
	for i, k := range [...]int{xF, xMore} {
		p[i] = peak{math.Exp(s.x[k]), math.Exp(s.x[k+1]), math.Exp(s.x[k+2])}
	}
	if p[0].f > p[1].f {
		p[0], p[1] = p[1], p[0]
	}
	smaller := min(p[0].r, p[1].r)
	if smaller < leastPeak*re || p[1].f < 1.15*p[0].f || p[1].q < 0.4 || p[0].q < 0.4 {
		return nil // of the cone or the surround
	}
	c1, c2 := p[0].q/p[0].f/p[0].r, p[1].q/p[1].f/p[1].r
	cmes := 1 / (1/c1 + 1/c2)
	fz2 := (p[1].f*p[1].f/c1 + p[0].f*p[0].f/c2) * cmes
	f12, f22 := p[0].f*p[0].f, p[1].f*p[1].f
	alpha := (f22 - fz2) * (fz2 - f12) / (f12 * f22)
	h2 := fz2 * fz2 / (f12 * f22) // of tuning over fs, squared
	mass := alpha / h2
	var kinds []Kind
	add := func(k Kind, when bool) {
		if when {
			kinds = append(kinds, k)
		}
	}
	low := max(p[0].r, p[1].r) < 2.6*re // every driver in parallel keeps the sum low
	add(TwoInParallel, low)
	even := math.Abs(math.Log(p[0].r/p[1].r)) < 1.2
	box := h2 > 0.2 && h2 < 9 && alpha > 0.1 && alpha < 15
	loose := h2 > 1.2 && mass > 0.1 && mass < 1.6
	add(VentedBox, box && even && !(loose && h2 > 2.5)) // such a box is a rare one
	add(LooseMass, loose)
	add(TwoInSeries, re > 5)
	add(VentedBox, box && !slices.Contains(kinds, VentedBox))
	if len(kinds) == 0 {
		kinds = []Kind{VentedBox}
	}
	words := ""
	for _, k := range kinds {
		words += " " + string(k)
	}
	return notice.New("two-resonances", notice.Facts{"lower": p[0].f, "upper": p[1].f, "between": math.Sqrt(fz2), "kinds": words[1:]})
}
