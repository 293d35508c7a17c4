package table

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/sweeps/bench"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/interp"
)

// voltages turns voltmeter readings into impedances. A source, the resistor and
// the driver are in series; the readings are the magnitudes of the voltages
// across the source, the driver and the resistor.
//
// Driver and resistor carry the same current, so with both readings
//
//	|Z| = R |V driver| / |V resistor|
//
// exactly. A source reading beside them serves as a check. From the source and
// one other reading alone |Z| depends on the phase between them as well, which
// a voltmeter does not show: see fromRatio.
//
// Source: series circuit, Kirchhoff; the three-voltmeter method is common
// practice.
func (t *table) voltages(has [roles]bool, b bench.Bench) (*points, error) {
	if b.Resistor == 0 {
		return nil, notice.New("volts-without-resistor", nil).In(t.source)
	}
	if err := b.Check(); err != nil {
		return nil, err
	}
	use := []role{frequency}
	for _, r := range []role{sourceVolts, driverVolts, resistorVolts} {
		if has[r] {
			use = append(use, r)
		}
	}
	out := &points{source: t.source, magnitudeOnly: true}
	atZero, contradictions, firstContradiction := 0, 0, 0
	missing, err := t.eachRow(use, func(row tableRow, digits int, v rowValues) error {
		line := row.line
		if skip, err := t.checkFrequency(line, v[frequency]); skip || err != nil {
			atZero++
			return err
		}
		for _, r := range use[1:] {
			if !(v[r] > 0) || math.IsInf(v[r], 0) {
				return t.at(line, notice.New("table-voltage", notice.Facts{"holds": r.String(), "voltage": v[r]}))
			}
		}
		p := point{line: line, f: v[frequency], digits: digits}
		switch {
		case has[driverVolts] && has[resistorVolts]:
			p.z = complex(b.Resistor*v[driverVolts]/v[resistorVolts], 0)
			if has[sourceVolts] && contradict(v[sourceVolts], v[driverVolts], v[resistorVolts]) {
				if contradictions++; contradictions == 1 {
					firstContradiction = line
				}
			}
		default:
			r := driverVolts
			if has[resistorVolts] {
				r = resistorVolts
			}
			p.z = complex(v[r]/v[sourceVolts], 0)
			if !(real(p.z) < 1) {
				return t.at(line, notice.New("table-above-source", notice.Facts{"holds": r.String(), "voltage": v[r], "source": v[sourceVolts]}))
			}
		}
		switch {
		case cmplx.IsInf(p.z):
			return t.at(line, notice.New("table-too-large", nil))
		case p.z == 0:
			return t.at(line, notice.New("table-magnitude", notice.Facts{"magnitude": 0.0}))
		}
		out.list = append(out.list, p)
		return nil
	})
	if err != nil {
		return nil, err
	}
	out.leftOut(missing, atZero)
	if contradictions > 0 {
		out.warn(notice.New("voltages-contradict", notice.Facts{"rows": contradictions, "first": firstContradiction}))
	}
	out.solve = func(p *points) error {
		if !has[driverVolts] || !has[resistorVolts] {
			if err := p.fromRatio(b.Resistor, has[resistorVolts]); err != nil {
				return err
			}
		}
		p.finish(b)
		return nil
	}
	return out, nil
}

// contradict says whether three voltages cannot be those of a source and two
// passive parts in series, with 5 % for the meter: their phase is between -90
// and 90 degrees.
func contradict(source, driver, resistor float64) bool {
	const meter = 0.05
	return source > (1+meter)*(driver+resistor) || source < (1-meter)*math.Hypot(driver, resistor)
}

// fromRatio turns the ratios |V driver / V source|, or |V resistor / V source|,
// into impedances. The phase of the ratio is the one that belongs to its
// magnitude over frequency, as the circuit is passive:
//
//	Z = R H/(1-H)   or   Z = R (1/H - 1)
//
// What is not known about that phase is given as errors that move all points
// together: what lies beyond either end of the table, a constant part, the
// coarseness of the grid, and a part of the phase itself. Points at which they
// come to more than a fifth of |Z| are left out. With a resistor much larger
// than the driver the phase hardly matters.
//
// Source: derived for this project from the divider and minimumPhase; the
// sizes of the errors were chosen so that simulated tables and the drivers
// fitted to them are covered, see TestTwoVoltmeters and docs/decisions/0022.
func (p *points) fromRatio(r float64, ofResistor bool) error {
	const fewest, worst = 8, 0.2
	if len(p.list) < fewest {
		return notice.New("two-voltages-few", notice.Facts{"points": len(p.list), "least": fewest}).In(p.source)
	}
	n := len(p.list)
	u, logs := make([]float64, n), make([]float64, n)
	for i, pt := range p.list {
		u[i], logs[i] = math.Log(pt.f), math.Log(real(pt.z))
	}
	low, high := endSlopes(u, logs)
	angle := smoothPhase(u, logs, low, high, u)
	coarse := coarsePhase(u, logs, low, high)
	size := func(i int, phase float64) float64 {
		h := cmplx.Rect(real(p.list[i].z), phase)
		if ofResistor {
			return r * cmplx.Abs(1/h-1)
		}
		return r * cmplx.Abs(h/(1-h))
	}
	// What is not known of the phase, in rad.
	const share, slope, constant = 0.3, 0.3, 0.1
	beyond := func(slopeThere, distance float64) float64 {
		return max(slope, math.Abs(slopeThere)) * (lnCothArea(math.Inf(1)) - lnCothArea(distance)) / math.Pi
	}
	below := func(i int) float64 { return beyond(low, u[i]-u[0]) }
	above := func(i int) float64 { return beyond(high, u[n-1]-u[i]) }
	offset := func(i int) float64 { return constant * (1 - real(p.list[i].z)) }
	grid := func(i int) float64 {
		worst := 0.
		for k := max(0, i-2); k <= min(n-1, i+2); k++ {
			worst = max(worst, math.Abs(coarse[k]-angle[k]))
		}
		return worst
	}
	// Some shift the phase one way at all points, which moves the peak; the
	// others make it larger on both sides of the peak, which widens it.
	unknown := []struct {
		name  string
		size  func(i int) float64
		shift bool
	}{
		{"phase below the table", below, true},
		{"phase far below the table", func(i int) float64 { return below(0) / 2 * math.Exp(u[0]-u[i]) }, true},
		{"phase above the table", above, true},
		{"phase far above the table", func(i int) float64 { return above(n-1) / 2 * math.Exp(u[i]-u[n-1]) }, true},
		{"constant phase", offset, true},
		{"phase between the points", grid, true},
		{"steepness between the points", grid, false},
		{"size of the phase", func(i int) float64 {
			return math.Sqrt(sq(share*angle[i]) + sq(below(i)) + sq(above(i)) + sq(offset(i)))
		}, false},
	}
	var kept []point
	for i, pt := range p.list {
		value := size(i, angle[i])
		sum := 0.
		for _, s := range unknown {
			step := s.size(i)
			if !s.shift {
				step = math.Copysign(step, angle[i])
			}
			change := size(i, angle[i]+step) - value
			sum += change * change
			pt.effects = append(pt.effects, complex(change, 0))
		}
		if math.Sqrt(sum) < worst*value {
			pt.z = complex(value, 0)
			kept = append(kept, pt)
		}
	}
	if len(kept) < fewest {
		return notice.New("two-voltages-phase", nil).In(p.source)
	}
	p.warn(notice.New("two-voltages", nil))
	if left := n - len(kept); left > 0 {
		p.warn(notice.New("points-uncertain", notice.Facts{"points": left}))
	}
	p.list = kept
	for _, s := range unknown {
		// The file name keeps these errors apart from those of another table:
		// they are the same, but they do not cancel.
		p.errors = append(p.errors, s.name+" in "+p.source)
	}
	return nil
}

// smoothPhase is minimumPhase with a smooth curve through the points in place of
// straight lines, because hand tables are coarse. Below the table the ratio goes
// on with the slope low until it comes to its smallest value in the table: there
// a driver is hardly more than its Re.
func smoothPhase(u, logs []float64, low, high float64, at []float64) []float64 {
	const parts = 8
	var curve interp.AkimaSpline
	if err := curve.Fit(u, logs); err != nil {
		return minimumPhase(u, logs, low, high, at)
	}
	var fine, values []float64
	if low != 0 {
		rest := (logs[0] - slices.Min(logs)) / low
		if low < 0 {
			rest = (logs[0] - slices.Max(logs)) / low
		}
		if rest > 0 {
			fine, values, low = append(fine, u[0]-rest), append(values, logs[0]-rest*low), 0
		}
	}
	for i := 1; i < len(u); i++ {
		for k := range parts {
			x := u[i-1] + (u[i]-u[i-1])*float64(k)/parts
			fine, values = append(fine, x), append(values, curve.Predict(x))
		}
	}
	fine, values = append(fine, u[len(u)-1]), append(values, logs[len(u)-1])
	return minimumPhase(fine, values, low, high, at)
}

// coarsePhase is smoothPhase computed from every second point.
func coarsePhase(u, logs []float64, low, high float64) []float64 {
	var cu, cl []float64
	for i := 0; i < len(u); i += 2 {
		cu, cl = append(cu, u[i]), append(cl, logs[i])
	}
	if last := len(u) - 1; last%2 == 1 {
		cu, cl = append(cu, u[last]), append(cl, logs[last])
	}
	return smoothPhase(cu, cl, low, high, u)
}

// finish takes out the leads (ohm) and adds the error of the resistor, whose
// tolerance is the half width of a rectangular distribution.
func (p *points) finish(b bench.Bench) {
	if b.ResistorTolerance > 0 {
		p.errors = append(p.errors, "resistor")
		for i := range p.list {
			pt := &p.list[i]
			pt.effects = append(pt.effects, pt.z*complex(b.ResistorTolerance/math.Sqrt(3), 0))
		}
	}
	if b.Leads == 0 {
		return
	}
	// Leads are small and real; the phase that belongs to |Z| is good enough
	// to take them out.
	u, logs := make([]float64, len(p.list)), make([]float64, len(p.list))
	for i, pt := range p.list {
		u[i], logs[i] = math.Log(pt.f), math.Log(real(pt.z))
	}
	low, high := endSlopes(u, logs)
	for i, angle := range minimumPhase(u, logs, low, high, u) {
		pt := &p.list[i]
		pt.z = complex(cmplx.Abs(cmplx.Rect(real(pt.z), angle)-complex(b.Leads, 0)), 0)
	}
}

func sq(x float64) float64 { return x * x }
