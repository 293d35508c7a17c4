// Package change compares two measurements of one driver, before and after a
// repair: how much each value changed, which causes explain it, and which part of the
// suspension changed.
package change

import (
	"math"
	"slices"

	"conewright/ts/connected"
	"conewright/ts/internal/refer"
	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

// Options holds what a comparison may know beside the two sets.
type Options struct {
	Spec     *verdict.Spec     // judge the driver after the repair as well
	Stripped *param.Parameters // the driver with the old surround off and the new one not yet on
	Friction Friction          // as the harmonics of the sweeps show it
	// SameSession says that both were measured in one session: what that session did to
	// the driver is in both.
	SameSession bool
	// Level is the ratio of the levels at the driver, after to before, where they are known in volts; 0: unknown.
	Level float64
	// Direct is what the curves of both show by themselves of the change of Re; nil: nothing.
	Direct *param.Direct
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
	if err := opt.Friction.check(); err != nil {
		return nil, err
	}
	if err := checkLevel(opt.Level); err != nil {
		return nil, err
	}
	b, a, warnings, err := refer.Comparable(before, after)
	if err != nil {
		return nil, err
	}
	if opt.SameSession {
		b, a = repeat.OneSession(b, true), repeat.OneSession(a, true)
	} else {
		b, a = atRoom(b), atRoom(a)
	}
	a = atLevel(a, opt.Level)
	c := &Compared{Before: before, After: after, Friction: opt.Friction, Warnings: warnings}
	c.Changes = Changes(b, a, opt.Direct)
	f := newFrame(b, a, opt.Direct).withoutFriction(opt.Friction)
	c.Null = nullTest(f)
	if c.Explanations, c.Unexplained = explain(f); len(c.Explanations) == 0 {
		return nil, notice.New("bad-covariance", nil)
	}
	c.Explanations = addFriction(c.Explanations, opt.Friction)
	for _, e := range c.Explanations {
		c.Causes = append(c.Causes, e.Causes...)
	}
	c.followLead()
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
		c.Split = splitStiffness(b, s, a)
	}
	if opt.Spec != nil {
		judged := after
		judged.Doubts = c.Withheld
		if c.Checked, err = verdict.Check(judged, *opt.Spec); err != nil {
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
	if after.OneDriver {
		return all
	}
	ratio := map[param.ID]float64{}
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.L1k, param.Mms} {
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
	Low, High float64 // 95 %
	How       string  // "added-mass", "BL unchanged", or "" for what the sweeps give directly
	// Sweeps is what the sweeps say by themselves: without the explanation, and without how the bench
	// repeats.
	Sweeps Ratio
}

// Ratio is a ratio with its 95 % interval.
type Ratio struct{ Ratio, Low, High float64 }

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
// which needs no added mass at all. Direct is what the curves show by themselves of Re, or nil.
func Changes(before, after param.Parameters, direct *param.Direct) []Change {
	subtract := func(ids []param.ID) [2]refer.Difference {
		return [2]refer.Difference{refer.Subtract(after, before, ids).With(direct), refer.Subtract(after.Alone(), before.Alone(), ids).With(direct)}
	}
	both := subtract(refer.Common(before, after, param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.L1k))
	sweep := both[0]
	var out []Change
	add := func(x [2]refer.Difference, id param.ID, w map[param.ID]float64, how string) {
		var r [2]Ratio
		for i := range r {
			d, u, dist := x[i].Combine(w)
			k := dist.Quantile(1 - stat.Tail)
			r[i] = Ratio{math.Exp(d), math.Exp(d - k*u), math.Exp(d + k*u)}
		}
		out = append(out, Change{id, r[0].Ratio, r[0].Low, r[0].High, how, r[1]})
	}
	self := func(id param.ID) map[param.ID]float64 { return map[param.ID]float64{id: 1} }
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts} {
		if sweep.At(id) >= 0 {
			add(both, id, self(id), "")
		}
	}
	if moving := refer.Common(before, after, param.Mms, param.Cms, param.Rms, param.BL); len(moving) == 4 {
		x := subtract(moving)
		for _, id := range moving {
			add(x, id, self(id), ByAddedMass)
		}
	} else {
		minusRes := map[param.ID]float64{}
		for id, w := range electrical[param.Res] {
			minusRes[id] = -w
		}
		add(both, param.Mms, electrical[param.Cmes], ByUnchangedBL)
		add(both, param.Cms, electrical[param.Lces], ByUnchangedBL)
		add(both, param.Rms, minusRes, ByUnchangedBL)
	}
	for _, id := range []param.ID{param.Res, param.Lces, param.Cmes} {
		add(both, id, electrical[id], "")
	}
	if sweep.At(param.L1k) >= 0 {
		add(both, param.L1k, self(param.L1k), "")
	}
	return out
}

// followLead lets the changes of what the leading explanation is about say the same as that: with
// what it leaves unchanged, a value is known better than by itself.
func (c *Compared) followLead() {
	lead := c.Explanations[0]
	direct := map[CauseID]param.ID{SuspensionStiffer: param.Cms, SuspensionSofter: param.Cms, MassAdded: param.Mms, MassMissing: param.Mms,
		LossesUp: param.Rms, LossesDown: param.Rms, SeriesResistance: param.Re}
	for _, cause := range lead.Causes {
		if _, ok := direct[cause.ID]; !ok || c.Unexplained {
			return // with a motor or a coil in it, the values follow from more than one cause
		}
	}
	ratio := func(percent float64) float64 { return 1 + percent/100 }
	for _, cause := range lead.Causes {
		for i := range c.Changes {
			ch := &c.Changes[i]
			switch {
			case ch.ID != direct[cause.ID]:
			case ch.ID == param.Cms:
				ch.Ratio, ch.Low, ch.High = 1/ratio(cause.Percent), 1/ratio(cause.High), 1/ratio(cause.Low)
			default:
				ch.Ratio, ch.Low, ch.High = ratio(cause.Percent), ratio(cause.Low), ratio(cause.High)
			}
		}
	}
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
