package verdict

import (
	"math"
	"slices"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
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
func (s Spec) Limit(id param.ID) (Limit, bool) {
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

// Check refuses a sheet that nothing can be decided by.
func (s Spec) Check() error {
	if len(s.Limits) == 0 {
		return notice.New("no-limits", nil)
	}
	for i, l := range s.Limits {
		if err := l.check(); err != nil {
			return err
		}
		if slices.IndexFunc(s.Limits, func(other Limit) bool { return other.ID == l.ID }) != i {
			return notice.New("limit-twice", notice.Facts{"quantity": l.ID})
		}
	}
	return bounds.First(bounds.Confidence.Number(s.confidence()), s.Mounting.Check(), bounds.Temperature.Given(s.Temperature, 0))
}

// Limit is what a value must meet. An absent side is minus or plus infinity.
type Limit struct {
	ID     param.ID
	Lo, Hi float64 // SI
}

// Scaled returns both ends on the scale of Parameters. A lower end that a
// positive quantity cannot reach is no limit at all.
func (l Limit) Scaled() (lo, hi float64) {
	if l.ID.Info().Positive {
		lo = math.Log(math.Max(l.Lo, 0))
		if l.Hi <= 0 {
			return lo, math.Inf(-1)
		}
		return lo, math.Log(l.Hi)
	}
	return l.Lo, l.Hi
}

// check refuses a limit that no value can meet.
func (l Limit) check() error {
	if l.ID < param.Count && l.Lo <= l.Hi && l.Lo < math.Inf(1) && l.Hi > math.Inf(-1) && !(l.ID.Info().Positive && l.Hi <= 0) {
		return nil
	}
	return notice.New("bad-limit", notice.Facts{"quantity": l.ID, "lower": l.Lo, "upper": l.Hi})
}
