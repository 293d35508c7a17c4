package plot

import (
	"math"
	"math/cmplx"

	"conewright/ts/driver"
)

// The figures of the tests: a driver of our own before and after a repair. The
// curves come from ts, the noise is a fixed wobble.

var (
	tired    = driver.Driver{Re: 5.6, BL: 8, Mms: 0.030, Cms: 0.9e-3, Rms: 1.6, Coil: driver.LossyCoil{K: 0.012, N: 0.7}}
	restored = driver.Driver{Re: 5.62, BL: 8, Mms: 0.0305, Cms: 0.62e-3, Rms: 1.9, Coil: driver.LossyCoil{K: 0.012, N: 0.7}}
)

func grid(lo, hi float64, n int) []float64 {
	f := make([]float64, n)
	for i := range f {
		f[i] = lo * math.Pow(hi/lo, float64(i)/float64(n-1))
	}
	return f
}

func curves(d driver.Driver, f []float64) (mag, phase []float64) {
	for _, v := range f {
		z := d.Impedance(v)
		mag = append(mag, cmplx.Abs(z))
		phase = append(phase, cmplx.Phase(z)*180/math.Pi)
	}
	return mag, phase
}

func wobble(y []float64, by float64) []float64 {
	out := make([]float64, len(y))
	for i, v := range y {
		out[i] = v * (1 + by*math.Sin(float64(i*i)))
	}
	return out
}

func exampleSweeps() Chart {
	f := grid(8, 2000, 300)
	mb, pb := curves(tired, f)
	ma, pa := curves(restored, f)
	residual := make([]float64, len(f))
	for i := range residual {
		residual[i] = 0.3 * math.Sin(float64(i*i))
	}
	peak := func(d driver.Driver) float64 { return cmplx.Abs(d.Impedance(d.Fs())) }
	return Chart{
		About: About{Title: "Impedance before and after", Desc: "Resonance moves from 30.6 Hz to 36.6 Hz, above the limits of 27.9 to 34.1 Hz."},
		X:     Axis{Label: "frequency, Hz", Log: true},
		Panels: []Panel{
			{
				Y: Axis{Label: "impedance, Ω", Zero: true},
				Series: []Series{
					{Role: Before, X: f, Y: wobble(mb, 0.01), Points: true},
					{Role: After, X: f, Y: wobble(ma, 0.01), Points: true},
					{Name: "before", Role: Before, X: f, Y: mb, Line: true},
					{Name: "after", Role: After, X: f, Y: ma, Line: true},
				},
				XLimits: []Limits{{Name: "Fs limits 27.9 to 34.1 Hz", Lo: 27.9, Hi: 34.1}},
				Markers: []Marker{
					{Name: "30.6 Hz", Role: Before, X: tired.Fs(), Y: peak(tired), Drop: true},
					{Name: "36.6 Hz", Role: After, X: restored.Fs(), Y: peak(restored), Drop: true},
				},
			},
			{
				Y: Axis{Label: "phase, degrees", Angle: true}, Height: 130,
				Series: []Series{
					{Name: "before", Role: Before, X: f, Y: pb, Line: true},
					{Name: "after", Role: After, X: f, Y: pa, Line: true},
				},
				Rules: []Rule{{Y: 0}},
			},
			{
				Y: Axis{Label: "measured less fitted, % of impedance"}, Height: 80,
				Series: []Series{{Role: After, X: f, Y: residual, Points: true}},
				Rules:  []Rule{{Y: 0}},
			},
		},
	}
}

func exampleMassLine() Chart {
	m := []float64{0, 10, 20, 30, 40}
	var y, e, x, lo, hi []float64
	slope, mms := 0.62e-3, 0.0305
	for i, g := range m {
		v := slope * (mms + g/1000) * 1e6
		y = append(y, v*(1+0.004*math.Sin(float64(i*i+1))))
		e = append(e, 0.012*v)
	}
	var fit []float64
	for g := -36.0; g <= 45; g += 3 {
		v := slope * (mms + g/1000) * 1e6
		u := 0.25 + 0.012*math.Abs(g-20)
		x, fit, lo, hi = append(x, g), append(fit, v), append(lo, v-u), append(hi, v+u)
	}
	return Chart{
		About: About{Title: "Mass line", Desc: "Five masses; the line meets zero at minus 30.5 g, the moving mass."},
		X:     Axis{Label: "added mass, g"},
		Panels: []Panel{{
			Y:     Axis{Label: "1/ω², ms²", Zero: true},
			Bands: []Band{{Role: After, X: x, Lo: lo, Hi: hi}},
			Series: []Series{
				{Name: "slope: compliance 0.620 mm/N", Role: After, X: x, Y: fit, Line: true},
				{Name: "measured", Role: Plain, X: m, Y: y, YErr: e, Points: true},
			},
			Markers: []Marker{{Name: "moving mass 30.5 g", Role: After, X: -30.5, Y: 0}},
			Rules:   []Rule{{Y: 0}},
		}},
	}
}

func exampleGauges() Gauges {
	inf := math.Inf(1)
	return Gauges{
		About: About{Title: "Values and limits", Desc: "Fs is out of its limits, the other values are inside."},
		Rows: []Gauge{
			{Name: "Re", Text: "5.62 ± 0.02 Ω", Now: Reading{5.62, 5.58, 5.66}, Prior: &Reading{5.6, 5.57, 5.63}, Limits: Limits{Lo: 5.32, Hi: 5.88}, LoText: "5.32", HiText: "5.88 Ω", Verdict: "in spec"},
			{Name: "Fs", Text: "36.6 ± 0.1 Hz", Now: Reading{36.6, 36.4, 36.8}, Prior: &Reading{30.6, 30.4, 30.8}, Limits: Limits{Lo: 27.9, Hi: 34.1}, LoText: "27.9", HiText: "34.1 Hz", Verdict: "out of spec"},
			{Name: "Qts", Text: "0.512 ± 0.008", Now: Reading{0.512, 0.496, 0.528}, Limits: Limits{Lo: -inf, Hi: 0.52}, HiText: "0.52", Verdict: "cannot tell yet"},
			{Name: "Cms", Text: "0.31 ± 0.01 mm/N", Now: Reading{0.31, 0.29, 0.33}, Limits: Limits{Lo: 0.5, Hi: 0.74}, LoText: "0.50", HiText: "0.74 mm/N", Verdict: "out of spec"},
		},
	}
}

func exampleIntervals() Intervals {
	return Intervals{
		About: About{Title: "What changed", Desc: "The compliance fell by 31 percent; the moving mass did not change."},
		X:     Axis{Label: "change, %"},
		Rows: []Interval{
			{Name: "compliance", Text: "−31 % (−34 to −28)", Role: After, Value: Reading{-31, -34, -28}},
			{Name: "moving mass", Text: "+1.6 % (−0.4 to 3.6)", Role: After, Value: Reading{1.6, -0.4, 3.6}},
			{Name: "losses", Text: "+19 % (8 to 30)", Role: After, Value: Reading{19, 8, 30}, Limits: &Limits{Lo: -20, Hi: 20}, Verdict: "cannot tell yet"},
			{Name: "coil resistance", Text: "+0.4 % (−0.3 to 1.1)", Role: After, Value: Reading{0.4, -0.3, 1.1}},
		},
	}
}

func exampleBatch() Chart {
	var x, y, e []float64
	for i := 0; i < 48; i++ {
		x = append(x, float64(i+1))
		y = append(y, 31+0.02*float64(i)+0.8*math.Sin(float64(i*i)))
		e = append(e, 0.25)
	}
	y[30] = 35.2
	return Chart{
		About: About{Title: "Fs over the batch", Desc: "48 units; number 31 is above the limit; the batch drifts upwards."},
		X:     Axis{Label: "unit, in order of measurement", Whole: true},
		Panels: []Panel{{
			Y: Axis{Label: "Fs, Hz"},
			Series: []Series{
				{Role: Plain, X: x, Y: y, YErr: e, Points: true},
				{Name: "drift", Role: Aside, X: []float64{1, 48}, Y: []float64{31, 31.9}, Line: true},
			},
			YLimits: []Limits{{Name: "upper limit 34.1 Hz", Lo: 27.9, Hi: 34.1}},
			Markers: []Marker{{Name: "unit-31", Role: Before, X: 31, Y: 35.2}},
		}},
	}
}

// exampleCrowd has curves so close that names need leaders.
func exampleCrowd() Chart {
	f := grid(10, 1760, 180)
	p := Panel{Y: Axis{Label: "impedance, Ω", Zero: true}}
	for i, name := range []string{"nothing added", "10 g added", "20 g added", "30 g added"} {
		var y []float64
		for _, v := range f {
			y = append(y, cmplx.Abs(tired.LoadedImpedance(v, 0.010*float64(i), 0)))
		}
		p.Series = append(p.Series, Series{Name: name, Role: Role(i % 4), X: f, Y: y, Line: true})
	}
	return Chart{About: About{Title: "Four masses", Desc: "The resonance falls as mass is added."}, X: Axis{Label: "frequency, Hz", Log: true}, Panels: []Panel{p}}
}

func exampleFigures() map[string]Figure {
	return map[string]Figure{
		"sweeps": exampleSweeps(), "massline": exampleMassLine(), "gauges": exampleGauges(),
		"intervals": exampleIntervals(), "batch": exampleBatch(), "crowd": exampleCrowd(),
	}
}
