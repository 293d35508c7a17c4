package estimate

import (
	"fmt"
	"math"
	"math/cmplx"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// warnings says what the sweeps cannot give and what would give it, and what in
// them looks wrong.
func (in input) warnings(f *fitted.Result, best member, lost float64) []param.Warning {
	var w []param.Warning
	for _, s := range in.sweeps {
		w = append(w, s.Impedance.Warnings...)
	}
	add := func(code, hint, format string, args ...any) {
		w = append(w, param.Warning{Code: code, Message: fmt.Sprintf(format, args...), Hint: hint})
	}
	re := math.Exp(f.Parameters.Scaled[f.Parameters.Index(param.Re)])
	if off := best.meterOff; math.Abs(off) > 2 {
		before := math.Exp(best.x[best.prob.lay.re])
		hint := "measure the resistance of the leads and take it off the bench or the meter; let the coil cool down before reading"
		if off > 0 {
			hint = "check resistor value, wiring and channels: the sweep reads low, or the meter reading holds its own leads"
		}
		add("meter-disagrees", hint, "the meter says Re = %.4g ohm, the sweep %.4g ohm: %.1f times what their uncertainties allow",
			in.cond.DCRe.Value, before, math.Abs(off)/2)
	}
	if lowest, at := in.lowest(); lowest < 0.97*re {
		add("below-re", "a passive driver cannot do that: check channels, gains and calibration, and the level at low frequencies",
			"|Z| falls to %.4g ohm at %.4g Hz, below Re = %.4g ohm", lowest, at, re)
	}
	if n := f.Quality.Outliers; n > 0 {
		add("outliers", "hum, a contact that crackles, or a slip in a table: measure again if there are many, or if one sits on the peak",
			"%s counted less, being far off the curve: at %s", pointsOf(n, f.Quality.Points), in.outlierList())
	}
	if miss := f.Quality.ResidualRMSPercent; miss > poorFit {
		add("poor-fit", "look at the curve: is it one driver, without a box or a filter, and was nothing touched during the sweep? The values are no better than that",
			"the curve lies %.2g %% rms off any driver's", miss)
	}
	if lost > lostWeight {
		add("no-minimum-found", "measure more frequencies around the peak and below it, and with phase; until then take the intervals as too narrow",
			"models with %.0f %% of the weight came to no minimum and were left out", 100*lost)
	}
	if e, _ := f.Parameters.Get(param.Fs); in.repeated && e.Budget.Repeat > unlikeRepeats*e.Value {
		add("repeats-differ", "check that all files are of the same driver, with nothing on the cone, and that it was not run in or warmed up in between",
			"the repeats differ: their resonances scatter by more than %.0f %%", 100*unlikeRepeats)
	}
	if far := farApart(f.Methods); far != "" {
		add("mass-methods-disagree", "the suspension creeps, or moved between the sweeps; the joint fit allows for both. Check that the mass was fixed firmly and repeat both sweeps without touching the driver",
			"%s", far)
	}
	for _, load := range in.loads {
		if share := massShareOf(load, f.Parameters); share < leastMassShare {
			add("mass-too-small", "check that it was on the cone in that sweep, and fixed firmly; half to one moving mass is usual",
				"the added mass of %.3g g is only %.2g %% of the moving mass that was found, so that it tells little", 1e3*load.Value, 100*share)
		}
	}
	switch {
	case !in.hasMms():
		add("needs-added-mass", "fix a known mass of half to one moving mass to the cone, near the coil, and sweep again",
			"one curve in free air cannot give Mms, Cms, Rms, BL or Vas: any force factor fits it")
	case f.Parameters.Index(param.Vas) < 0:
		add("needs-diameter", "measure the diameter from the middle of the surround to the middle of the opposite surround",
			"Vas and the efficiency need the area of the cone")
	}
	return w
}

// lowest returns the smallest |Z| (ohm) that is not noise, and its frequency (Hz).
func (in input) lowest() (z, f float64) {
	z = math.Inf(1)
	for k, s := range in.sweeps {
		for i, v := range s.Impedance.Z {
			m := cmplx.Abs(v) + 4*in.scale[k]/in.obs[k].weight[i]
			if m < z {
				z, f = m, s.Impedance.Freq[i]
			}
		}
	}
	return z, f
}

// outlierList names the frequencies of the first few outliers.
func (in input) outlierList() string {
	const most = 5
	text, n := "", 0
	for k, t := range in.trust {
		for i, v := range t {
			if v == 1 {
				continue
			}
			if n++; n > most {
				return text + ", ..."
			}
			if n > 1 {
				text += ", "
			}
			text += fmt.Sprintf("%.4g Hz", in.sweeps[k].Impedance.Freq[i])
		}
	}
	return text
}

const (
	// poorFit is the misfit in percent rms above which the result is doubted in
	// words; real sweeps of one driver stay below 1 or 2 percent.
	poorFit = 5.0
	// unlikeRepeats is the relative uncertainty of Fs between repeats above which
	// they are hardly repeats: one session on one bench leaves 0.2 % (common
	// practice).
	unlikeRepeats = 0.02
)

// worthSaying is the relative difference of two masses that a repairer would care
// about.
const worthSaying = 0.01

// farApart says which of the ways to the moving mass differ from the joint fit
// by more than twice what noise and model allow, and by enough to matter; the mass
// on the cone is the same for all.
func farApart(ways []fitted.MassMethod) string {
	if len(ways) == 0 {
		return ""
	}
	joint := ways[len(ways)-1]
	text := ""
	for _, m := range ways[:len(ways)-1] {
		d := math.Abs(m.Value - joint.Value)
		if d > 2*math.Hypot(m.SweepStd, joint.SweepStd) && d > worthSaying*joint.Value {
			if text != "" {
				text += ", and "
			}
			text += fmt.Sprintf("the moving mass by %s is %.4g g, by the %s %.4g g", m.Name, 1e3*m.Value, joint.Name, 1e3*joint.Value)
		}
	}
	return text
}

// An added mass that is a smaller part of the moving mass deserves a doubt, or
// is none at all: common practice is half to one moving mass.
const (
	leastMassShare = 0.1
	noMassShare    = 0.01
)

// massShareOf returns the added mass in parts of the moving mass that was found;
// infinite for other loads.
func massShareOf(load measured.Load, p param.Parameters) float64 {
	mms, ok := p.Get(param.Mms)
	if load.Kind != measured.AddedMass || !ok {
		return math.Inf(1)
	}
	return load.Value / mms.Value
}

// massOffCone refuses a sweep whose mass did not move the peak, before the fit
// loses its way in it.
func (in *observed) massOffCone() error {
	for _, s := range in.sweeps {
		if s.Load.Kind != measured.AddedMass {
			continue
		}
		if r := in.outline.Fs / measured.OutlineOf(s.Impedance).Fs; r*r-1 < noMassShare {
			return massWithoutEffect(s.Load)
		}
	}
	return nil
}

// massWithoutEffect refuses loads that are nothing beside the mass that was found.
func (in *observed) massWithoutEffect(p param.Parameters) error {
	for _, load := range in.loads {
		if !(massShareOf(load, p) >= noMassShare) {
			return massWithoutEffect(load)
		}
	}
	return nil
}

func massWithoutEffect(load measured.Load) error {
	return &param.Refusal{Code: "mass-without-effect",
		Message: fmt.Sprintf("the added mass of %.3g g did not bring the resonance down, so that the sweep cannot give the moving mass", 1e3*load.Value),
		Advice:  "check that the mass was on the cone in that sweep, and that the files were not exchanged"}
}

// pointsOf returns how many of all points there are, with the verb that follows.
func pointsOf(n, all int) string {
	if n == 1 {
		return fmt.Sprintf("1 of %d points is", all)
	}
	return fmt.Sprintf("%d of %d points are", n, all)
}
