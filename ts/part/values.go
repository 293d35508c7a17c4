package part

import (
	"math"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// capacitance is ln C of a point as a series circuit, C = -1/(w X). Theory (12.5).
func capacitance(f float64, v complex128) (y, re, im float64) {
	return math.Log(-1 / (2 * math.Pi * f * imag(v))), 0, -1 / imag(v)
}

// inductance is ln L of a point as a series circuit, L = X/w. Theory (12.5).
func inductance(f float64, v complex128) (y, re, im float64) {
	return math.Log(imag(v) / (2 * math.Pi * f)), 0, 1 / imag(v)
}

// reactance is L of a point as a series circuit, which may be below zero. Theory (12.5).
func reactance(f float64, v complex128) (y, re, im float64) {
	w := 2 * math.Pi * f
	return imag(v) / w, 0, 1 / w
}

// resistance is the real part.
func resistance(_ float64, v complex128) (y, re, im float64) { return real(v), 1, 0 }

// value is a reading with its name; on the scale of the quantity.
type value struct {
	id param.ID
	reading
	origin param.Origin
	model  float64 // standard uncertainty from the choice of a law
}

// values reads the values of the part.
func (f *Found) values() error {
	z, f0 := f.Measured, f.Frequency
	loss, ok := read(z, f0, resistance)
	if !ok {
		return f.unreadable(f0)
	}
	var all []value
	w := 2 * math.Pi * f0
	switch f.Kind {
	case network.Capacitor:
		c, ok := read(z, f0, capacitance)
		if !ok {
			return f.unreadable(f0)
		}
		farad := math.Exp(c.value)
		tan := loss.combine(w*farad*loss.value, w*farad, c, w*farad*loss.value)
		all = []value{{id: param.C, reading: c}, {id: param.ESR, reading: loss}, {id: param.TanDelta, reading: tan, origin: param.Derived}}
	case network.Coil:
		l, ok := read(z, f0, inductance)
		if !ok {
			return f.unreadable(f0)
		}
		dc, spread, ok := directCurrent(z)
		if !ok {
			return f.unreadable(z.Freq[0])
		}
		all = []value{{id: param.L, reading: l}, {id: param.Rdc, reading: dc, model: spread}}
		if loss.value > 0 {
			q := l.combine(math.Log(w)+l.value-math.Log(loss.value), 1, loss, -1/loss.value)
			all = append(all, value{id: param.Q, reading: q, origin: param.Derived})
		}
	default:
		if !(loss.value > 0) {
			return f.unreadable(f0)
		}
		all = []value{{id: param.R, reading: loss.combine(math.Log(loss.value), 1/loss.value, loss, 0)}}
		f.wireInductance(&all)
	}
	slices.SortFunc(all, func(a, b value) int { return int(a.id) - int(b.id) })
	f.Parameters = joint(z, all)
	for _, v := range all {
		e, _ := f.Parameters.Get(v.id)
		if (v.id == param.ESR || v.id == param.TanDelta || v.id == param.Rdc) && e.Value < told*e.Std {
			f.Bounds[v.id] = max(0, e.Value) + oneSided*e.Std
		}
	}
	return nil
}

const (
	told     = 2.0   // standard uncertainties above which a value is told from none
	oneSided = 1.645 // standard uncertainties, 95 % of a normal distribution on one side (table)
)

// unreadable is the error where the curve has no value at f (Hz).
func (f *Found) unreadable(at float64) error {
	return notice.New("part-unreadable", notice.Facts{"kind": f.Kind.String(), "frequency": at}).In(f.Measured.Source)
}

// wireInductance adds the inductance of a resistor, read where it shows most; what cannot be told from none is a bound.
func (f *Found) wireInductance(all *[]value) {
	z := f.Measured
	at := z.Freq[z.Len()-1] / math.Exp(halfOctave)
	l, ok := read(z, at, reactance)
	if !ok {
		return
	}
	u := joint(z, []value{{id: param.ESR, reading: l}}).ScaledStd(0) // on a scale that is none
	if l.value < told*u {
		f.Bounds[param.L] = max(0, l.value) + oneSided*u
		return
	}
	*all = append(*all, value{id: param.L, reading: l.combine(math.Log(l.value), 1/l.value, l, 0)})
}

// joint are values with their joint uncertainty.
func joint(z measured.Impedance, all []value) param.Parameters {
	n := len(all)
	p := param.Parameters{Coverage: 1.96, Noise: mat.NewSymDense(n, nil)}
	for i, v := range all {
		p.IDs, p.Scaled, p.Origin = append(p.IDs, v.id), append(p.Scaled, v.value), append(p.Origin, v.origin)
		for k := range i + 1 {
			p.Noise.SetSym(i, k, covariance(z, v.reading, all[k].reading))
		}
		if v.model > 0 {
			c := param.Component{Source: "resistance towards direct current", Part: param.ModelPart, Own: true, Effect: make([]float64, n)}
			c.Effect[i] = v.model
			p.Components = append(p.Components, c)
		}
	}
	for _, s := range z.Systematic {
		// Clips are put on anew for each part; everything else is the same for all that is measured in one session.
		c := param.Component{Source: s.Source, Part: param.BenchPart, Own: s.Source == "contacts", Effect: make([]float64, n)}
		for i, v := range all {
			c.Effect[i] = v.effect(s.Effect)
		}
		p.Components = append(p.Components, c)
	}
	return p
}

const (
	mostRise  = 1.15 // of the resistance of a coil over that at the lowest frequency, within which it is carried on to direct current
	mostDC    = 300  // Hz, the same
	leastSpan = 4    // ratio of the frequencies of that stretch, at least
	ofRise    = 0.01 // of the rise within that stretch, how far the two laws together may be off; judgement
)

// towardsDC are the laws by which the resistance of a coil rises from direct current: losses by eddy currents and nearness of the turns with the
// square of frequency, by hysteresis of iron with frequency itself; or those of iron that the field does not pass, with its root.
// Source: circuit theory of coils with iron, from memory.
var towardsDC = []shape{
	{func(float64) float64 { return 1 }, func(f float64) float64 { return f / mostDC }, func(f float64) float64 { return f * f / (mostDC * mostDC) }},
	{func(float64) float64 { return 1 }, func(f float64) float64 { return math.Sqrt(f / mostDC) }, func(f float64) float64 { return f / mostDC }},
}

// directCurrent carries the resistance of a coil on to direct current: by the mean of two laws, weighted with
// exp(-chi2/2), theory (12.6). spread is the standard deviation between them, with what no law of the two says.
func directCurrent(z measured.Impedance) (r reading, spread float64, ok bool) {
	var at []int
	first := middle(z.Band(z.Freq[0], 1.5*z.Freq[0]))
	for i, f := range z.Freq {
		if f > leastSpan*z.Freq[0] && (f > mostDC || real(z.Z[i]) > mostRise*first) {
			break
		}
		at = append(at, i)
	}
	var all []reading
	var misfit []float64
	for _, sh := range towardsDC {
		law, wider, fits := over(z, at, sh, resistance)
		if !fits {
			continue
		}
		all = append(all, law)
		misfit = append(misfit, wider*wider*float64(len(at)-len(sh)))
	}
	if len(all) == 0 {
		return reading{}, 0, false
	}
	least := slices.Min(misfit)
	// Where not even the better law fits within the noise, the noise is larger than it says.
	scale := max(1, least/float64(len(at)-3))
	if z.Sigma == nil {
		scale = least / float64(len(at)-3)
	}
	var sum, mean float64
	weight := make([]float64, len(all))
	for i := range all {
		weight[i] = math.Exp(-(misfit[i] - least) / (2 * scale))
		sum += weight[i]
	}
	r = newReading(0, z.Len())
	for i, law := range all {
		mean += weight[i] / sum * law.value
		r.add(weight[i]/sum, law)
	}
	for k := range r.re { // of the mean of both
		r.noisyRe[k], r.noisyIm[k] = math.Sqrt(scale)*r.re[k], math.Sqrt(scale)*r.im[k]
	}
	var variance float64
	for i, law := range all {
		variance += weight[i] / sum * (law.value - mean) * (law.value - mean)
	}
	r.value = mean
	rise := real(z.Z[len(at)-1]) - mean
	return r, math.Sqrt(variance + ofRise*ofRise*rise*rise), true
}

// overFrequency fills the table.
func (f *Found) overFrequency() {
	z := f.Measured
	for _, at := range tableAt {
		if at < z.Freq[0]*math.Exp(halfOctave/2) || at > z.Freq[z.Len()-1]/math.Exp(halfOctave/2) {
			continue
		}
		size := reactance
		if f.Kind == network.Capacitor {
			size = capacitance
		}
		s, ok := read(z, at, size)
		loss, fine := read(z, at, resistance)
		if !ok || !fine {
			continue
		}
		p := joint(z, []value{{id: param.ESR, reading: s}, {id: param.Rdc, reading: loss}}) // on scales that are none
		point := Point{Frequency: at, Size: s.value, SizeStd: p.ScaledStd(0), Loss: loss.value, LossStd: p.ScaledStd(1)}
		w := 2 * math.Pi * at
		switch f.Kind {
		case network.Capacitor:
			point.Size = math.Exp(s.value)
			point.SizeStd *= point.Size
			point.Ratio = w * point.Size * loss.value
		case network.Coil:
			point.Ratio = w * s.value / loss.value
		}
		f.Table = append(f.Table, point)
	}
}

// tableAt are the frequencies of the table in Hz.
var tableAt = []float64{20, 100, 1e3, 1e4}
