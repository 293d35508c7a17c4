package verdict

import (
	"fmt"
	"math"
	"strings"

	"conewright/ts/figure"
	"conewright/ts/internal/session"
	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Step is a measurement or an action that would bring a decision further.
type Step struct {
	Kind StepKind `json:"kind"`
	Do   string   `json:"do"`
	Gain string   `json:"gain"`
	// For a measurement that sharpens one value: which, its relative standard
	// uncertainty now and after the step (0: not known), and whether that would
	// decide if the value stays where it is.
	ID      param.ParamID `json:"-"`
	Now     float64       `json:"-"`
	Then    float64       `json:"-"`
	Decides bool          `json:"-"`
	Times   int           `json:"-"` // further sweeps, or times as fine
}

// StepKind says what sort of step it is.
type StepKind string

// The kinds of steps.
const (
	DoRepeat    StepKind = "repeat"     // more sweeps of the same condition
	DoMeter     StepKind = "meter"      // read Re with an ohm meter
	DoAddedMass StepKind = "added-mass" // a sweep with a mass on the cone
	DoDiameter  StepKind = "diameter"   // measure the cone
	DoMounting  StepKind = "mounting"   // measure in the mounting of the sheet
	DoBench     StepKind = "bench"      // better resistor, weighing, calibration
	DoFiner     StepKind = "finer"      // one sweep with more points, or a longer one
	DoBand      StepKind = "band"       // a wider sweep, for the coil model
	DoWork      StepKind = "work"       // something to do to the driver
	DoAccept    StepKind = "accept"     // no measurement will decide
)

// What is assumed of the equipment when a gain is predicted.
const (
	meterStd    = 0.005 // relative standard uncertainty of Re by a hand-held meter, leads nulled
	weighingStd = 0.005 // relative standard uncertainty of an added mass
	MassShare   = 0.8   // added mass in parts of the moving mass: Fs falls by a quarter
)

// nextForCheck proposes steps for everything that is undecided, the check that
// decided the verdict first.
func nextForCheck(c *Checked) []Step {
	var steps []Step
	add := func(s Step) {
		for i, have := range steps {
			if have.Kind == s.Kind && have.Do == s.Do {
				if steps[i].Gain != s.Gain {
					steps[i].Gain += "; " + s.Gain
				}
				return
			}
		}
		steps = append(steps, s)
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
		case !j.Known:
			add(stepForMissing(c, j))
		default:
			add(stepForUndecided(c, j))
		}
	}
	return steps
}

// stepForMissing says what would give a value that the data do not hold.
func stepForMissing(c *Checked, j Judged) Step {
	p, id := c.Parameters, j.Limit.ID
	switch {
	case p.Index(id) >= 0: // known, but in another mounting
		return Step{Kind: DoMounting, ID: id,
			Do:   fmt.Sprintf("measure in %v, as the spec sheet does, or add a sweep with a mass on the cone and give its diameter", c.Spec.Mounting),
			Gain: id.String() + " can be judged"}
	case needsLoad[id] && p.Index(param.BL) < 0:
		return addedMassStep(p, c.Spec, id)
	case needsArea[id]:
		return Step{Kind: DoDiameter, ID: id, Do: "measure the diameter of the cone from the middle of the surround to the middle of the opposite surround",
			Gain: id.String() + " can be judged"}
	}
	return Step{Kind: DoBand, ID: id, Do: "measure over a wider band", Gain: id.String() + " can be judged"}
}

// addedMassStep proposes a sweep with a mass on the cone.
func addedMassStep(p param.Parameters, spec Spec, id param.ParamID) Step {
	s := Step{Kind: DoAddedMass, ID: id, Do: "repeat the sweep with an added mass on the cone", Gain: id.String() + " can be judged"}
	fs, ok := p.Get(param.Fs)
	if !ok {
		return s
	}
	fall := fs.Value / math.Sqrt(1+MassShare)
	s.Do = fmt.Sprintf("repeat the sweep with so much mass on the cone that Fs falls from %s to about %s", figure.ValueText(param.Fs, fs.Value, fs.Std), figure.ValueText(param.Fs, fall, 0))
	if mass, from := expectedMass(p, spec); mass > 0 {
		grams := niceGrams(MassShare * mass)
		fall = fs.Value / math.Sqrt(1+grams/mass)
		s.Do = fmt.Sprintf("repeat the sweep with %s on the cone, weighed together with its putty; by the %s Fs should fall from %s to about %s",
			figure.ValueText(param.Mms, grams, 0), from, figure.ValueText(param.Fs, fs.Value, fs.Std), figure.ValueText(param.Fs, fall, 0))
		if std := predictAddedMass(p, mass, grams, weighingStd)[id]; std > 0 {
			s.Then = std
			s.Gain = fmt.Sprintf("%v can be judged, to about %.1f %%", id, 100*std)
		}
	}
	return s
}

// expectedMass guesses the moving mass in kg before it is measured: from the
// sheet's own mass, or from its BL or compliance with the sweep.
func expectedMass(p param.Parameters, spec Spec) (kg float64, from string) {
	if m, ok := p.Get(param.Mms); ok {
		return m.Value, "mass found so far"
	}
	mid := func(id param.ParamID) float64 {
		l, ok := spec.Limit(id)
		if !ok || l.Lo <= 0 || math.IsInf(l.Hi, 1) {
			return 0
		}
		return math.Sqrt(l.Lo * l.Hi)
	}
	fs, _ := p.Get(param.Fs)
	w := 2 * math.Pi * fs.Value
	if m := mid(param.Mms); m > 0 {
		return m, "mass on the spec sheet"
	}
	if cmes, ok := p.Get(param.Cmes); ok && mid(param.BL) > 0 {
		return cmes.Value * mid(param.BL) * mid(param.BL), "BL on the spec sheet"
	}
	if c := mid(param.Cms); c > 0 {
		return 1 / (w * w * c), "compliance on the spec sheet"
	}
	if v, a := mid(param.Vas), p.Index(param.Sd); v > 0 && a >= 0 {
		sd := math.Exp(p.Scaled[a])
		return airStiffness[0] * sd * sd / (w * w * v), "Vas on the spec sheet"
	}
	return 0, ""
}

// niceGrams rounds a mass in kg to a figure one can put on a scale.
func niceGrams(kg float64) float64 {
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
func stepForUndecided(c *Checked, j Judged) Step {
	p, id := c.Parameters, j.Limit.ID
	i := p.Index(id)
	now := p.ScaledStd(i)
	need := neededStd(p.Scaled[i], now, p.Guard(i), j.Limit, c.Spec.confidence(), stat.Of(p.Coverage))
	best := Step{Now: now, Then: now}
	for _, s := range candidates(p, id) {
		s.ID, s.Now, s.Decides = id, now, s.Then <= need
		if s.Decides {
			best = s
			break
		}
		if s.Then < best.Then {
			best = s
		}
	}
	percent := func(x float64) string { return fmt.Sprintf("%.2g %%", 100*x) }
	if best.Decides {
		best.Gain = fmt.Sprintf("%v from %s to %s (standard uncertainty): enough to decide if the value stays", id, percent(now), percent(best.Then))
		return best
	}
	if best.Then < 2*need { // close enough that a small move of the value would do
		best.Gain = fmt.Sprintf("%v from %s to %s (standard uncertainty); to decide at this value takes %s", id, percent(now), percent(best.Then), percent(need))
		return best
	}
	return Step{Kind: DoAccept, ID: id, Now: now, Then: best.Then,
		Do:   fmt.Sprintf("settle by agreement whether this %v is acceptable", id),
		Gain: fmt.Sprintf("the value lies so near its limit that no step on this bench will decide; the best would reach %s (standard uncertainty)", percent(best.Then))}
}

// neededStd returns the standard uncertainty at which the value y (on its scale)
// would be decided, if the arms of its interval shrank with it from what they are
// at u.
func neededStd(y, u float64, arms param.Bars, l Limit, confidence float64, s stat.Dist) float64 {
	if u == 0 {
		return 0
	}
	lo, hi := l.Scaled()
	k := s.Quantile((1 + confidence) / 2)
	down, up := arms.Down/u, arms.Up/u
	if lo <= y && y <= hi {
		return math.Min((y-lo)/down, (hi-y)/up) / k
	}
	return math.Max((lo-y)/up, (y-hi)/down) / k
}

// candidates lists steps that may sharpen id, the least work first. A datum h'x
// with the standard uncertainty r leaves
//
//	V - V h h'V/(h'V h + r^2)                                   theory (5.13)
//
// of the covariance; what further sweeps leave of the noise is the business of
// [design].
func candidates(p param.Parameters, id param.ParamID) []Step {
	i := p.Index(id)
	var part [4]float64
	if p.Noise != nil {
		part[param.NoisePart] = p.Noise.At(i, i)
	}
	creep := 0.0 // doubt of the creep law, in part[ModelPart]
	for _, c := range p.Components {
		part[c.Part] += c.Effect[i] * c.Effect[i]
		if strings.HasSuffix(c.Source, param.PowerCreep) {
			creep += c.Effect[i] * c.Effect[i]
		}
	}
	var steps []Step
	total := part[param.NoisePart] + part[param.ModelPart] + part[param.BenchPart] + part[param.RepeatPart]
	if re := p.Index(param.Re); re >= 0 && p.ScaledStd(re) > meterStd {
		steps = append(steps, Step{Kind: DoMeter, Then: math.Sqrt(withDatum(p.Covariance(), i, re, meterStd)),
			Do: "read Re with an ohm meter, leads nulled, driver at rest and at room temperature, and give it as the direct-current resistance"})
	}
	if left := noiseLeft(p, id); left != nil {
		for _, way := range []struct {
			kind StepKind
			n    int
			do   string
		}{
			{DoRepeat, 1, "repeat the sweep once more and give both"},
			{DoFiner, 2, "take one sweep with twice as many points, or twice as long"},
			{DoFiner, 4, "take one sweep with four times as many points, or four times as long"},
			{DoRepeat, 3, "repeat the sweep three times more and give all of them"},
			{DoFiner, 8, "take one sweep with eight times as many points, or eight times as long"},
			{DoRepeat, 7, "repeat the sweep seven times more and give all of them"},
		} {
			// With less noise the sweeps also tell the creep laws apart: in
			// simulations a quarter of the variance halves that doubt.
			less := left(way.kind, way.n)
			rest := total - part[param.NoisePart]*(1-less) - creep*(1-math.Sqrt(less))
			if way.kind == DoRepeat {
				rest += math.Max(0, session.UsualRunVariance(id, way.n+1)-part[param.RepeatPart])
			}
			steps = append(steps, Step{Kind: way.kind, Times: way.n, Then: math.Sqrt(rest), Do: way.do})
		}
	}
	if coil := part[param.ModelPart] - creep; coil > total/2 {
		steps = append(steps, Step{Kind: DoBand, Then: math.Sqrt(total - coil*0.75),
			Do: "take a sweep up to 2 kHz or more, so that the model of the coil is settled"})
	}
	if source, share := largestBench(p, i); share > total/2 {
		steps = append(steps, Step{Kind: DoBench, Then: math.Sqrt(total - share*0.75),
			Do: "halve the uncertainty of the " + source + ", which now makes most of it"})
	}
	return steps
}

// noiseLeft returns the function that says which part of the noise variance of
// id is left after n more sweeps of every condition, or after sweeps n times as
// fine; nil if it cannot be predicted.
func noiseLeft(p param.Parameters, id param.ParamID) func(kind StepKind, n int) float64 {
	set, mass := []float64{0}, 1e-2 // any mass does while nothing is put on the cone
	if m, ok := p.Get(param.Mms); ok {
		mass = m.Value
		set = []float64{0, MassShare * mass}
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
