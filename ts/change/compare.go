// Package change compares two measurements of one driver, before and after a
// repair: how much each value changed, which causes explain it, and which part of the
// suspension changed.
package change

import (
	"math"
	"slices"

	"conewright/ts/internal/refer"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Drift is how much a healthy driver differs from one session to the next, as
// standard uncertainties of the difference between two sessions. A change no
// larger than this is measured, and reported, but no cause is sought for it.
type Drift struct {
	Stiffness   float64 // relative; the suspension relaxes, stiffens and ages
	Losses      float64 // relative
	Temperature float64 // kelvin, of the coil beyond what was entered
}

// UsualDrift is what two sessions on a bench differ by when nobody touches the
// driver. Common practice: resonances are expected to repeat within about 1 %,
// room temperature is known to about 1 K.
var UsualDrift = Drift{Stiffness: 0.02, Losses: 0.04, Temperature: 1}

// CompareOptions holds what a comparison may know beside the two sets.
type CompareOptions struct {
	Spec     *verdict.Spec     // judge the driver after the repair as well
	Stripped *param.Parameters // the driver with the old surround off and the new one not yet on
	Drift    *Drift            // nil: UsualDrift
}

// Compared is what a repair changed.
type Compared struct {
	Before, After param.Parameters // as given
	Changes       []Change
	Null          NullTest
	// Explanations are the smallest sets of causes that explain the change, the
	// most probable one first. More than one: the data cannot tell them apart.
	Explanations []Explanation
	Causes       []Cause // of all explanations, in one list
	// Unexplained says that no set of causes explains the change at 95 %; what
	// Explanations holds is then only the nearest.
	Unexplained bool
	Split       *StiffnessSplit  // nil without a stripped sweep
	Checked     *verdict.Checked // After against the spec sheet; nil without one
	Next        []verdict.Step
	Warnings    []param.Warning
}

// Verdict returns the verdict on the driver after the repair; undecided without
// a spec sheet.
func (c *Compared) Verdict() verdict.Verdict {
	if c.Checked == nil {
		return verdict.Undecided
	}
	return c.Checked.Verdict
}

// Compare says what changed from before to after, and why. After is first
// brought to the mounting and temperature of before; errors that both sets
// share cancel. The error is a [*Refusal].
func Compare(before, after param.Parameters, opt CompareOptions) (*Compared, error) {
	b, a, warnings, err := Comparable(before, after)
	if err != nil {
		return nil, err
	}
	drift := UsualDrift
	if opt.Drift != nil {
		drift = *opt.Drift
	}
	c := &Compared{Before: before, After: after, Warnings: warnings}
	c.Changes = Changes(b, a)
	f := NewFrame(b, a, drift)
	c.Null = nullTest(f)
	c.Explanations, c.Unexplained = explain(f)
	for _, e := range c.Explanations {
		c.Causes = append(c.Causes, e.Causes...)
	}
	if c.Unexplained {
		c.Warnings = append(c.Warnings, param.Warning{Code: "change-unexplained",
			Message: "no combination of the known causes explains the change within the uncertainty",
			Hint:    "check that both sweeps were taken alike (level, mounting, wiring), then look at the residuals of the fits"})
	}
	if c.RestsOnBL() && c.Null.Doubt() {
		c.Warnings = append(c.Warnings, param.Warning{Code: "motor-not-unchanged",
			Message: c.Null.Explain(),
			Hint:    "sweeps with an added mass, before and after, do without that assumption"})
	}
	if opt.Stripped != nil {
		_, s, w, err := Comparable(before, *opt.Stripped)
		if err != nil {
			return nil, err
		}
		c.Warnings = append(c.Warnings, w...)
		c.Split = splitStiffness(b, s, a, drift)
	}
	if opt.Spec != nil {
		if c.Checked, err = verdict.Check(after, *opt.Spec); err != nil {
			return nil, err
		}
	}
	c.Next = nextForCompare(c)
	return c, nil
}

// Comparable brings after to the conditions of before, or refuses.
func Comparable(before, after param.Parameters) (b, a param.Parameters, w []param.Warning, err error) {
	for _, id := range []param.ParamID{param.Re, param.Fs, param.Qms, param.Qes} {
		if before.Index(id) < 0 || after.Index(id) < 0 {
			return b, a, nil, &param.Refusal{Code: "not-comparable", Message: "a comparison needs Re, Fs, Qms and Qes of both drivers",
				Advice: "fit both sweeps with a band that holds the resonance"}
		}
	}
	for _, p := range []param.Parameters{before, after} {
		if err := p.Usable(); err != nil {
			return b, a, nil, err
		}
	}
	ref := refer.ReferTo(after, before.Mounting, before.Temperature)
	if len(ref.Unreferred) > 0 {
		return b, a, nil, &param.Refusal{Code: "mounting-differs",
			Message: "one sweep was taken in " + before.Mounting.String() + ", the other in " + after.Mounting.String() +
				": the air that moves with the cone differs, and so do Fs and the Qs",
			Advice: "take both sweeps in the same mounting, or give the diameter of the cone and a sweep with an added mass"}
	}
	return before, ref.Parameters, ref.Warnings, nil
}

// Change is the ratio of one quantity, after to before.
type Change struct {
	ID        param.ParamID
	Ratio     float64
	Low, High float64 // 95 %, of the measurement alone
	How       string  // "added-mass", "BL unchanged", or "" for what the sweeps give directly
}

// Percent returns the change in percent.
func (c Change) Percent() float64 { return 100 * (c.Ratio - 1) }

// Changed says whether the 95 % interval leaves out "unchanged".
func (c Change) Changed() bool { return c.Low > 1 || c.High < 1 }

// How a change was found.
const (
	ByAddedMass   = "added-mass"
	ByUnchangedBL = "BL unchanged"
)

// electrical holds the logarithms of the motional circuit in terms of those of
// Re, Fs, Qms and Qes: Cmes = Qes/(ws Re), Lces = Re/(ws Qes), Res = Re Qms/Qes,
// theory (1.4).
var electrical = map[param.ParamID]map[param.ParamID]float64{
	param.Cmes: {param.Qes: 1, param.Fs: -1, param.Re: -1},
	param.Lces: {param.Re: 1, param.Fs: -1, param.Qes: -1},
	param.Res:  {param.Re: 1, param.Qms: 1, param.Qes: -1},
}

// Changes lists the ratios after/before. With an unchanged BL, theory (5.7),
//
//	Mms'/Mms = Cmes'/Cmes    Cms'/Cms = Lces'/Lces    Rms'/Rms = Res/Res'
//
// which needs no added mass at all.
func Changes(before, after param.Parameters) []Change {
	sweep := refer.Subtract(after, before, refer.Common(before, after, param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.L1k))
	var out []Change
	add := func(x refer.Difference, id param.ParamID, w map[param.ParamID]float64, how string) {
		d, u := x.Combine(w)
		k := x.Spread.Quantile(0.975)
		out = append(out, Change{id, math.Exp(d), math.Exp(d - k*u), math.Exp(d + k*u), how})
	}
	self := func(id param.ParamID) map[param.ParamID]float64 { return map[param.ParamID]float64{id: 1} }
	for _, id := range []param.ParamID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts} {
		if sweep.At(id) >= 0 {
			add(sweep, id, self(id), "")
		}
	}
	if moving := refer.Common(before, after, param.Mms, param.Cms, param.Rms, param.BL); len(moving) == 4 {
		x := refer.Subtract(after, before, moving)
		for _, id := range moving {
			add(x, id, self(id), ByAddedMass)
		}
	} else {
		minusRes := map[param.ParamID]float64{}
		for id, w := range electrical[param.Res] {
			minusRes[id] = -w
		}
		add(sweep, param.Mms, electrical[param.Cmes], ByUnchangedBL)
		add(sweep, param.Cms, electrical[param.Lces], ByUnchangedBL)
		add(sweep, param.Rms, minusRes, ByUnchangedBL)
	}
	for _, id := range []param.ParamID{param.Res, param.Lces, param.Cmes} {
		add(sweep, id, electrical[id], "")
	}
	if sweep.At(param.L1k) >= 0 {
		add(sweep, param.L1k, self(param.L1k), "")
	}
	return out
}

// Change returns the change of one quantity.
func (c *Compared) Change(id param.ParamID) (Change, bool) {
	for _, ch := range c.Changes {
		if ch.ID == id {
			return ch, true
		}
	}
	return Change{}, false
}

// RestsOnBL says whether the leading explanation rests on an unchanged BL.
func (c *Compared) RestsOnBL() bool {
	ch, ok := c.Change(param.Mms)
	if !ok || ch.How != ByUnchangedBL {
		return false
	}
	return slices.ContainsFunc(c.Explanations[0].Causes, func(cause Cause) bool {
		switch cause.ID {
		case SuspensionStiffer, SuspensionSofter, MassAdded, MassMissing, LossesUp, LossesDown:
			return true
		}
		return false
	})
}
