// Package change compares two measurements of one driver, before and after a
// repair: how much each value changed, which causes explain it, and which part of the
// suspension changed.
package change

import (
	"math"
	"slices"

	"conewright/ts/connected"
	"conewright/ts/internal/refer"
	"conewright/ts/notice"
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

// check refuses a drift that is none.
func (d Drift) check() error {
	within := func(v, most float64) bool { return v >= 0 && v <= most }
	if within(d.Stiffness, 10) && within(d.Losses, 10) && within(d.Temperature, 100) {
		return nil
	}
	return notice.New("bad-drift", notice.Facts{"stiffness": d.Stiffness, "losses": d.Losses, "temperature": d.Temperature})
}

// Options holds what a comparison may know beside the two sets.
type Options struct {
	Spec     *verdict.Spec     // judge the driver after the repair as well
	Stripped *param.Parameters // the driver with the old surround off and the new one not yet on
	Drift    *Drift            // nil: UsualDrift
	Friction Friction          // as the harmonics of the sweeps show it
}

// Compared is what a repair changed.
type Compared struct {
	Before, After param.Parameters // as given
	Friction      Friction         // as given
	Changes       []Change
	Null          NullTest
	// Explanations are the smallest sets of causes that explain the change, the
	// most probable one first. More than one: the data cannot tell them apart.
	Explanations []Explanation
	Causes       []Cause // of all explanations, in one list
	// Unexplained says that no set of causes explains the change at 95 %; what
	// Explanations holds is then only the nearest.
	Unexplained bool
	// Withheld are reasons to think that one of the sets is not of the driver alone; no cause
	// is named then.
	Withheld []notice.Notice
	Split    *StiffnessSplit  // nil without a stripped sweep
	Checked  *verdict.Checked // After against the spec sheet; nil without one
	Tie      *Tie             // what would tell the explanations apart; nil with one
	Warnings []notice.Notice
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
// share cancel. The error is a [*notice.Notice].
func Compare(before, after param.Parameters, opt Options) (*Compared, error) {
	drift := UsualDrift
	if opt.Drift != nil {
		drift = *opt.Drift
	}
	if err := drift.check(); err != nil {
		return nil, err
	}
	if err := opt.Friction.check(); err != nil {
		return nil, err
	}
	b, a, warnings, err := refer.Comparable(before, after)
	if err != nil {
		return nil, err
	}
	c := &Compared{Before: before, After: after, Friction: opt.Friction, Warnings: warnings}
	c.Changes = Changes(b, a)
	f := newFrame(b, a, drift).withoutFriction(opt.Friction)
	c.Null = nullTest(f)
	if c.Explanations, c.Unexplained = explain(f); len(c.Explanations) == 0 {
		return nil, notice.New("bad-covariance", nil)
	}
	c.Explanations = addFriction(c.Explanations, opt.Friction)
	for _, e := range c.Explanations {
		c.Causes = append(c.Causes, e.Causes...)
	}
	if c.Withheld = withheld(b, a); len(c.Withheld) > 0 {
		c.Unexplained = true
		c.Warnings = append(c.Warnings, c.Withheld...)
	} else if c.Unexplained {
		c.Warnings = append(c.Warnings, *notice.New("change-unexplained", nil))
	}
	if c.RestsOnBL() && c.Null.Rejected() {
		c.Warnings = append(c.Warnings, *notice.New("motor-not-unchanged", notice.Facts{"test": c.Null}))
	}
	if opt.Stripped != nil {
		_, s, w, err := refer.Comparable(before, *opt.Stripped)
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
	c.Tie = tieOf(c)
	return c, nil
}

// withheld are the doubts about what was connected, among them that no repair makes the one
// driver of the other. A resistance in series is a cause of its own.
func withheld(before, after param.Parameters) []notice.Notice {
	all := slices.Concat(before.Doubts, after.Doubts)
	if after.Alone {
		return all
	}
	ratio := map[param.ID]float64{}
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.L1k} {
		if i, k := before.Index(id), after.Index(id); i >= 0 && k >= 0 {
			ratio[id] = after.Scaled[k] - before.Scaled[i]
		}
	}
	if n := connected.Against(ratio); n != nil && n.Code != "resistance-in-series" {
		all = append(all, *n)
	}
	return all
}

// Change is the ratio of one quantity, after to before.
type Change struct {
	ID        param.ID
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
var electrical = map[param.ID]map[param.ID]float64{
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
	add := func(x refer.Difference, id param.ID, w map[param.ID]float64, how string) {
		d, u := x.Combine(w)
		k := x.Spread.Quantile(0.975)
		out = append(out, Change{id, math.Exp(d), math.Exp(d - k*u), math.Exp(d + k*u), how})
	}
	self := func(id param.ID) map[param.ID]float64 { return map[param.ID]float64{id: 1} }
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts} {
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
		minusRes := map[param.ID]float64{}
		for id, w := range electrical[param.Res] {
			minusRes[id] = -w
		}
		add(sweep, param.Mms, electrical[param.Cmes], ByUnchangedBL)
		add(sweep, param.Cms, electrical[param.Lces], ByUnchangedBL)
		add(sweep, param.Rms, minusRes, ByUnchangedBL)
	}
	for _, id := range []param.ID{param.Res, param.Lces, param.Cmes} {
		add(sweep, id, electrical[id], "")
	}
	if sweep.At(param.L1k) >= 0 {
		add(sweep, param.L1k, self(param.L1k), "")
	}
	return out
}

// Change returns the change of one quantity.
func (c *Compared) Change(id param.ID) (Change, bool) {
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
