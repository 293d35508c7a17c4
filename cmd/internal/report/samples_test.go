package report

import (
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/lot"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/ring"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
)

// The reports of the rendering tests are made by hand, one for each state, so
// that they change only when the rendering does. The drivers are invented.

var (
	sampleTired = driver.Driver{Re: 5.58, BL: 8, Mms: 0.030, Cms: 0.9e-3, Rms: 1.6, Coil: driver.LossyCoil{K: 0.012, N: 0.7}, Creep: 0.05}
	sampleStiff = driver.Driver{Re: 5.61, BL: 8, Mms: 0.0303, Cms: 0.62e-3, Rms: 1.9, Coil: driver.LossyCoil{K: 0.012, N: 0.7}, Creep: 0.05}
)

// sampleSide is a side with values of the driver and a standard uncertainty of
// rel for each of them; density is the number of points in an octave.
func sampleSide(density int, label string, d driver.Driver, rel float64, masses ...float64) Side {
	values := map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes(), param.Qts: d.Qts()}
	if len(masses) > 0 {
		values[param.Mms], values[param.Cms], values[param.Rms], values[param.BL] = d.Mms, d.Cms, d.Rms, d.BL
	}
	p := param.Parameters{Coverage: 1.96, Temperature: 293.15}
	for _, id := range param.All() {
		if v, ok := values[id]; ok {
			p.IDs = append(p.IDs, id)
			p.Scaled = append(p.Scaled, id.Scale(v))
			p.Origin = append(p.Origin, param.FromFit)
		}
	}
	p.Noise = mat.NewSymDense(len(p.IDs), nil)
	for i := range p.IDs {
		p.Noise.SetSym(i, i, rel*rel)
	}
	side := Side{Label: label, Parameters: p, Fitted: &fitted.Result{
		Parameters: p,
		Model:      fitted.ModelChoice{Coil: "lossy", Creep: true},
		Quality:    fitted.Quality{ResidualRMSPercent: 0.4, White: true, BandHz: [2]float64{8, 2000}, Points: 193},
	}}
	random := rand.New(rand.NewPCG(1, 2))
	for _, m := range append([]float64{0}, masses...) {
		c := Curve{Load: measured.Load{}}
		if m > 0 {
			c.Load = measured.Load{Kind: measured.AddedMass, Value: m, Std: 5e-5}
		}
		for k := 0; k <= 8*density; k++ {
			f := 8 * math.Pow(2, float64(k)/float64(density))
			z := d.LoadedImpedance(f, m, 0)
			noise := complex(1+0.004*random.NormFloat64(), 0.004*random.NormFloat64())
			c.Freq = append(c.Freq, f)
			c.Fitted = append(c.Fitted, z)
			c.Measured = append(c.Measured, z*noise)
		}
		side.Curves = append(side.Curves, c)
	}
	return side
}

var sampleBench = saved.Settings{{Name: "wiring", Value: "resistor-first"}, {Name: "resistor", Value: "10.02 ohm"}, {Name: "resistor-tolerance", Value: "1 %"}, {Name: "leads", Value: "0.05 ohm"}, {Name: "temperature", Value: "21 C"}}

func sampleInputs(sides ...string) []saved.Input {
	var in []saved.Input
	for i, s := range sides {
		name := s
		if s == "" {
			name = "larch"
		}
		in = append(in, saved.Input{Path: "sweeps/" + name + ".wav", Side: s, SHA256: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a0" + string(rune('0'+i))})
	}
	return in
}

func sampleSpec() verdict.Spec {
	return verdict.Spec{Name: "Larch 25 woofer", Source: "shop records, 6 healthy units", Temperature: 293.15, Confidence: 0.95,
		Limits: []verdict.Limit{{ID: param.Re, Lo: 5.32, Hi: 5.88}, {ID: param.Fs, Lo: 27.9, Hi: 34.1}, {ID: param.Qts, Lo: math.Inf(-1), Hi: 0.52}}}
}

func sampleChecked(s Side, verdicts ...verdict.Verdict) *verdict.Checked {
	c := &verdict.Checked{Spec: sampleSpec()}
	for i, l := range c.Spec.Limits {
		e, _ := s.Parameters.Get(l.ID)
		p := map[verdict.Verdict]float64{verdict.InSpec: 0.9996, verdict.OutOfSpec: 0.0001, verdict.Undecided: 0.6}[verdicts[i]]
		c.Checks = append(c.Checks, verdict.Judged{Limit: l, Known: true, Estimate: e, ProbabilityIn: p, Verdict: verdicts[i]})
	}
	return c
}

func sampleParameters(s Side) Table {
	t := Table{Columns: []Column{{"", Left}, {"value", Point}, {"", Left}, {"95 % interval", Right}, {"", Left}, {"uncertainty mostly from", Left}},
		Note: "Coil model lossy with suspension creep; 193 points from 8 to 2000 Hz, the fit misses them by 0.4 % rms."}
	for _, e := range s.Parameters.All() {
		b := scaleFor(e.ID, e.Value, e.Std)
		t.Rows = append(t.Rows, Row{Cells: []string{e.ID.String(), b.number(e.Value), unitOf(e.ID), b.number(e.Low) + " to " + b.number(e.High), wording.Name(e.ID), "noise"}})
	}
	return t
}

func sampleChecks(c *verdict.Checked) Table {
	t := Table{Columns: []Column{{"", Left}, {"value", Point}, {"", Left}, {"limits", Left}, {"chance of being in", Right}, {"verdict", Left}}}
	for _, j := range c.Checks {
		b := scaleFor(j.Limit.ID, j.Estimate.Value, j.Estimate.Std)
		chance := map[verdict.Verdict]string{verdict.InSpec: "above 99.9 %", verdict.OutOfSpec: "below 0.1 %", verdict.Undecided: "60 %"}[j.Verdict]
		words := map[verdict.Verdict]string{verdict.InSpec: "in spec", verdict.OutOfSpec: "out of spec", verdict.Undecided: "cannot tell yet"}[j.Verdict]
		t.Rows = append(t.Rows, Row{Mark: map[verdict.Verdict]Mark{verdict.InSpec: Good, verdict.OutOfSpec: Bad, verdict.Undecided: Open}[j.Verdict],
			Cells: []string{j.Limit.ID.String(), b.number(j.Estimate.Value), unitOf(j.Limit.ID), limits(j.Limit), chance, words}})
	}
	return t
}

// sampleLine is a mass line through points that lie a little off it.
func sampleLine(d driver.Driver, masses ...float64) *ring.MassLine {
	var points []ring.LinePoint
	for i, m := range append([]float64{0}, masses...) {
		y := d.Cms * (d.Mms + m)
		points = append(points, ring.LinePoint{X: m, StdX: 5e-5, Y: y * (1 + 0.003*math.Sin(float64(3*i+1))), StdY: 0.003 * y})
	}
	l, err := ring.FitLine(points)
	if err != nil {
		panic(err)
	}
	line := &ring.MassLine{Line: l, Mms: ring.Spread{Value: l.Intercept / l.Slope, Std: 0.0003}, Cms: ring.Spread{Value: l.Slope, Std: l.StdSlope}}
	for _, p := range points {
		line.Points = append(line.Points, ring.MassPoint{Residual: (p.Y - l.Intercept - l.Slope*p.X) / p.StdY})
	}
	return line
}

func sampleFit(density int, masses ...float64) *Report {
	s := sampleSide(density, "", sampleTired, 0.003, masses...)
	r := &Report{Schema: "conewright/fit/1", Version: "0.0.0", Title: "Parameters of larch.wav", Inputs: sampleInputs(""), Bench: sampleBench,
		Sides: []Side{s}, Tables: []Table{sampleParameters(s)}}
	if len(masses) > 0 {
		r.Sides[0].MassLine = sampleLine(sampleTired, masses...)
	}
	for _, m := range masses {
		r.Inputs = append(r.Inputs, saved.Input{Path: "sweeps/heavy.wav", SHA256: "b1", Load: measured.Load{Kind: measured.AddedMass, Value: m}})
	}
	return r
}

func sampleCheck(density int, headline string, verdict verdict.Verdict, each ...verdict.Verdict) *Report {
	s := sampleSide(density, "", sampleTired, 0.003)
	c := sampleChecked(s, each...)
	return &Report{Schema: "conewright/check/1", Version: "0.0.0", Title: "larch.wav against the sheet “Larch 25 woofer”", Inputs: sampleInputs(""), Bench: sampleBench,
		Judged: true, Verdict: verdict, Headline: headline, Sides: []Side{s}, Checked: c, Spec: &c.Spec, Tables: []Table{sampleChecks(c), sampleParameters(s)}}
}

func sampleCompare(density int, withSpec bool) *Report {
	before, after := sampleSide(density, "before", sampleTired, 0.003), sampleSide(density, "after", sampleStiff, 0.003)
	c := &change.Compared{Before: before.Parameters, After: after.Parameters, Changes: []change.Change{
		{ID: param.Re, Ratio: 1.005, Low: 0.999, High: 1.011},
		{ID: param.Fs, Ratio: 1.199, Low: 1.194, High: 1.204},
		{ID: param.Qts, Ratio: 1.19, Low: 1.17, High: 1.21},
		{ID: param.Mms, Ratio: 1.01, Low: 0.995, High: 1.025, How: "BL unchanged"},
		{ID: param.Cms, Ratio: 0.69, Low: 0.67, High: 0.71, How: "BL unchanged"},
		{ID: param.Rms, Ratio: 1.19, Low: 1.12, High: 1.26, How: "BL unchanged"},
		{ID: param.Lces, Ratio: 0.69, Low: 0.67, High: 0.71},
	}, Causes: []change.Cause{{ID: change.SuspensionStiffer, Percent: 45, Low: 41, High: 49, Probability: 0.97}}}
	r := &Report{Schema: "conewright/compare/1", Version: "0.0.0", Title: "after.wav, before and after", Inputs: sampleInputs("before", "after"), Bench: sampleBench,
		Sides: []Side{before, after}, Compared: c,
		Body: []string{
			"The new surround is stiffer: the suspension is 45 % stiffer (41 to 49), the moving mass is unchanged.",
			"Fs is 36.7 Hz. A new surround softens a little while it is run in, most of it within the first hours."},
		Next:     []wording.Step{{Do: "run the driver in for an hour at 20 Hz, let it rest for an hour, then measure again", Gain: "if Fs stays above 34 Hz, the part is wrong"}},
		Cautions: []string{"Turn the amplifier down before connecting, and start quietly."},
		Warnings: []wording.Said{{Code: "temperature", Message: "before and after were measured at different temperatures", Hint: "let the driver rest for an hour and repeat"}},
	}
	changes := Table{Columns: []Column{{"", Left}, {"before", Point}, {"after", Point}, {"", Left}, {"change", Right}, {"95 % interval", Right}, {"how", Left}}}
	for _, ch := range c.Changes {
		b, a, unit := "", "", unitOf(ch.ID)
		if e, ok := before.Parameters.Get(ch.ID); ok {
			b = scaleFor(ch.ID, e.Value, e.Std).number(e.Value)
		}
		if e, ok := after.Parameters.Get(ch.ID); ok {
			a = scaleFor(ch.ID, e.Value, e.Std).number(e.Value)
		}
		changes.Rows = append(changes.Rows, Row{Cells: []string{ch.ID.String(), b, a, unit, percent(ch.Ratio, 1) + " %", percent(ch.Low, 1) + " to " + percent(ch.High, 1) + " %", ch.How}})
	}
	if withSpec {
		checked := sampleChecked(after, verdict.InSpec, verdict.OutOfSpec, verdict.OutOfSpec)
		r.Judged, r.Verdict, r.Headline = true, verdict.OutOfSpec, "OUT OF SPEC: Fs is 36.7 Hz, above its limit of 34.1 Hz"
		r.Checked, r.Spec = checked, &checked.Spec
		r.Tables = append(r.Tables, sampleChecks(checked))
	}
	r.Tables = append(r.Tables, changes)
	return r
}

// sampleMagnitude has sweeps without phase.
func sampleMagnitude(density int) *Report {
	r := sampleFit(density)
	c := r.Sides[0].Curves[0].Curve
	for i, z := range c.Measured {
		c.Measured[i] = complex(math.Hypot(real(z), imag(z)), 0)
	}
	r.Warnings = []wording.Said{{Code: "no-phase", Message: "the table holds sizes without phase, so the values are less certain"}}
	return r
}

// sampleSaved comes from a saved fit: values, but no curve.
func sampleSaved(density int) *Report {
	r := sampleCheck(density, "IN SPEC: all 3 values that the sheet limits are inside", verdict.InSpec, verdict.InSpec, verdict.InSpec, verdict.InSpec)
	r.Sides[0].Fitted, r.Sides[0].Curves = nil, nil
	return r
}

// samplePair is two drivers that differ in resonance.
func samplePair(density int) *Report {
	left, right := sampleSide(density, "left", sampleTired, 0.003), sampleSide(density, "right", sampleStiff, 0.003)
	p := &lot.Paired{Left: left.Parameters, Right: right.Parameters, Verdict: verdict.OutOfSpec, Worst: 1,
		Checks: []lot.PairCheck{
			{Limit: lot.PairLimit{ID: param.Re, Percent: 5}, Known: true, Percent: 0.5, Low: -0.1, High: 1.1, ProbabilityIn: 0.9999, Verdict: verdict.InSpec},
			{Limit: lot.PairLimit{ID: param.Fs, Percent: 5}, Known: true, Percent: 19.9, Low: 19.4, High: 20.4, Verdict: verdict.OutOfSpec},
			{Limit: lot.PairLimit{ID: param.Qts, Percent: 10}, Known: true, Percent: 9.8, Low: 8, High: 11.6, ProbabilityIn: 0.6},
			{Limit: lot.PairLimit{ID: param.Vas, Percent: 10}},
		},
		Changes: []change.Change{{ID: param.Fs, Ratio: 1.199, Low: 1.194, High: 1.204}, {ID: param.Qms, Ratio: 1.01, Low: 0.98, High: 1.04}, {ID: param.Mms, Ratio: 1.01, Low: 0.8, High: 1.3}},
	}
	r := &Report{Schema: "conewright/pair/1", Version: "0.0.0", Title: "left.wav and right.wav as a pair", Inputs: sampleInputs("left", "right"), Bench: sampleBench,
		Sides: []Side{left, right}, Paired: p, Judged: true, Verdict: verdict.OutOfSpec, Headline: "NO PAIR: Fs",
		Body: []string{"The two do not match: Fs of the right one is 19.9 % higher (95 %: 19.4 to 20.4), the limit is 5 %.",
			"A suspension 31 % softer in the right one would help: run it in and measure again before changing the surround."}}
	t := Table{Columns: []Column{{"", Left}, {"difference", Right}, {"limit", Right}, {"verdict", Left}}}
	for _, c := range p.Checks[:3] {
		t.Rows = append(t.Rows, Row{Mark: markOf(c.Verdict), Cells: []string{c.Limit.ID.String(), fixed(c.Percent, 1) + " %", fixed(c.Limit.Percent, 0) + " %", pairWords(c.Verdict)}})
	}
	r.Tables = []Table{t}
	return r
}

// sampleLot is a lot with a drift, a unit that stands apart, and one that could
// not be read.
func sampleLot(units int, spec *verdict.Spec) *Report {
	l, err := NewLot(spec, nil)
	if err != nil {
		panic(err)
	}
	random := rand.New(rand.NewPCG(3, 4))
	for i := range units {
		u := &batch.Unit{Name: fmt.Sprintf("larch-%03d.csv", i+1)}
		d := sampleTired
		d.Cms *= 1.05 - 0.2*float64(i)/float64(units) + 0.02*random.NormFloat64()
		d.Mms *= 1 + 0.01*random.NormFloat64()
		d.Re *= 1 + 0.01*random.NormFloat64()
		switch i {
		case 30:
			d.Cms *= 0.68
		case 7:
			u.Failed = &batch.Failure{Message: "larch-008.csv: line 12: a number is missing"}
		}
		u.Parameters = sampleSide(1, "", d, 0.003).Parameters
		l.Add(u)
	}
	r := &Report{Schema: "conewright/batch-summary/1", Version: "0.0.0", Title: fmt.Sprintf("%d units against the sheet “Larch 25 woofer”", units),
		Headline: "45 in spec, 1 out of spec, 1 undecided, 1 failed", Bench: sampleBench, Lot: l, process: l.capabilities(), Spec: spec,
		Body: []string{"larch-031.csv stands apart from the lot: Fs 36.9 Hz (middle of the lot 30.9)."},
		Tables: []Table{{Title: "Units", Columns: []Column{{"unit", Left}, {"verdict", Left}, {"Fs Hz", Point}, {"", Left}}, Rows: []Row{
			{Cells: []string{"larch-001.csv", "in spec", "29.90", ""}, Mark: Good},
			{Cells: []string{"larch-008.csv", "failed", "", "larch-008.csv: line 12: a number is missing"}, Mark: Bad},
			{Cells: []string{"larch-031.csv", "out of spec", "36.9", "Fs high"}, Mark: Bad},
		}}}}
	return r
}

// sampleReports are the states of a report by name.
func sampleReports(density int) map[string]*Report {
	spec := sampleSpec()
	return map[string]*Report{
		"batch":         sampleLot(48, &spec),
		"fit":           sampleFit(density),
		"fit-masses":    sampleFit(density, 0.010, 0.020, 0.030),
		"fit-magnitude": sampleMagnitude(density),
		"check-in":      sampleCheck(density, "IN SPEC: all 3 values that the sheet limits are inside", verdict.InSpec, verdict.InSpec, verdict.InSpec, verdict.InSpec),
		"check-out":     sampleCheck(density, "OUT OF SPEC: Fs is 30.6 Hz, above its limit of 30 Hz", verdict.OutOfSpec, verdict.InSpec, verdict.OutOfSpec, verdict.InSpec),
		"check-open":    sampleCheck(density, "CANNOT TELL YET: Qts is 0.43, too near to its limit of 0.52", verdict.Undecided, verdict.InSpec, verdict.InSpec, verdict.Undecided),
		"check-saved":   sampleSaved(density),
		"compare":       sampleCompare(density, true),
		"compare-alone": sampleCompare(density, false),
		"pair":          samplePair(density),
	}
}
