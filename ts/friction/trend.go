package friction

import (
	"math"
	"math/cmplx"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
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
		// The form of the motor is to first order: what it misses is taken to be of second order in what moves. Judged on seeds
		// 2016 to 2034 of docs/validation-friction.md, where stiffness moves by up to 65 %.
		missed := param.Sq(now - softest)
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
	ratioStd        float64 // of stiffness over mass, relative
	travel          float64 // m, peak, at the resonance
}

// apart fits mass, stiffness and losses to the mechanical impedance of one sweep around its resonance,
//
//	Zm = R + j w M - j K/w
//
// with the weight that a scatter of the impedance gives it, so that nearly all comes from where the cone moves most.
func (p played) apart() (apart, bool) {
	q, g := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
	type tone struct {
		w, weight float64
		zm        complex128
	}
	var tones []tone
	each := func(t tone, add func(i int, c complex128)) {
		add(0, complex(0, t.w))
		add(1, complex(0, -1/t.w))
		add(2, 1)
	}
	for _, f := range p.drive.Freq {
		if math.Abs(math.Log2(f/p.fs)) > nearResonance || p.outside(f) {
			continue
		}
		zm, _ := p.moved(f)
		noise := cmplx.Abs(zm*zm*p.at(p.z, f)) / (p.bl * p.bl)
		t := tone{2 * math.Pi * f, 1 / (noise * noise), zm}
		tones = append(tones, t)
		each(t, func(i int, a complex128) {
			g.SetVec(i, g.AtVec(i)+t.weight*real(cmplx.Conj(a)*zm))
			each(t, func(j int, b complex128) {
				if j >= i {
					q.SetSym(i, j, q.At(i, j)+t.weight*real(cmplx.Conj(a)*b))
				}
			})
		})
	}
	var c mat.Cholesky
	var x mat.VecDense
	var v mat.SymDense
	if len(tones) < fewestTones || !c.Factorize(q) || c.SolveVecTo(&x, g) != nil || c.InverseTo(&v) != nil {
		return apart{}, false
	}
	chi2 := 0.0
	for _, t := range tones {
		off := t.zm
		each(t, func(i int, a complex128) { off -= complex(x.AtVec(i), 0) * a })
		chi2 += t.weight * (real(off)*real(off) + imag(off)*imag(off))
	}
	scatter := chi2 / float64(2*len(tones)-3)
	m, k := x.AtVec(0), x.AtVec(1)
	if !(m > 0) || !(k > 0) {
		return apart{}, false
	}
	fs := math.Sqrt(k/m) / (2 * math.Pi)
	_, speed := p.moved(fs)
	return apart{mass: m, stiffness: k,
		ratioStd: math.Sqrt(max(0, scatter*(v.At(0, 0)/(m*m)+v.At(1, 1)/(k*k)-2*v.At(0, 1)/(m*k)))), travel: speed / (2 * math.Pi * fs)}, speed > 0
}
