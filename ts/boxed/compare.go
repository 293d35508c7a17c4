package boxed

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Between says what lies between two measurements.
type Between uint8

// What lies between two boxes, and what of the driver may differ without being a fault.
const (
	BeforeAfter Between = iota // one box with its driver
	LeftRight                  // two of one make
)

// Compared is how two boxes differ, compared as curves: what both have in common cancels, also where the circuit does not quite follow.
type Compared struct {
	Finding Finding
	// Explained is false where nothing that is known follows the difference.
	Explained bool
	Which     int     // the one that has the fault: 0 or 1
	Rms       float64 // of ln(Z1/Z0) that is left
	Size      float64 // rms of ln(Z1/Z0)
	Bands     []Band
	Crossover float64 // Hz, of the peak between the lowest driver and what plays above it; 0: there is none
}

// Band is an octave with the difference of two curves in it.
type Band struct {
	Freq float64 // Hz, its middle
	Rms  float64 // of ln(Z1/Z0)
	Mean float64 // of ln|Z1/Z0|
	// Works is what decides the impedance there; empty: the curve does not say.
	Works Works
}

// moves are what differs without a fault, standard deviations of the changes: how benches repeat, and how far drivers of one make lie
// apart (common practice).
var moves = [...][changes]float64{
	BeforeAfter: {ofRe: 0.01, ofStiffness: 0.03, ofLosses: 0.08, ofMass: 0.002, ofMotor: 0.004, ofCoil: 0.005, ofAir: 0.003, ofAbsorption: 0.1, ofTuning: 0.004},
	LeftRight:   {ofRe: 0.03, ofStiffness: 0.12, ofLosses: 0.2, ofMass: 0.025, ofMotor: 0.04, ofCoil: 0.03, ofAir: 0.02, ofAbsorption: 0.3, ofTuning: 0.015},
}

// hypothesis is one fault with the changes that it frees: their widths beyond what moves anyway.
type hypothesis struct {
	up, down Fault // by the sign of the change that leads
	lead     int
	free     [changes]float64
	mean     [changes]float64 // where the widths are about
	start    []float64        // of the change that leads
	leaks    bool
	oneWay   bool // tried from either side, since it cannot be undone by a negative change
	ported   bool // of a box with a port only
}

var hypotheses = []hypothesis{
	{up: NoChange, down: NoChange},
	{up: Leak, down: Leak, lead: ofLeak, free: [changes]float64{ofLeak: 1.5, ofLeakMass: 0.9}, mean: [changes]float64{ofLeak: 1.1, ofLeakMass: 1.1}, start: []float64{0.5, 2}, leaks: true, oneWay: true},
	{up: PortBlocked, down: PortBlocked, lead: ofGate, free: [changes]float64{ofGate: 5, ofPortLoss: 1}, start: []float64{-1, -4}, oneWay: true, ported: true},
	{up: PortChanged, down: PortChanged, lead: ofTuning, free: [changes]float64{ofTuning: 0.4, ofPortLoss: 1}, start: []float64{-0.1, 0.1}, ported: true},
	{up: MoreFilling, down: LessFilling, lead: ofAbsorption, free: [changes]float64{ofAbsorption: 1.5, ofAir: 0.12}, start: []float64{-1, 1}},
	{up: LessVolume, down: MoreVolume, lead: ofAir, free: [changes]float64{ofAir: 0.4}, start: []float64{-0.1, 0.1}},
	{up: Stiffer, down: Softer, lead: ofStiffness, free: [changes]float64{ofStiffness: 0.5, ofLosses: 0.3}, start: []float64{-0.2, 0.2}},
	{up: Heavier, down: Lighter, lead: ofMass, free: [changes]float64{ofMass: 0.3}, start: []float64{-0.05, 0.05}},
	{up: MoreLosses, down: LessLosses, lead: ofLosses, free: [changes]float64{ofLosses: 1}, start: []float64{-0.3, 0.3}},
	{up: StrongerMotor, down: WeakerMotor, lead: ofMotor, free: [changes]float64{ofMotor: 0.4}, start: []float64{-0.1, 0.1}},
	{up: Series, down: LessSeries, lead: ofRe, free: [changes]float64{ofRe: 0.5}, start: []float64{-0.1, 0.1}},
}

const (
	perOctave = 12
	// beyond is how far above the upper peak a comparison reaches, a factor.
	beyond = 5
	// likeness is the standard deviation of ln(Z1/Z0) that contacts, temperature and a circuit that does not quite follow leave.
	likeness = 0.006
	// clearly is the difference of the sums of squares from which on a rival follows clearly worse.
	clearly = 16.0
	// apart is by how much of the best sum of squares a rival must be worse, too.
	apart = 0.75
	// unfit is the mean square of what is left, in units of likeness, above which nothing follows.
	unfit = 9.0
	// perChange is what each freed change costs, in units of the sum of squares.
	perChange = 4.0
)

// Compare says what differs between two boxes by their curves and their fits, in the same order. One of the two fits may be nil, where
// there is none: faults that only one of the two can have are then looked for in that one alone.
func Compare(m [2]*Measured, z [2]measured.Impedance, between Between) (*Compared, error) {
	var base [2]circuit
	top := 0.0 // Hz
	for i, m := range m {
		if m != nil {
			base[i] = m.circuit()
			top = max(top, m.Peaks[len(m.Peaks)-1].Freq)
		}
	}
	var curves [2]pair
	for i := range curves {
		curves[i] = ratio(z[i], z[1-i], beyond*top)
	}
	if len(curves[0].freq) < 8 {
		return nil, notice.New("cabinet-no-overlap", nil)
	}
	type tried struct {
		fault Fault
		which int
		score float64
		size  float64
		rms   float64
	}
	var all []tried
	for dir := range 2 {
		for _, h := range hypotheses {
			if m[dir] == nil || dir == 1 && !h.oneWay && m[0] != nil || h.ported && base[dir].port == 0 {
				continue
			}
			if s, ok := h.fit(base[dir], m[dir].Kind, curves[dir], between); ok {
				t := tried{h.up, 1 - dir, s.score, s.x[h.lead], s.rms}
				if s.x[h.lead] < 0 {
					t.fault = h.down
				}
				if t.fault = ofPort(t.fault, t.size); t.fault != Leak && t.fault != PortBlocked {
					t.which = 1 // the second is another than the first
				}
				if leaks, other := m[t.which], m[1-t.which]; t.fault == Leak && t.size < isPort && leaks != nil && other != nil && leaks.Kind == Vented && other.Kind == Closed {
					t.fault, t.which = PortBlocked, 1-t.which // what leaks is the port that the other has not
				}
				all = append(all, t)
			}
		}
	}
	if len(all) == 0 {
		return nil, notice.New("cabinet-no-overlap", nil)
	}
	slices.SortStableFunc(all, func(a, b tried) int { return cmp.Compare(a.score, b.score) })
	best := all[0]
	limit := clearly * max(1, param.Sq(best.rms/likeness)) // what is left has structure
	if i := slices.IndexFunc(all, func(t tried) bool { return t.fault == NoChange }); i > 0 && all[i].score < best.score+limit {
		best = all[i] // nothing is said of what is not clearly there
	}
	out := &Compared{Which: best.which, Rms: best.rms, Size: curves[0].rms(), Bands: ratio(z[0], z[1], math.Inf(1)).bands(), Explained: best.rms*best.rms < unfit*likeness*likeness}
	f := Finding{Fault: best.fault, Size: best.size, Sure: out.Explained}
	// What the best leaves, of the curve and of what moves without a fault, is also how far a score is from what it should be.
	near := best.score + max(limit, apart*best.score)
	for _, t := range all {
		if t.score >= near || t.fault == f.Fault {
			continue
		}
		f.Sure = false
		if t.fault != NoChange && !slices.Contains(f.Rivals, t.fault) { // that nothing is wrong is no other fault
			f.Rivals = append(f.Rivals, t.fault)
		}
	}
	if base[1-best.which].port == 0 {
		for _, group := range springs {
			if slices.Contains(group, f.Fault) {
				f.Sure = false
				for _, r := range group {
					if r != f.Fault && !slices.Contains(f.Rivals, r) {
						f.Rivals = append(f.Rivals, r)
					}
				}
			}
		}
	}
	if f.Fault == NoChange { // what is hardly there is no rival
		f.Rivals, f.Sure = nil, out.Explained && all[0].fault == NoChange
	}
	out.Finding = f
	out.Crossover = works(out.Bands, z[0])
	return out, nil
}

// springs are what a closed box cannot be sure about: air and suspension are one spring there, and both have losses.
var springs = [][]Fault{{LessFilling, LessVolume, Stiffer}, {MoreFilling, MoreVolume, Softer}}

// ofPort tells a port that is blocked from one that is tuned otherwise: blocked it has less than a fifth of its admittance left, which
// tunes the box to less than half.
func ofPort(f Fault, size float64) Fault {
	switch {
	case f == PortBlocked && size > -2*halfTuning, f == PortChanged && size > -halfTuning:
		return PortChanged
	case f == PortChanged:
		return PortBlocked
	}
	return f
}

const (
	halfTuning = 0.8  // logarithm
	isPort     = -1.0 // logarithm of the QL of a leak below which it is a port
)

// pair is the logarithm of the ratio of two curves.
type pair struct {
	freq []float64
	ln   []complex128
	flat bool // of magnitudes alone
}

// ratio compares b with a at some frequencies up to top (Hz).
func ratio(a, b measured.Impedance, top float64) pair {
	p := pair{flat: a.MagnitudeOnly || b.MagnitudeOnly}
	next := max(a.Freq[0], b.Freq[0])
	end := min(a.Freq[a.Len()-1], b.Freq[b.Len()-1], top)
	for i, f := range a.Freq {
		if f < next || f > end {
			continue
		}
		l := cmplx.Log(at(b, f) / a.Z[i])
		if p.flat {
			l = complex(math.Log(cmplx.Abs(at(b, f))/cmplx.Abs(a.Z[i])), 0)
		}
		p.freq, p.ln = append(p.freq, f), append(p.ln, l)
		next = f * math.Exp2(1./perOctave) * (1 - 1e-9)
	}
	return p
}

// at is the impedance at f, between its points by their logarithms.
func at(z measured.Impedance, f float64) complex128 {
	i, exact := slices.BinarySearch(z.Freq, f)
	if exact || i == 0 {
		return z.Z[i]
	}
	part := math.Log(f/z.Freq[i-1]) / math.Log(z.Freq[i]/z.Freq[i-1])
	return z.Z[i-1] * cmplx.Exp(complex(part, 0)*cmplx.Log(z.Z[i]/z.Z[i-1]))
}

func (p pair) rms() float64 {
	var sum float64
	for _, l := range p.ln {
		sum += real(l)*real(l) + imag(l)*imag(l)
	}
	return math.Sqrt(sum / float64(2*len(p.ln)))
}

// bands are the octaves of a comparison.
func (p pair) bands() []Band {
	var all []Band
	for i := 0; i < len(p.freq); {
		from := p.freq[i]
		var b Band
		n := 0.0
		for ; i < len(p.freq) && p.freq[i] < 2*from; i++ {
			n++
			b.Mean += real(p.ln[i])
			b.Rms += real(p.ln[i])*real(p.ln[i]) + imag(p.ln[i])*imag(p.ln[i])
		}
		b.Freq, b.Mean, b.Rms = from*math.Sqrt2, b.Mean/n, math.Sqrt(b.Rms/(2*n))
		all = append(all, b)
	}
	return all
}

// problem is the least-squares problem of one hypothesis.
type problem struct {
	pair
	circuit
	free  []int // changes that are unknown
	std   [changes]float64
	mean  [changes]float64
	leaks bool
}

// Dims implements lsq.Problem.
func (p problem) Dims() (m, n int) { return 2*len(p.freq) + len(p.free), len(p.free) }

// Eval implements lsq.Problem with a Jacobian of differences.
func (p problem) Eval(r, jac, x []float64) {
	p.residuals(r, x)
	if jac == nil {
		return
	}
	const step = 1e-5
	m := len(r)
	moved := slices.Clone(x)
	for j := range x {
		moved[j] = x[j] + step
		p.residuals(jac[j*m:(j+1)*m], moved)
		moved[j] = x[j]
		for i, v := range r {
			jac[j*m+i] = (jac[j*m+i] - v) / step
		}
	}
}

func (p problem) residuals(r, x []float64) {
	var now, was [changes]float64
	for i, c := range p.free {
		now[c] = x[i]
		r[2*len(p.freq)+i] = (x[i] - p.mean[c]) / p.std[c]
	}
	was[ofSplit] = now[ofSplit]
	for i, f := range p.freq {
		d := p.ln[i] - cmplx.Log(p.changed(f, &now, p.leaks)/p.changed(f, &was, false))
		if p.flat {
			d = complex(real(d), 0)
		}
		r[2*i], r[2*i+1] = real(d)/likeness, imag(d)/likeness
	}
}

// solved is a hypothesis with its changes.
type solved struct {
	x          [changes]float64
	score, rms float64
}

// fit fits a hypothesis.
func (h hypothesis) fit(c circuit, kind Kind, p pair, between Between) (best solved, ok bool) {
	q := problem{pair: p, circuit: c, std: moves[between], mean: h.mean, leaks: h.leaks}
	if kind == Closed {
		q.std[ofSplit] = 0.4
	}
	freed := 0.0
	for i, s := range h.free {
		if s > 0 {
			q.std[i] = s
			freed++
		}
	}
	for i, s := range q.std {
		if s > 0 && (c.port > 0 || i != ofTuning && i != ofGate && i != ofPortLoss) {
			q.free = append(q.free, i)
		}
	}
	starts := h.start
	if starts == nil {
		starts = []float64{0}
	}
	var solver lsq.Solver
	for _, start := range starts {
		x := make([]float64, len(q.free))
		for i, at := range q.free {
			x[i] = q.mean[at]
		}
		if i := slices.Index(q.free, h.lead); i >= 0 {
			x[i] = start
		}
		var r lsq.Result
		if err := solver.Solve(&r, q, x, lsq.Settings{MaxEvaluations: 60, OffsetTol: 1e-3}); err != nil {
			continue
		}
		s := solved{score: r.SumSquares + perChange*freed}
		left := r.SumSquares
		for i, at := range q.free {
			s.x[at] = r.X[i]
			d := (r.X[i] - q.mean[at]) / q.std[at]
			left -= d * d
		}
		s.rms = likeness * math.Sqrt(max(0, left)/float64(2*len(p.freq)))
		if !ok || s.score < best.score {
			best, ok = s, true
		}
	}
	return best, ok
}
