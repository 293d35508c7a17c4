package friction

import (
	"math"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Trend is how stiffness and force factor follow the level, over the levels of the sweeps.
type Trend struct {
	Sweeps   int
	From, To float64 // V rms at the terminals at the resonance
	// Travel is the excursion (m, peak) at the resonance at From and To; zero where the force factor is not known.
	Travel                 [2]float64
	Stiffness, ForceFactor Slope
}

// Slope is a straight line of the logarithm of a quantity over the level.
type Slope struct {
	PerVolt, PerVoltStd   float64 // 1/V
	PerMetre, PerMetreStd float64 // 1/m of excursion at the resonance; zero where the force factor is not known
}

// How well a sweep tells its own stiffness and force factor beside another of the same driver, relative standard deviations:
// twice what is usual between sweeps in a row (simulations, docs/validation-friction.md).
const (
	stiffnessWithin   = 0.006
	forceFactorWithin = 0.008
	// The form of the force factor is to first order. What it misses grows with what the stiffness moves by, and with that over the
	// width of the resonance, which is bent by it: so much of the product. Judged on seeds 2016 to 2051 of
	// docs/validation-friction.md, where stiffness moves by up to 65 % and Qms is up to 16.
	motorMisses = 0.25
	// lowestMotor is where a force factor that falls with the square of the excursion is held: the form ends long before.
	lowestMotor = 0.1
)

// TrendOf returns the trend of sweeps in free air at several levels with known volts; false where there are none. The fit is
// that of the same sweeps. Mass, and the coil without its motion, are taken as the same at all levels. Theory (9.12).
func TrendOf(sweeps []measured.Sweep, f *fitted.Result) (Trend, bool) {
	bl, known, ok := forceFactor(f.Parameters)
	if !ok {
		return Trend{}, false
	}
	return trendOf(playedIn(sweeps, f, bl.Value), known)
}

// trendOf is [TrendOf] of sweeps, the softest first; known says whether their force factor was measured.
func trendOf(all []played, known bool) (Trend, bool) {
	b, bStd, ok := unevenMotor(all)
	if !ok {
		return Trend{}, false
	}
	var volts, travels []float64
	var stiffness, motor []told
	softest := 0.0 // what stiffness begins with
	for _, p := range all {
		a, ok := p.apart()
		if !ok {
			continue
		}
		volts, travels = append(volts, p.volts), append(travels, a.travel)
		now := math.Log(a.stiffness / a.mass)
		if stiffness == nil {
			softest = now
		}
		x := a.travel * a.travel / 4
		missed := motorMisses * param.Sq(now-softest) * a.q
		motor = append(motor, told{math.Log(max(lowestMotor, 1+b*x)), math.Hypot(math.Hypot(bStd*x, forceFactorWithin), missed)})
		stiffness = append(stiffness, told{now, math.Hypot(a.ratioStd, stiffnessWithin)})
	}
	n := len(volts)
	if n < 2 || volts[n-1] < anotherLevel*volts[0] {
		return Trend{}, false
	}
	t := Trend{Sweeps: n, From: volts[0], To: volts[n-1]}
	t.Stiffness.PerVolt, t.Stiffness.PerVoltStd = line(volts, stiffness)
	t.ForceFactor.PerVolt, t.ForceFactor.PerVoltStd = line(volts, motor)
	if known {
		t.Travel = [2]float64{travels[0], travels[n-1]}
		t.Stiffness.PerMetre, t.Stiffness.PerMetreStd = line(travels, stiffness)
		t.ForceFactor.PerMetre, t.ForceFactor.PerMetreStd = line(travels, motor)
	}
	return t, true
}

// told is a number with its standard uncertainty.
type told struct{ value, std float64 }

// line returns the slope of the straight line through y over x, by weighted least squares. Where the points lie farther from it
// than their uncertainties, that is what counts.
func line(x []float64, y []told) (slope, std float64) {
	var w, wx, wy float64
	for i, p := range y {
		g := 1 / (p.std * p.std)
		w, wx, wy = w+g, wx+g*x[i], wy+g*p.value
	}
	var xx, xy float64
	for i, p := range y {
		g := 1 / (p.std * p.std)
		xx += g * (x[i] - wx/w) * (x[i] - wx/w)
		xy += g * (x[i] - wx/w) * (p.value - wy/w)
	}
	slope = xy / xx
	chi2 := 0.0
	for i, p := range y {
		off := (p.value - wy/w - slope*(x[i]-wx/w)) / p.std
		chi2 += off * off
	}
	excess := 1.0
	if n := len(x); n > 2 {
		excess = max(1, chi2/float64(n-2))
	}
	return slope, math.Sqrt(excess / xx)
}

// apart is one sweep by itself, each in parts of BL^2 of the fit.
type apart struct {
	mass, stiffness float64 // kg, N/m
	q               float64 // of the resonance, by its losses alone
	ratioStd        float64 // of stiffness over mass, relative
	travel          float64 // m, peak, at the resonance
}

// apart fits mass, stiffness and losses to the mechanical impedance of one sweep around its resonance,
//
//	Zm = R + j w M - j K/w
func (p played) apart() (apart, bool) {
	points := p.seenNear(func(w, _ float64, _ complex128) []complex128 { return []complex128{complex(0, w), complex(0, -1/w), 1} })
	x, cov, ok := solve(points, 3)
	if !ok || len(points) < fewestTones || !(x[0] > 0) || !(x[1] > 0) || !(x[2] > 0) {
		return apart{}, false
	}
	m, k := x[0], x[1]
	fs := math.Sqrt(k/m) / (2 * math.Pi)
	_, speed := p.moved(fs)
	return apart{mass: m, stiffness: k, q: math.Sqrt(k*m) / x[2],
		ratioStd: math.Sqrt(max(0, cov.At(0, 0)/(m*m)+cov.At(1, 1)/(k*k)-2*cov.At(0, 1)/(m*k))), travel: speed / (2 * math.Pi * fs)}, speed > 0
}
