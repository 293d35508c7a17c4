package verdict

import (
	"math"
	"slices"

	"conewright/ts/connected"
	"conewright/ts/internal/refer"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Judged is one value against its limit.
type Judged struct {
	Limit Limit
	Known bool // false: the data cannot give the value, see Missing
	// Estimate is the value at the mounting and temperature of the sheet, with the
	// interval that the decision counts on; zero if not Known.
	Estimate param.Estimate
	// ProbabilityIn is the probability of conformity; 0 if not Known.
	ProbabilityIn float64
	Margin        float64 // to the nearer limit in standard uncertainties; negative outside
	Verdict       Verdict
	Missing       Missing // what would give the value; zero if it is known
	// ByMeter is the value with Re as a meter reads it that contradicts the sweep, where the verdict
	// would be another one: it is undecided then. nil: it makes no difference.
	ByMeter *param.Estimate
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
	// Withheld are the reasons why the verdict is undecided whatever the values say: they
	// are hardly those of one driver alone.
	Withheld []notice.Notice
	Warnings []notice.Notice
}

// Deciding returns the check that decided the verdict.
func (c *Checked) Deciding() Judged { return c.Checks[c.Worst] }

// Check judges one driver against its spec sheet. The values are first brought
// to the mounting and the temperature of the sheet. A limit on something that
// the data cannot give is undecided and says why. The error is a [*notice.Notice].
func Check(p param.Parameters, spec Spec) (*Checked, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if err := p.Check(); err != nil {
		return nil, err
	}
	c := &Checked{Spec: spec, Conflicts: conflicts(spec)}
	for _, conflict := range c.Conflicts {
		c.Warnings = append(c.Warnings, conflict.notice())
	}
	ref := refer.ReferTo(p, spec.Mounting, spec.Temperature)
	c.Parameters = ref.Parameters
	c.Warnings = append(c.Warnings, ref.Warnings...)
	c.Withheld = withheld(ref.Parameters, spec)
	c.Warnings = append(c.Warnings, c.Withheld...)
	byMeter, contradicted := ref.ByMeter()
	c.Verdict = InSpec
	for i, l := range spec.Limits {
		j := judge(ref, l, spec.confidence())
		if contradicted {
			if other := judge(byMeter, l, spec.confidence()); other.Verdict != j.Verdict {
				j.Verdict, j.ByMeter = Undecided, &other.Estimate
			}
		}
		if len(c.Withheld) > 0 {
			j.Verdict = Undecided
		}
		c.Checks = append(c.Checks, j)
		if i == 0 || WorseThan(j, c.Checks[c.Worst]) {
			c.Worst = i
		}
		c.Verdict = Worst(c.Verdict, j.Verdict)
	}
	if len(c.Withheld) == 0 { // what is connected comes first
		c.Next = nextForCheck(c)
	}
	return c, nil
}

// widest is the ratio of two limits from which on their middle says nothing of what a driver
// should have.
const widest = 2

// withheld are the doubts about what was connected, among them the one that the values lie
// as far from the middles of the sheet as a box, a mass or another driver puts them.
func withheld(p param.Parameters, spec Spec) []notice.Notice {
	if p.OneDriver {
		return nil
	}
	ratio := map[param.ID]float64{}
	for _, l := range spec.Limits {
		i := p.Index(l.ID)
		if lo, hi := l.Lo, l.Hi; i >= 0 && lo > 0 && hi < widest*lo && l.ID.Info().Positive {
			ratio[l.ID] = p.Scaled[i] - math.Log(lo*hi)/2
		}
	}
	if n := connected.Against(ratio); n != nil {
		return append(slices.Clone(p.Doubts), *n)
	}
	return p.Doubts
}

// judge applies the decision rule to one limit.
func judge(ref refer.Referred, l Limit, confidence float64) Judged {
	j := Judged{Limit: l, Missing: missing(ref, l.ID)}
	if j.Missing != Nothing {
		return j
	}
	i := ref.Index(l.ID)
	j.Known = true
	var bars param.Bars
	j.Estimate, bars = ref.Guarded(i)
	lo, hi := l.Scaled()
	j.ProbabilityIn, j.Margin, j.Verdict = Decide(ref.Scaled[i], bars, lo, hi, confidence, ref.Dist(i))
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
