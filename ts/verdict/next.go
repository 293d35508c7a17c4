package verdict

import (
	"math"
	"strings"

	"conewright/ts/internal/stat"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// What is assumed of the equipment when a gain is predicted.
const (
	meterStd    = 0.005 // relative standard uncertainty of Re by a hand-held meter, leads nulled
	weighingStd = 0.005 // relative standard uncertainty of an added mass
	massShare   = 0.8   // added mass in parts of the moving mass: Fs falls by a quarter
)

// nextForCheck proposes steps for everything that is undecided, the check that
// decided the verdict first.
func nextForCheck(c *Checked) []Step {
	var steps []Step
	add := func(a Action, g Gain) {
		for i, have := range steps {
			if have.Action == a && a.Kind != DoAccept {
				steps[i].Gains = append(have.Gains, g)
				return
			}
		}
		steps = append(steps, Step{a, []Gain{g}})
	}
	order := []int{c.Worst}
	for i := range c.Checks {
		if i != c.Worst {
			order = append(order, i)
		}
	}
	for _, i := range order {
		j := c.Checks[i]
		switch {
		case j.Verdict != Undecided:
		case j.ByMeter != nil:
			add(Action{Kind: DoSettle}, Gain{ID: j.Limit.ID})
		case !j.Known:
			add(stepForMissing(c, j))
		default:
			add(stepForUndecided(c, j))
		}
	}
	return steps
}

// stepForMissing says what would give a value that the data do not hold.
func stepForMissing(c *Checked, j Judged) (Action, Gain) {
	switch j.Missing {
	case NeedsMounting:
		return Action{Kind: DoMounting, Mounting: c.Spec.Mounting}, Gain{ID: j.Limit.ID}
	case NeedsMass, NeedsMassAndArea:
		return addedMassStep(c.Parameters, c.Spec, j.Limit.ID)
	case NeedsArea:
		return Action{Kind: DoDiameter}, Gain{ID: j.Limit.ID}
	case NeedsHarmonics, NeedsVolts:
		return Action{Kind: DoHarmonics}, Gain{ID: j.Limit.ID}
	}
	return Action{Kind: DoBand}, Gain{ID: j.Limit.ID}
}

// addedMassStep proposes a sweep with a mass on the cone.
func addedMassStep(p param.Parameters, spec Spec, id param.ID) (Action, Gain) {
	a, g := Action{Kind: DoAddedMass}, Gain{ID: id}
	fs, ok := p.Get(param.Fs)
	if !ok {
		return a, g
	}
	a.Fs, a.FsStd, a.FsThen = fs.Value, fs.Std, FsWithMass(fs.Value)
	if mass, from, sheet := expectedMass(p, spec); mass > 0 {
		a.Mass, a.MassFrom, a.FromSheet = niceMass(massShare*mass), from, sheet
		a.FsThen = fs.Value / math.Sqrt(1+a.Mass/mass)
		g.Then = predictAddedMass(p, mass, a.Mass, weighingStd)[id]
	}
	return a, g
}

// FsWithMass returns the resonance in Hz that fs (Hz) falls to with the usual added
// mass on the cone, without creep.
func FsWithMass(fs float64) float64 { return fs / math.Sqrt(1+massShare) }

// expectedMass guesses the moving mass in kg before it is measured: from the
// sheet's own mass, or from its BL or compliance with the sweep.
func expectedMass(p param.Parameters, spec Spec) (kg float64, from param.ID, sheet bool) {
	if m, ok := p.Get(param.Mms); ok {
		return m.Value, param.Mms, false
	}
	mid := func(id param.ID) float64 {
		l, ok := spec.Limit(id)
		if !ok || l.Lo <= 0 || math.IsInf(l.Hi, 1) {
			return 0
		}
		return math.Sqrt(l.Lo * l.Hi)
	}
	fs, _ := p.Get(param.Fs)
	w := 2 * math.Pi * fs.Value
	if m := mid(param.Mms); m > 0 {
		return m, param.Mms, true
	}
	if cmes, ok := p.Get(param.Cmes); ok && mid(param.BL) > 0 {
		return cmes.Value * mid(param.BL) * mid(param.BL), param.BL, true
	}
	if c := mid(param.Cms); c > 0 {
		return 1 / (w * w * c), param.Cms, true
	}
	if v, a := mid(param.Vas), p.Index(param.Sd); v > 0 && a >= 0 {
		sd := math.Exp(p.Scaled[a])
		return airStiffness[0] * sd * sd / (w * w * v), param.Vas, true
	}
	return 0, 0, false
}

// niceMass rounds a mass in kg to a number of grams that can be put together.
func niceMass(kg float64) float64 {
	step := 1e-3
	switch {
	case kg < 10e-3:
		step = 0.5e-3
	case kg > 40e-3:
		step = 5e-3
	}
	return math.Max(step, math.Round(kg/step)*step)
}

// stepForUndecided proposes the least work that would settle a value that lies
// too close to its limit for its uncertainty.
func stepForUndecided(c *Checked, j Judged) (Action, Gain) {
	p, id := c.Parameters, j.Limit.ID
	if id == param.Friction && p.Index(param.BL) < 0 { // the force rests on a usual BL
		return addedMassStep(p, c.Spec, id)
	}
	if id == param.Friction || id == param.Distortion {
		return Action{Kind: DoLevel}, Gain{ID: id}
	}
	now, need := p.ScaledStd(p.Index(id)), c.needed(j)
	best := candidate{then: now}
	for _, s := range candidates(p, id) {
		if s.then <= need {
			return s.Action, Gain{ID: id, Now: now, Then: s.then, Need: need, Decides: true}
		}
		if s.then < best.then {
			best = s
		}
	}
	if best.Kind == "" || best.then >= 2*need { // too far away for a small move of the value
		best.Action = Action{Kind: DoAccept}
	}
	return best.Action, Gain{ID: id, Now: now, Then: best.then, Need: need}
}

// needed returns the standard uncertainty at which an undecided value would be decided.
func (c *Checked) needed(j Judged) float64 {
	p, i := c.Parameters, c.Parameters.Index(j.Limit.ID)
	_, bars := p.Guarded(i)
	return neededStd(p.Scaled[i], p.ScaledStd(i), bars, j.Limit, c.Spec.confidence(), p.Dist(i))
}

// neededStd returns the standard uncertainty at which the value y (on its scale)
// would be decided, if its error bars shrank with it from what they are at u.
func neededStd(y, u float64, bars param.Bars, l Limit, confidence float64, s stat.Dist) float64 {
	if u == 0 {
		return 0
	}
	lo, hi := l.Scaled()
	k := s.Quantile((1 + confidence) / 2)
	down, up := bars.Down/u, bars.Up/u
	if lo <= y && y <= hi {
		return math.Min((y-lo)/down, (hi-y)/up) / k
	}
	return math.Max((lo-y)/up, (y-hi)/down) / k
}

// candidate is an action with the standard uncertainty that it would leave, on the scale.
type candidate struct {
	Action
	then float64
}

// furtherSweeps are those that are proposed, the least work first.
var furtherSweeps = []Action{{Kind: DoRepeat, Times: 1}, {Kind: DoFiner, Times: 2}, {Kind: DoFiner, Times: 4},
	{Kind: DoRepeat, Times: 3}, {Kind: DoRepeat, Times: 1, Between: repeat.Reclamped}, {Kind: DoFiner, Times: 8},
	{Kind: DoRepeat, Times: 3, Between: repeat.Reclamped}, {Kind: DoRepeat, Times: 1, Between: repeat.Session},
	{Kind: DoRepeat, Times: 3, Between: repeat.Session}, {Kind: DoRepeat, Times: 7, Between: repeat.Session}}

// candidates lists actions that may sharpen id, the least work first. A datum h'x
// with the standard uncertainty r leaves
//
//	V - V h h'V/(h'V h + r^2)                                   theory (5.13)
//
// of the covariance; what further sweeps leave of the noise is the business of
// [design].
func candidates(p param.Parameters, id param.ID) []candidate {
	i := p.Index(id)
	var part [4]float64
	if p.Noise != nil {
		part[param.NoisePart] = p.Noise.At(i, i)
	}
	creep := 0.0 // uncertainty of the creep law, in part[ModelPart]
	for _, c := range p.Components {
		part[c.Part] += c.Effect[i] * c.Effect[i]
		if strings.HasSuffix(c.Source, param.PowerCreep) {
			creep += c.Effect[i] * c.Effect[i]
		}
	}
	var list []candidate
	add := func(a Action, variance float64) { list = append(list, candidate{a, math.Sqrt(variance)}) }
	total := part[param.NoisePart] + part[param.ModelPart] + part[param.BenchPart] + part[param.RepeatPart]
	if re := p.Index(param.Re); re >= 0 && p.ScaledStd(re) > meterStd {
		add(Action{Kind: DoMeter}, withDatum(p.Covariance(), i, re, meterStd))
	}
	if left := noiseLeft(p, id); left != nil {
		for _, a := range furtherSweeps {
			// With less noise the sweeps also tell the creep laws apart: in
			// simulations a quarter of the variance halves that uncertainty.
			less := left(a.Kind, a.Times)
			rest := total - part[param.NoisePart]*(1-less) - creep*(1-math.Sqrt(less))
			if a.Kind == DoRepeat {
				rest += repeat.Left(p, i, a.Between, a.Times) - repeat.Left(p, i, repeat.Again, 0)
			}
			add(a, rest)
		}
	}
	if coil := part[param.ModelPart] - creep; coil > total/2 {
		add(Action{Kind: DoBand, ForCoil: true}, total-coil*0.75)
	}
	if source, share := largestBench(p, i); share > total/2 {
		add(Action{Kind: DoBench, Source: source}, total-share*0.75)
	}
	return list
}

// noiseLeft returns the function that says which part of the noise variance of
// id is left after n more sweeps of every condition, or after sweeps n times as
// fine; nil if it cannot be predicted.
func noiseLeft(p param.Parameters, id param.ID) func(kind StepKind, n int) float64 {
	set, mass := []float64{0}, 1e-2 // any mass does while nothing is put on the cone
	if m, ok := p.Get(param.Mms); ok {
		mass = m.Value
		set = []float64{0, massShare * mass}
	}
	x, ok := newDesign(p, mass)
	if !ok {
		return nil
	}
	now := x.variances(set, 1, 0)[id]
	if now == 0 {
		return nil
	}
	return func(kind StepKind, n int) float64 {
		if kind == DoRepeat { // the mean of all of them
			return 1 / float64(n+1)
		}
		return x.variances(set, float64(n), 0)[id] / now
	}
}

// withDatum returns the variance of value i after value k has been measured on
// its own with the standard uncertainty r.
func withDatum(v *mat.SymDense, i, k int, r float64) float64 {
	c := v.At(i, k)
	return v.At(i, i) - c*c/(v.At(k, k)+r*r)
}

// largestBench returns the bench source that adds most to the variance of i.
func largestBench(p param.Parameters, i int) (source string, variance float64) {
	for _, c := range p.Components {
		if v := c.Effect[i] * c.Effect[i]; c.Part == param.BenchPart && v > variance {
			source, variance = c.Source, v
		}
	}
	return source, variance
}
