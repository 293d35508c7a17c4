// Package terminals is about a whole loudspeaker, measured where the amplifier is connected: its impedance as a fingerprint of the
// drivers and of the parts of its dividing network.
//
// What it cannot see: the polarity of a driver, since the impedance is the same, and a part that carries next to no current.
package terminals

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/notice"
)

// Fault is what may be the matter with a part.
type Fault string

// The faults.
const (
	NoFault    Fault = "no-fault"
	Open       Fault = "open"
	Shorted    Fault = "shorted"
	OtherValue Fault = "other-value"
	Resistance Fault = "more-resistance"
)

// Suspect is a part with what may be the matter with it.
type Suspect struct {
	Fault Fault
	Part  string  // its name in the list
	Value float64 // ohm, F or H: its value, or the resistance that is added; 0 of one that is open
	Ratio float64 // of the value over that in the list
}

// Found is what a fingerprint says.
type Found struct {
	Suspect
	Sure      bool // the rivals follow clearly worse
	Explained bool // something follows the curve
	Rivals    []Suspect
	Rms       float64 // of the difference in ln Z
	Left      float64 // rms of what is left, in units of what a list and a bench leave
	Bands     []Band
}

// Band is an octave: how the curve differs there, and the part that gets most of the power of the terminals.
type Band struct {
	Freq, Ratio, Rms float64 // Hz, |Z| over that expected, rms in ln Z
	Works            string  // the driver that gets most power there; empty: not known
}

// Tolerances of a list and of what was measured before, as standard uncertainties of logarithms: common practice.
type tolerances struct{ part, resistance, driver, resonance, rise, likeness float64 }

var (
	byList   = tolerances{0.05, 0.3, 0.05, 0.08, 0.3, 0.02}       // parts of a list against one curve
	alone    = tolerances{0.05, 0.3, 0.05, 0.08, 0.3, 0.1}        // the same, where nothing else tells how a driver's coil follows frequency
	byBefore = tolerances{0.004, 0.05, 0.01, 0.015, 0.005, 0.006} // the same loudspeaker, before
	byTwin   = tolerances{0.04, 0.2, 0.04, 0.06, 0.03, 0.01}      // another of its make
)

// Reference is the curve that one is compared with.
type Reference struct {
	Curve measured.Impedance
	Twin  bool // it is of another loudspeaker of the make, and not of this one before
}

// Fingerprint says which part of a network is at fault, by its curve and by the list of the parts; ref is the curve that it should have, nil:
// it has to follow the list alone, within the tolerances of parts.
//
// Every part is in turn taken to be open, shorted, of another value, or to have more resistance, and the rest to be as it is within
// its tolerance. Theory (10.10).
func Fingerprint(z measured.Impedance, list network.Network, ref *Reference) (*Found, error) {
	if err := list.Check(); err != nil {
		return nil, err
	}
	if err := z.Check(); err != nil {
		return nil, err
	}
	base, tol := model{list: list, freq: thin(z.Freq)}, alone
	if len(base.freq) < fewest {
		return nil, notice.New("fingerprint-few-points", notice.Facts{"points": z.Len()}).In(z.Source)
	}
	if allFitted(list) {
		tol = byList
	}
	base.setOut()
	goal := base.take(z)
	var from []float64
	if ref != nil {
		if err := ref.Curve.Check(); err != nil {
			return nil, err
		}
		tol = byBefore
		if ref.Twin {
			tol = byTwin
		}
		was := base.take(ref.Curve)
		s, ok := base.fit(hypothesis{}, was, nil, byList)
		if !ok {
			return nil, notice.New("fingerprint-no-list", nil)
		}
		from = s.x[:len(base.unknowns)]
		for i := range goal.ln {
			goal.ln[i] -= was.ln[i]
		}
		goal.flat = goal.flat || was.flat
		goal.ratio = true
	}
	found, err := base.judge(goal, from, tol)
	if err == nil && ref == nil {
		found.Sure = false // a list has drivers as a few numbers
	}
	return found, err
}

const (
	perOctave = 10
	fewest    = 12
	clearly   = 16.0
	apart     = 0.75 // of the best score, by how much a rival must be worse, too
	unfit     = 9.0
	perChange = 4.0
	// byListAlone is how much more a fault must bring where the list alone says what the curve should be, drivers and all.
	byListAlone = 6.0
	// highest is the frequency (Hz) up to which parts are what their values say.
	highest = 20000.0
)

// thin are the frequencies that are compared.
func thin(freq []float64) []float64 {
	var out []float64
	next := 0.0
	for _, f := range freq {
		if f >= next && f <= highest {
			out = append(out, f)
			next = f * math.Exp2(1./perOctave) * (1 - 1e-9)
		}
	}
	return out
}

// curve is ln Z, or the logarithm of a ratio.
type curve struct {
	ln    []complex128
	flat  bool // magnitudes alone
	ratio bool
}

// hypothesis is one part with a fault; the zero one is none.
type hypothesis struct {
	fault Fault
	part  int
	start float64
}

// judge tries every fault.
func (m model) judge(goal curve, from []float64, tol tolerances) (*Found, error) {
	type tried struct {
		Suspect
		score, rms float64
	}
	var all []tried
	try := func(h hypothesis) {
		s, ok := m.fit(h, goal, from, tol)
		if !ok {
			return
		}
		t := tried{Suspect: Suspect{Fault: h.fault}, score: s.score, rms: s.rms}
		if h.fault != NoFault {
			p := m.list[h.part]
			t.Part = p.Name
			switch h.fault {
			case OtherValue:
				t.Ratio = math.Exp(s.extra)
				t.Value = t.Ratio * p.Value
			case Resistance:
				t.Value = math.Exp(s.extra)
			}
		}
		t.Suspect = plain(t.Suspect, h.part, m.list)
		all = append(all, t)
	}
	try(hypothesis{fault: NoFault})
	for i, p := range m.list {
		try(hypothesis{fault: Open, part: i})
		if p.Kind == network.Capacitor || p.Kind == network.Driver {
			try(hypothesis{fault: Shorted, part: i})
		}
		if p.Kind != network.Driver {
			for _, start := range []float64{-0.3, 0.3} {
				try(hypothesis{fault: OtherValue, part: i, start: start})
			}
		}
		if p.Kind != network.Resistor {
			for _, ohm := range []float64{0.3, 1.5} {
				try(hypothesis{fault: Resistance, part: i, start: math.Log(ohm)})
			}
		}
	}
	if len(all) == 0 {
		return nil, notice.New("fingerprint-no-list", nil)
	}
	slices.SortStableFunc(all, func(a, b tried) int { return cmp.Compare(a.score, b.score) })
	best := all[0]
	limit := clearly * max(1, best.rms*best.rms) // what is left has structure
	if !goal.ratio && !allFitted(m.list) {
		limit *= byListAlone
	}
	none := slices.IndexFunc(all, func(t tried) bool { return t.Fault == NoFault })
	if none > 0 && all[none].score < best.score+limit {
		best = all[none] // nothing is said of what is not clearly there
	}
	found := &Found{Suspect: best.Suspect, Left: best.rms, Rms: m.rms(goal), Explained: best.rms*best.rms < unfit, Bands: m.bands(goal)}
	found.Sure = found.Explained && (best.Fault != NoFault || none == 0)
	if best.Fault == NoFault {
		return found, nil
	}
	// What the best leaves, of the curve and of the tolerances, is also how far a score is from what it should be.
	near := best.score + max(limit, apart*best.score)
	for _, t := range all {
		same := func(s Suspect) bool { return s.Part == t.Part && s.Fault == t.Fault }
		if t.score >= near || same(best.Suspect) {
			continue
		}
		found.Sure = false
		if t.Fault != NoFault && !slices.ContainsFunc(found.Rivals, same) { // that nothing is wrong is no other fault
			found.Rivals = append(found.Rivals, t.Suspect)
		}
	}
	return found, nil
}

// plain calls a value that is out of all bounds what it is: open or shorted.
func plain(s Suspect, part int, list network.Network) Suspect {
	const far = 20.0
	open := s.Fault == Resistance && s.Value > openFrom
	shorted := false
	if s.Fault == OtherValue {
		high, low := s.Ratio > far, s.Ratio < 1/far
		if list[part].Kind == network.Capacitor {
			open, shorted = low, high
		} else {
			open, shorted = high, low
		}
	}
	switch {
	case open:
		return Suspect{Fault: Open, Part: s.Part}
	case shorted:
		return Suspect{Fault: Shorted, Part: s.Part}
	}
	return s
}

// openFrom is the resistance (ohm) from which on a branch counts for nothing: a tweeter gets 14 dB less.
const openFrom = 30.0

// solved is a hypothesis with its unknowns.
type solved struct {
	x          []float64
	extra      float64 // of the fault
	score, rms float64 // rms in units of what is allowed
}

// fit fits a hypothesis.
func (m model) fit(h hypothesis, goal curve, from []float64, tol tolerances) (solved, bool) {
	q := problem{model: m, hypothesis: h, goal: goal, from: from, tol: tol, n: len(m.unknowns)}
	if goal.ratio {
		q.was = m.ln(from, hypothesis{}, 0)
	}
	x := make([]float64, q.n)
	free := h.fault == OtherValue || h.fault == Resistance
	if free {
		q.n++
		x = append(x, h.start)
	}
	var solver lsq.Solver
	var r lsq.Result
	if err := solver.Solve(&r, q, x, lsq.Settings{MaxEvaluations: 40, OffsetTol: 1e-3}); err != nil {
		return solved{}, false
	}
	s := solved{x: slices.Clone(r.X), score: r.SumSquares}
	if free {
		s.extra = r.X[len(r.X)-1]
		s.score += perChange
	}
	left := make([]float64, q.rows())
	q.Eval(left, nil, s.x)
	var sum float64
	for _, v := range left[:2*len(m.freq)] {
		sum += v * v
	}
	s.rms = math.Sqrt(sum / float64(2*len(m.freq)))
	return s, !math.IsNaN(s.score)
}

func (m model) rms(c curve) float64 {
	now := make([]complex128, len(c.ln))
	if !c.ratio {
		now = m.ln(nil, hypothesis{}, 0)
	}
	var sum float64
	for i, l := range c.ln {
		d := l - now[i]
		if c.flat {
			d = complex(real(d), 0)
		}
		sum += real(d)*real(d) + imag(d)*imag(d)
	}
	return math.Sqrt(sum / float64(2*len(c.ln)))
}

// bands are the octaves with the driver that works there.
func (m model) bands(c curve) []Band {
	now := make([]complex128, len(c.ln))
	if !c.ratio {
		now = m.ln(nil, hypothesis{}, 0)
	}
	var all []Band
	for i := 0; i < len(m.freq); {
		from := m.freq[i]
		var b Band
		var mean, n float64
		power := map[string]float64{}
		for ; i < len(m.freq) && m.freq[i] < 2*from; i++ {
			d := c.ln[i] - now[i]
			n++
			mean += real(d)
			b.Rms += cmplx.Abs(d) * cmplx.Abs(d)
			if r, err := m.list.At(m.freq[i]); err == nil {
				for k, p := range m.list {
					if p.Kind == network.Driver {
						power[p.Name] += squared(r.Across[k]) * real(1/p.Impedance(m.freq[i]))
					}
				}
			}
		}
		b.Freq, b.Ratio, b.Rms = from*math.Sqrt2, math.Exp(mean/n), math.Sqrt(b.Rms/(2*n))
		most := 0.0
		for _, p := range m.list {
			if power[p.Name] > most {
				b.Works, most = p.Name, power[p.Name]
			}
		}
		all = append(all, b)
	}
	return all
}

// squared is the square of a magnitude.
func squared(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
