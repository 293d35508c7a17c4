package ring

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/stat/distuv"
)

// MassLine is the experiment with several known masses on one cone: the
// resonance for each, and the straight line that they lie on when the
// suspension obeys Hooke's law, theory (2.4):
//
//	1/(2 pi Fs)^2 = Cms dM + Cms Mms
type MassLine struct {
	Points []MassPoint // in the order of the masses
	Line   Line        // X in kg, Y in s^2
	// Mms (kg, intercept over slope) and Cms (m/N, slope) carry beside the
	// uncertainty of the points that of the line itself: the distance from the
	// joint fit, as a standard uncertainty, because a suspension that creeps does
	// not obey the line.
	Mms, Cms Spread
	Fs       Spread // Hz, without mass, from the intercept
	// ProbabilityOfScatter is the probability that points on a line scatter as
	// much as these or more; small means that the line bends (creep, drift) or
	// that a mass is wrong.
	ProbabilityOfScatter float64
	// Bends says that line and joint fit differ by more than the points' noise.
	Bends    bool
	Joint    *fitted.Result // all sweeps in one fit, with creep where the data show it
	Warnings []notice.Notice
}

// MassPoint is one sweep of the experiment.
type MassPoint struct {
	Mass Spread        // kg
	Fs   Spread        // Hz, from this sweep alone
	Hand measured.Hand // the three-point method on this sweep
	// Residual is the distance from the line in standard deviations.
	Residual float64
	// Single is Mms in kg from this mass and the lightest one alone, theory
	// (2.5), and Gain how many times a relative error of one frequency counts in
	// it, theory (2.7). Both are zero for the lightest itself.
	Single Spread
	Gain   float64
}

// leastScatter is the probability of scatter below which a warning says that the points
// lie on no straight line.
const leastScatter = 0.01

// MeasureMassLine fits every sweep alone for its resonance, lays the line
// through the points with the uncertainties of frequencies and masses, and fits
// all sweeps together beside it. It needs sweeps with at least two different
// masses (none counts as one) and refuses other loads.
func MeasureMassLine(sweeps []measured.Sweep, cond measured.Conditions) (*MassLine, error) {
	sorted := slices.Clone(sweeps)
	slices.SortStableFunc(sorted, func(a, b measured.Sweep) int { return cmp.Compare(a.Load.Value, b.Load.Value) })
	m := &MassLine{}
	var points []LinePoint
	var noise []float64 // Hz, of the resonances
	for _, s := range sorted {
		if s.Load.Kind == measured.KnownBox {
			return nil, notice.New("line-load", nil).In(s.Impedance.Source)
		}
		alone, err := estimate.Fit([]measured.Sweep{{Impedance: s.Impedance}}, cond)
		if err != nil {
			return nil, about(s.Impedance.Source, err)
		}
		e, _ := alone.Parameters.Get(param.Fs)
		p := MassPoint{Mass: normalSpread(s.Load.Value, s.Load.Std),
			Fs: Spread{Value: e.Value, Std: e.Std, Low: e.Low, High: e.High}, Hand: alone.Hand}
		y := InverseSquareOmega(e.Value)
		points = append(points, LinePoint{X: s.Load.Value, StdX: s.Load.Std, Y: y, StdY: 2 * y * e.Std / e.Value})
		m.Points = append(m.Points, p)
		noise = append(noise, e.Budget.Noise)
	}
	if err := m.exchanged(sorted, noise); err != nil {
		return nil, err
	}
	var err error
	if m.Line, err = FitLine(points); err != nil {
		return nil, err
	}
	if !(m.Line.Slope > 0 && m.Line.Intercept > 0) {
		return nil, notice.New("line-falls", nil)
	}
	m.fromLine()
	m.singles()
	if m.Joint, err = estimate.Fit(sorted, cond); err != nil {
		return nil, err
	}
	m.Warnings = append(m.Warnings, m.Joint.Warnings...)
	m.warn()
	m.widen()
	return m, nil
}

// about returns an error about one sweep with the name of that sweep.
func about(source string, err error) error {
	var n *notice.Notice
	if errors.As(err, &n) && n.File == "" {
		return n.In(source)
	}
	return err
}

// fromLine computes what slope and intercept give, with their correlation.
func (m *MassLine) fromLine() {
	l := m.Line
	ra, rb := l.StdIntercept/l.Intercept, l.StdSlope/l.Slope
	mms := l.Intercept / l.Slope
	m.Mms = normalSpread(mms, mms*math.Sqrt(max(0, ra*ra+rb*rb-2*l.Corr*ra*rb)))
	m.Cms = normalSpread(l.Slope, l.StdSlope)
	fs := 1 / (2 * math.Pi * math.Sqrt(l.Intercept))
	m.Fs = normalSpread(fs, fs*ra/2)
	for i, p := range l.Points {
		v := p.StdY*p.StdY + l.Slope*l.Slope*p.StdX*p.StdX
		m.Points[i].Residual = (p.Y - l.Intercept - l.Slope*p.X) / math.Sqrt(v)
	}
	m.ProbabilityOfScatter = 1
	if l.DoF > 0 {
		m.ProbabilityOfScatter = distuv.ChiSquared{K: float64(l.DoF)}.Survival(l.Chi2)
	}
}

// singles computes the moving mass from each mass and the lightest alone.
func (m *MassLine) singles() {
	light := m.Points[0]
	for i := range m.Points {
		p := &m.Points[i]
		dM := p.Mass.Value - light.Mass.Value
		if dM <= 0 || p.Fs.Value >= light.Fs.Value {
			continue
		}
		mms := massFromFrequencies(light.Fs.Value, p.Fs.Value, dM)
		rel := massFromFrequenciesStd(light.Fs.Value, p.Fs.Value, math.Hypot(p.Mass.Std, light.Mass.Std)/dM,
			light.Fs.Std/light.Fs.Value, p.Fs.Std/p.Fs.Value)
		p.Single = normalSpread(mms-light.Mass.Value, mms*rel)
		p.Gain = massErrorGain(light.Fs.Value, p.Fs.Value)
	}
}

// warn warns where the line should not be relied on.
func (m *MassLine) warn() {
	if m.ProbabilityOfScatter < leastScatter {
		m.Warnings = append(m.Warnings, *notice.New("line-scatter", notice.Facts{"probability": m.ProbabilityOfScatter}))
	}
	joint, ok := m.Joint.Parameters.Get(param.Mms)
	if ok && math.Abs(joint.Value-m.Mms.Value) > 2*math.Hypot(joint.Std, m.Mms.Std) {
		m.Bends = true
		m.Warnings = append(m.Warnings, *notice.New("line-differs", notice.Facts{"line": m.Mms.Value, "joint": joint.Value}))
	}
}

// widen adds the distance between line and joint fit to the uncertainty of what
// the line gives.
func (m *MassLine) widen() {
	for id, s := range map[param.ID]*Spread{param.Mms: &m.Mms, param.Cms: &m.Cms} {
		if e, ok := m.Joint.Parameters.Get(id); ok {
			*s = normalSpread(s.Value, math.Hypot(s.Std, s.Value-e.Value))
		}
	}
}

// InverseSquareOmega returns 1/(2 pi f)^2 in s^2, f in Hz: what the mass line is
// drawn over.
func InverseSquareOmega(f float64) float64 {
	w := 2 * math.Pi * f
	return 1 / (w * w)
}
