package verdict

import (
	"fmt"
	"math"

	"conewright/ts/internal/refer"
	"conewright/ts/internal/stat"
	"conewright/ts/param"
)

// Spec is a spec sheet.
type Spec struct {
	Name        string
	Source      string // where the limits come from
	Mounting    param.Mounting
	Temperature float64 // kelvin; 0: 293.15
	Limits      []Limit
	Confidence  float64 // of a decision; 0: 0.95
}

// Limit returns the limit of one quantity; false if the sheet has none.
func (s Spec) Limit(id param.ParamID) (Limit, bool) {
	for _, l := range s.Limits {
		if l.ID == id {
			return l, true
		}
	}
	return Limit{}, false
}

// confidence returns the confidence of a decision, 0.95 unless stated.
func (s Spec) confidence() float64 {
	if s.Confidence == 0 {
		return 0.95
	}
	return s.Confidence
}

// validate refuses a sheet that cannot be decided upon.
func (s Spec) validate() error {
	if len(s.Limits) == 0 {
		return &param.Refusal{Code: "no-limits", Message: "the spec sheet holds no limits",
			Advice: "give at least one, for instance Fs with its tolerance"}
	}
	if c := s.confidence(); !(c >= 0.5 && c < 1) {
		return &param.Refusal{Code: "bad-confidence", Message: fmt.Sprintf("a confidence of %v cannot be decided with", c),
			Advice: "use a number from 0.5 to below 1; 0.95 is usual"}
	}
	for _, l := range s.Limits {
		if math.IsNaN(l.Lo) || math.IsNaN(l.Hi) || l.Lo > l.Hi || (l.ID.Info().Positive && l.Hi <= 0) {
			return &param.Refusal{Code: "bad-limit", Message: fmt.Sprintf("the limits of %v, %v to %v, leave no room for any value", l.ID, l.Lo, l.Hi),
				Advice: "the lower limit must lie below the upper one"}
		}
	}
	return nil
}

// Judged is one value against its limit. It is made only by [Check] and
// [Compare].
type Judged struct {
	Limit Limit
	Known bool // false: the data cannot give the value, see Reason
	// Estimate is the value at the mounting and temperature of the sheet, with the
	// interval that the decision counts on; zero if not Known.
	Estimate param.Estimate
	// ProbabilityIn is the probability of conformity; 0 if not Known.
	ProbabilityIn float64
	Margin        float64 // to the nearer limit in standard uncertainties; negative outside
	Verdict       Verdict
	Reason        string // why the value is not known; empty if it is
}

// Risk returns the probability that the verdict is wrong; for an undecided one
// that the driver is out of spec.
func (j Judged) Risk() float64 {
	if j.Verdict == OutOfSpec {
		return j.ProbabilityIn
	}
	return 1 - j.ProbabilityIn
}

// Checked is a driver against its spec sheet.
type Checked struct {
	Spec       Spec
	Parameters param.Parameters // as judged: at the mounting and temperature of the sheet
	Checks     []Judged
	Verdict    Verdict // the worst of Checks decides
	Worst      int     // the one of Checks that decided
	Conflicts  []Conflict
	Next       []Step
	Warnings   []param.Warning
}

// Deciding returns the check that decided the verdict.
func (c *Checked) Deciding() Judged { return c.Checks[c.Worst] }

// Check judges one driver against its spec sheet. The values are first brought
// to the mounting and the temperature of the sheet. A limit on something that
// the data cannot give is undecided and says why. The error is a [*Refusal].
func Check(p param.Parameters, spec Spec) (*Checked, error) {
	if err := spec.validate(); err != nil {
		return nil, err
	}
	if err := p.Usable(); err != nil {
		return nil, err
	}
	c := &Checked{Spec: spec, Conflicts: SpecConflicts(spec)}
	for _, conflict := range c.Conflicts {
		c.Warnings = append(c.Warnings, conflict.warning())
	}
	ref := refer.ReferTo(p, spec.Mounting, spec.Temperature)
	c.Parameters = ref.Parameters
	c.Warnings = append(c.Warnings, ref.Warnings...)
	s := stat.Of(p.Coverage)
	c.Verdict = InSpec
	for i, l := range spec.Limits {
		j := judge(ref, l, spec.confidence(), s)
		c.Checks = append(c.Checks, j)
		if i == 0 || WorseThan(j, c.Checks[c.Worst]) {
			c.Worst = i
		}
		c.Verdict = Worst(c.Verdict, j.Verdict)
	}
	c.Next = nextForCheck(c)
	return c, nil
}

// judge applies the decision rule to one limit.
func judge(ref refer.Referred, l Limit, confidence float64, s stat.Dist) Judged {
	j := Judged{Limit: l}
	i := ref.Index(l.ID)
	switch {
	case i < 0:
		j.Reason = whyMissing(ref.Parameters, l.ID)
		return j
	case ref.Unreferred[l.ID] != "":
		j.Reason = ref.Unreferred[l.ID]
		return j
	}
	j.Known = true
	j.Estimate, _ = ref.Get(l.ID)
	j.Estimate.Low, j.Estimate.High = ref.Interval(i, ref.Guard(i))
	lo, hi := l.Scaled()
	j.ProbabilityIn, j.Margin, j.Verdict = Decide(ref.Scaled[i], ref.Guard(i), lo, hi, confidence, s)
	return j
}

// WorseThan orders checks: out of spec before undecided before in spec, then by
// the margin; what is not known comes after what is
// undecided on its own numbers.
func WorseThan(a, b Judged) bool {
	rank := map[Verdict]int{OutOfSpec: 0, Undecided: 1, InSpec: 2}
	if a.Verdict != b.Verdict {
		return rank[a.Verdict] < rank[b.Verdict]
	}
	if a.Known != b.Known {
		return a.Known
	}
	return a.Margin < b.Margin
}

// needsLoad says which quantities a sweep with nothing on the cone cannot give.
var needsLoad = map[param.ParamID]bool{param.Mms: true, param.Cms: true, param.Rms: true, param.BL: true, param.Vas: true, param.Eta0: true}

// needsArea says which quantities need the area of the cone.
var needsArea = map[param.ParamID]bool{param.Vas: true, param.Sd: true, param.Eta0: true}

// whyMissing explains why the data cannot give a quantity.
func whyMissing(p param.Parameters, id param.ParamID) string {
	area := needsArea[id] && p.Index(param.Sd) < 0
	load := needsLoad[id] && p.Index(param.BL) < 0
	switch {
	case area && load:
		return "it needs a sweep with an added mass and the diameter of the cone"
	case area:
		return "it needs the diameter of the cone"
	case load:
		return "a sweep with nothing on the cone cannot give it"
	}
	return "the sweeps given do not hold it"
}
