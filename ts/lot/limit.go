package lot

import (
	"math"
	"slices"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// PairLimit is how much two drivers of a pair may differ in one quantity.
type PairLimit struct {
	ID      param.ID
	Percent float64 // of the smaller value
}

// check refuses a limit that a pair cannot be held to.
func (l PairLimit) check() error {
	if l.Percent > 0 && l.Percent <= mostPercent && l.ID.Info().Positive {
		return nil
	}
	return notice.New("bad-pair-limit", notice.Facts{"quantity": l.ID, "percent": l.Percent})
}

// mostPercent is a limit within which any two drivers match.
const mostPercent = 1e4

// scaled returns the limit on the difference of the scaled values.
func (l PairLimit) scaled() float64 { return math.Log1p(l.Percent / 100) }

// UsualPairLimits is what a pair must agree in where nothing else was agreed.
// Common practice: resonance within 5 %, total Q within 10 %, impedance within
// 5 %.
var UsualPairLimits = []PairLimit{{param.Re, 5}, {param.Fs, 5}, {param.Qts, 10}}

// PairOptions holds what a pair is judged by.
type PairOptions struct {
	Limits     []PairLimit // nil: UsualPairLimits
	Confidence float64     // of a decision; 0: 0.95
	// SameSession says that both were measured in one session: the temperature of the room and the
	// contacts of the bench are in both. What each suspension does that day is its own.
	SameSession bool
	// Direct is what the curves of both show by themselves of Re, right over left; nil: nothing.
	Direct *param.Direct
}

// complete fills in and checks the options.
func (o PairOptions) complete() ([]PairLimit, float64, error) {
	limits, confidence := o.Limits, o.Confidence
	if limits == nil {
		limits = UsualPairLimits
	}
	if confidence == 0 {
		confidence = 0.95
	}
	return limits, confidence, bounds.First(bounds.Confidence.Number(confidence), checkLimits(limits))
}

// checkLimits refuses limits that no pair can be held to.
func checkLimits(limits []PairLimit) error {
	if len(limits) == 0 {
		return notice.New("no-limits", nil)
	}
	for i, l := range limits {
		if err := l.check(); err != nil {
			return err
		}
		if slices.IndexFunc(limits, func(other PairLimit) bool { return other.ID == l.ID }) != i {
			return notice.New("limit-twice", notice.Facts{"quantity": l.ID})
		}
	}
	return nil
}
