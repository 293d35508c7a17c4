package estimate

import (
	"math"
	"math/cmplx"
	"strings"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// warnings says what the sweeps cannot give and what would give it, and what in
// them looks wrong.
func (in input) warnings(f *fitted.Result, best member, lost float64) []notice.Notice {
	var w []notice.Notice
	add := func(code string, facts notice.Facts) { w = append(w, *notice.New(code, facts)) }
	if f.Parameters.MeterOff != 0 {
		e, _ := f.Parameters.Get(param.Re)
		add("meter-contradicts", notice.Facts{"meter": in.cond.DCRe.Value, "sweep": e.Value})
	}
	for _, s := range in.sweeps {
		w = append(w, s.Impedance.Warnings...)
	}
	re := math.Exp(f.Parameters.Scaled[f.Parameters.Index(param.Re)])
	if off := math.Abs(best.meterOff); off > 2 {
		add("meter-disagrees", notice.Facts{"meter": in.cond.DCRe.Value, "sweep": math.Exp(best.x[best.prob.lay.re]), "times": off / 2})
	}
	if lowest, surely, at := in.lowest(); surely < 0.97*re {
		add("below-re", notice.Facts{"impedance": lowest, "frequency": at, "re": re})
	}
	if at := in.outliers(); len(at) > 0 {
		add("outliers", notice.Facts{"outliers": len(at), "points": f.Quality.Points, "frequencies": at})
	}
	limit := poorFit
	if best.misfit.local.any() {
		limit = poorLocalFit
	}
	if miss := f.Quality.ResidualRMSPercent / 100; miss > limit {
		add("poor-fit", notice.Facts{"rms": miss})
	}
	if w := best.prob.form.smooth; w > 0 {
		add("model-smoothed", notice.Facts{"octaves": w})
	}
	if f.Second != nil {
		w = append(w, *f.Second.Notice())
	}
	if lost > lostWeight {
		add("no-minimum-found", notice.Facts{"weight": lost})
	}
	if e, _ := f.Parameters.Get(param.Fs); in.repeated && e.Budget.Repeat > unlikeRepeats*e.Value {
		add("repeats-differ", notice.Facts{"scatter": unlikeRepeats})
	}
	if apart := farApart(f.Methods); len(apart) > 0 {
		add("mass-methods-disagree", notice.Facts{"methods": apart, "joint": f.Methods[len(f.Methods)-1]})
	}
	for _, load := range in.loads {
		if share := massShareOf(load, f.Parameters); share < leastMassShare {
			add("mass-too-small", notice.Facts{"mass": load.Value, "share": share})
		}
	}
	if len(in.inputSources) > 0 {
		id, std := inputsShare(f.Parameters)
		add("channels-not-compared", notice.Facts{"quantity": id.String(), "std": std})
	}
	if q := in.leakQ(best); q < mostLeakQ {
		add("box-leaks", notice.Facts{"q": q})
	}
	if std := assumedFrequency(f.Parameters); std > 0 {
		add("frequency-error-assumed", notice.Facts{"std": std})
	}
	switch {
	case !in.hasMms():
		add("needs-added-mass", nil)
	case f.Parameters.Index(param.Vas) < 0:
		add("needs-diameter", nil)
	}
	return w
}

// inputsShare returns which of Re, Fs and the Qs suffers most from the doubt whether the inputs are
// equal, and the relative standard uncertainty that it adds there.
func inputsShare(p param.Parameters) (worst param.ID, most float64) {
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
		i, sum := p.Index(id), 0.0
		for _, c := range p.Components {
			if strings.HasPrefix(c.Source, measured.ChannelSource) {
				sum += param.Sq(c.Effect[i])
			}
		}
		if std := math.Sqrt(sum); std > most {
			worst, most = id, std
		}
	}
	return worst, most
}

// assumedFrequency returns the relative standard uncertainty that frequencies of which nothing is said add to Fs, 0 where
// it is less than a tenth of its variance.
func assumedFrequency(p param.Parameters) float64 {
	i := p.Index(param.Fs)
	for _, c := range p.Components {
		if std := math.Abs(c.Effect[i]); c.Source == (measured.FrequencyError{Assumed: true}).Source() && std*std > 0.1*param.Sq(p.ScaledStd(i)) {
			return std
		}
	}
	return 0
}

// lowest returns the smallest |Z| (ohm) as it was measured, what it is at most without its noise, and its frequency (Hz).
func (in input) lowest() (z, least, f float64) {
	least = math.Inf(1)
	for k, s := range in.sweeps {
		for i, v := range s.Impedance.Z {
			m := cmplx.Abs(v) + 4*in.scale[k]/in.obs[k].weight[i]
			if m < least {
				least, z, f = m, cmplx.Abs(v), s.Impedance.Freq[i]
			}
		}
	}
	return z, least, f
}

// outliers returns the frequencies (Hz) of the points that count less.
func (in input) outliers() []float64 {
	var at []float64
	for k, t := range in.trust {
		for i, v := range t {
			if v < 1 {
				at = append(at, in.sweeps[k].Impedance.Freq[i])
			}
		}
	}
	return at
}

const (
	// poorFit is the relative rms of the residuals above which the result is doubted;
	// real sweeps of one driver stay below 1 or 2 percent.
	poorFit = 0.05
	// poorLocalFit is the same where the misfit is known to be local: it is in the uncertainty then, and measured drivers
	// leave 4 to 5.5 percent over four decades of frequency. What misses more has a fault, and no local discrepancy is tried.
	poorLocalFit = 0.08
	// unlikeRepeats is the relative uncertainty of Fs between repeats above which
	// they are hardly repeats: one session on one bench leaves 0.2 % (common
	// practice).
	unlikeRepeats = 0.02
)

// A leak is named when it is surelyLeaks standard uncertainties from none, and its quality factor below mostLeakQ: left out
// it would make Vas too low by a few percent. Test boxes that are sealed lie above 20 (common practice). docs/decisions/0015.
const (
	surelyLeaks = 3
	mostLeakQ   = 15
)

// worthSaying is the relative difference of two masses that a repairer would care
// about.
const worthSaying = 0.01

// farApart returns those of the ways to the moving mass that differ from the joint fit,
// which is the last, by more than twice what noise and model allow, and by enough to
// matter; the mass on the cone is the same for all.
func farApart(ways []fitted.MassMethod) []fitted.MassMethod {
	if len(ways) == 0 {
		return nil
	}
	var apart []fitted.MassMethod
	joint := ways[len(ways)-1]
	for _, m := range ways[:len(ways)-1] {
		d := math.Abs(m.Value - joint.Value)
		if d > 2*math.Hypot(m.SweepStd, joint.SweepStd) && d > worthSaying*joint.Value {
			apart = append(apart, m)
		}
	}
	return apart
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
// starts from it.
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
	return notice.New("mass-without-effect", notice.Facts{"mass": load.Value})
}
