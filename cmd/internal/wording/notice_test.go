package wording

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/handmade"
	"conewright/ts/lot"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/ring"
	"conewright/ts/verdict"
)

// curve is a sweep of the woofer from lo to hi (Hz), a point each twelfth of an octave.
func curve(d driver.Driver, lo, hi float64) measured.Impedance {
	var z measured.Impedance
	for f := lo; f <= hi; f *= math.Exp2(1. / 12) {
		z.Freq, z.Z = append(z.Freq, f), append(z.Z, d.Impedance(f))
	}
	return z
}

// notices returns one notice of each kind that the judgement gives, as its packages give
// them when they are called with what they refuse or warn of.
func notices(t *testing.T) []notice.Notice {
	var all []notice.Notice
	refused := func(err error) {
		t.Helper()
		var n *notice.Notice
		if !errors.As(err, &n) {
			t.Fatalf("after %d: not refused by a notice: %v", len(all), err)
		}
		all = append(all, *n)
	}
	sound := curve(handmade.Woofer, 5, 2000)
	sweep := func(change func(z *measured.Impedance)) {
		t.Helper()
		z := sound.Band(0, 1e6)
		change(&z)
		_, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		refused(err)
	}
	conditions := func(load measured.Load, cond measured.Conditions) {
		t.Helper()
		_, err := ts.Fit([]measured.Sweep{{Impedance: sound, Load: load}}, cond)
		refused(err)
	}
	_, err := ts.Fit(nil, measured.Conditions{})
	refused(err)
	sweep(func(z *measured.Impedance) { z.Harmonics = &measured.Harmonics{FullScale: -1} })
	sweep(func(z *measured.Impedance) { z.FreeLines = &measured.FreeLines{Odd: measured.FreeLine{Share: -1}} })
	sweep(func(z *measured.Impedance) { *z = measured.Impedance{} })
	sweep(func(z *measured.Impedance) { z.Z = z.Z[1:] })
	sweep(func(z *measured.Impedance) { z.Freq[3] = -1 })
	sweep(func(z *measured.Impedance) { z.Freq[3] = z.Freq[2] })
	sweep(func(z *measured.Impedance) { z.Z[3] = complex(math.NaN(), 0) })
	sweep(func(z *measured.Impedance) { z.Z[3] = 0 })
	sweep(func(z *measured.Impedance) { z.MagnitudeOnly = true })
	sweep(func(z *measured.Impedance) { z.Sigma = make([]float64, z.Len()) })
	sweep(func(z *measured.Impedance) { z.Frequency.Std = 0.5 })
	sweep(func(z *measured.Impedance) { z.Systematic = []measured.Systematic{{Source: "leads"}} })
	sweep(func(z *measured.Impedance) {
		e := make([]complex128, z.Len())
		e[2] = complex(math.Inf(1), 0)
		z.Systematic = []measured.Systematic{{Source: "leads", Effect: e}}
	})
	sweep(func(z *measured.Impedance) { z.Drive = new(measured.Drive) })
	sweep(func(z *measured.Impedance) { *z = z.Band(5, 7) })
	sweep(func(z *measured.Impedance) { *z = curve(handmade.Woofer, 40, 150) })
	sweep(func(z *measured.Impedance) {
		*z = curve(driver.Driver{Re: 5, Mms: 1, Cms: 1, Coil: driver.PlainCoil{L: 1e-3}}, 5, 2000)
	})
	two := sound.Band(0, 1e6)
	stiff := handmade.Changed(func(d *driver.Driver) { d.Cms /= 9 })
	for i, f := range two.Freq {
		two.Z[i] += stiff.Impedance(f) - complex(stiff.Re, 0)
	}
	refused(measured.CheckSweep(two)) // a fit says what it is
	sweep(func(z *measured.Impedance) { *z = curve(handmade.Woofer, 29, 2000) })
	sweep(func(z *measured.Impedance) { *z = curve(handmade.Woofer, 5, 36) })
	sweep(func(z *measured.Impedance) { *z = curve(handmade.Woofer, 5, 62) })
	conditions(measured.Load{Kind: measured.AddedMass, Value: 0.01}, measured.Conditions{})
	conditions(measured.Load{Kind: measured.AddedMass, Value: 15}, measured.Conditions{})
	conditions(measured.Load{Kind: 7}, measured.Conditions{})
	conditions(measured.Load{Value: 7}, measured.Conditions{})
	conditions(measured.Load{}, measured.Conditions{Temperature: param.Quantity{Value: 20}})
	conditions(measured.Load{}, measured.Conditions{Temperature: param.Quantity{Value: 300, Std: 301}})
	conditions(measured.Load{}, measured.Conditions{Mounting: 9})
	refused(measured.CheckValues(handmade.Known{Driver: handmade.Changed(func(d *driver.Driver) { d.Rms = 1e-9 })}.Parameters(nil)))

	fit := func(cond measured.Conditions, sweeps ...measured.Sweep) {
		t.Helper()
		f, err := ts.Fit(sweeps, cond)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, f.Warnings...)
	}
	byHand := sound.Band(0, 1e6)
	byHand.Frequency = measured.FrequencyError{Std: 0.003, Assumed: true}
	fit(measured.Conditions{}, measured.Sweep{Impedance: byHand})
	leaking := sound.Band(0, 1e6)
	for i, f := range leaking.Freq { // a box as stiff as the suspension, open below 12 Hz
		w, d := 2*math.Pi*f, handmade.Woofer
		rest := complex(d.Re, 0) + d.Coil.Impedance(w)
		mechanical := complex(d.BL*d.BL, 0)/(sound.Z[i]-rest) + complex(1/d.Cms, 0)/complex(2*math.Pi*12, w)
		leaking.Z[i] = rest + complex(d.BL*d.BL, 0)/mechanical
	}
	fit(measured.Conditions{}, measured.Sweep{Impedance: sound}, measured.Sweep{Impedance: leaking, Load: measured.Load{Kind: measured.KnownBox, Value: 0.03}})
	rough := func(d driver.Driver, size float64) measured.Impedance { // a noise that repeats, so that the test does
		z := curve(d, 5, 2000)
		for k := range z.Z {
			z.Z[k] *= complex(1+size*math.Sin(float64(k*k)), 0)
		}
		return z
	}
	soft, creep := handmade.Woofer, handmade.Woofer
	soft.Cms, creep.Creep = 2*soft.Cms, 0.15
	mass := func(d driver.Driver, real, stated float64) measured.Sweep {
		with, err := d.WithMass(real)
		if err != nil {
			t.Fatal(err)
		}
		return measured.Sweep{Impedance: rough(with, 1e-4), Load: measured.Load{Kind: measured.AddedMass, Value: stated, Std: 1e-6}}
	}
	wild := rough(handmade.Woofer, 1e-3)
	wild.Z[50] *= 1.5
	low := rough(handmade.Woofer, 1e-3)
	for i := range low.Freq[:8] {
		low.Z[i] *= complex(0.6+0.05*float64(i), 0)
	}
	fit(measured.Conditions{DCRe: param.Quantity{Value: 9, Std: 0.01}}, measured.Sweep{Impedance: wild})
	doubted := rough(handmade.Woofer, 1e-3)
	doubted.Systematic = []measured.Systematic{{Source: "resistor", Effect: make([]complex128, doubted.Len())}, {Source: measured.ChannelSource, Fitted: true, Effect: make([]complex128, doubted.Len())}}
	for i, z := range doubted.Z {
		doubted.Systematic[0].Effect[i] = 0.01 * z
		doubted.Systematic[1].Effect[i] = z * complex(0, 1/doubted.Freq[i])
	}
	fit(measured.Conditions{DCRe: param.Quantity{Value: 1.035 * handmade.Woofer.Re, Std: 0.005 * handmade.Woofer.Re}}, measured.Sweep{Impedance: doubted})
	softer := handmade.Woofer
	softer.Cms *= 1.2
	fit(measured.Conditions{}, measured.Sweep{Impedance: rough(handmade.Woofer, 1e-4)}, mass(softer, 0.02, 0.02))
	fit(measured.Conditions{}, measured.Sweep{Impedance: low})
	fit(measured.Conditions{}, measured.Sweep{Impedance: rough(handmade.Woofer, 0.2)})
	fit(measured.Conditions{}, measured.Sweep{Impedance: rough(handmade.Woofer, 1e-3)}, measured.Sweep{Impedance: rough(soft, 1e-3)})
	fit(measured.Conditions{}, measured.Sweep{Impedance: rough(creep, 1e-4)}, mass(creep, 0.03, 0.03))
	fit(measured.Conditions{}, measured.Sweep{Impedance: rough(handmade.Woofer, 1e-4)}, mass(handmade.Woofer, 0.002, 0.002))
	_, err = ts.Fit([]measured.Sweep{{Impedance: rough(handmade.Woofer, 1e-4)}, mass(handmade.Woofer, 1e-9, 0.02)}, measured.Conditions{})
	refused(err)
	all = append(all, *fitted.Travel{Peak: 2e-3, Freq: 30}.Warning())
	all = append(all, *notice.New("model-smoothed", notice.Facts{"octaves": 1. / 24})) // needs a driver that follows no law
	second := &fitted.Second{Frequency: 600, Q: 10, MassShare: 0.05, Std: [3]float64{0.01, 0.1, 0.1}}
	moved := &fitted.Second{Frequency: 500, Q: 10, MassShare: 0.05, Std: [3]float64{0.01, 0.1, 0.1}}
	all = append(all, *second.Notice(), *fitted.SecondChanged(&fitted.Result{Second: second}, &fitted.Result{Second: moved}))

	withMass := func() param.Parameters {
		return handmade.Known{Driver: handmade.Woofer, Std: handmade.Std, Mass: true}.Parameters(nil)
	}
	p, free := withMass(), handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	fs := handmade.Woofer.Fs()
	sheet := func(limits ...verdict.Limit) verdict.Spec { return verdict.Spec{Limits: limits} }
	on := func(id param.ID, lo, hi float64) verdict.Limit { return verdict.Limit{ID: id, Lo: lo, Hi: hi} }
	check := func(change func(p *param.Parameters, s *verdict.Spec)) {
		t.Helper()
		q, s := withMass(), sheet(on(param.Fs, 20, 40))
		change(&q, &s)
		_, err := ts.Check(q, s)
		refused(err)
	}
	check(func(_ *param.Parameters, s *verdict.Spec) { s.Limits = nil })
	check(func(_ *param.Parameters, s *verdict.Spec) { s.Confidence = 2 })
	check(func(_ *param.Parameters, s *verdict.Spec) { s.Limits[0].Hi = 3 })
	check(func(_ *param.Parameters, s *verdict.Spec) { s.Limits = append(s.Limits, s.Limits[0]) })
	check(func(p *param.Parameters, _ *verdict.Spec) { p.Coverage = 0 })
	check(func(p *param.Parameters, _ *verdict.Spec) { p.Origin = nil })
	check(func(p *param.Parameters, _ *verdict.Spec) { p.IDs = append([]param.ID{param.Fs}, p.IDs[1:]...) })
	check(func(p *param.Parameters, _ *verdict.Spec) { p.Scaled[0] = math.NaN() })
	check(func(p *param.Parameters, _ *verdict.Spec) { p.Noise.SetSym(0, 1, 1) })
	sister := sheet(on(param.Fs, 20, 21), on(param.Mms, 0.03, 0.031), on(param.Cms, 1e-4, 1.1e-4))
	sister.Mounting = param.Baffle
	checked, err := ts.Check(free, sister)
	if err != nil {
		t.Fatal(err)
	}
	all = append(all, checked.Warnings...)

	_, err = ts.Compare(p, param.Parameters{}, change.Options{})
	refused(err)
	baffle := free
	baffle.Mounting = param.Baffle
	_, err = ts.Compare(free, baffle, change.Options{})
	refused(err)
	_, err = ts.Compare(p, p, change.Options{Friction: change.Friction{Before: -1}})
	refused(err)
	_, err = ts.Compare(p, p, change.Options{Level: -1})
	refused(err)
	err = repeat.Bench{repeat.Session: {Std: [3]float64{-1, 0, 0}, Dof: 1}}.Check()
	refused(err)
	for _, after := range []driver.Driver{
		handmade.Changed(func(d *driver.Driver) { d.Re *= 0.5; d.BL *= 3; d.Mms /= 4; d.Cms *= 5 }),
		handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.4; d.Re *= 1.02; d.Coil = driver.LossyCoil{K: 0.0125, N: 0.7} }),
	} {
		repaired := handmade.Known{Driver: after, Std: handmade.Std}.Parameters(nil)
		repaired.OneDriver = true // otherwise the larger change is doubted
		c, err := ts.Compare(free, repaired, change.Options{})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, c.Warnings...)
	}

	_, err = ts.Pair(p, p, lot.PairOptions{Limits: []lot.PairLimit{{ID: param.Fs, Percent: -1}}})
	refused(err)
	points, err := lot.NewPairPoints([]lot.PairLimit{{ID: param.BL, Percent: 5}})
	if err != nil {
		t.Fatal(err)
	}
	refused(points.Add(free))

	_, err = driver.Driver{}.WithMass(0.01)
	refused(err)
	_, err = handmade.Woofer.WithMass(-1)
	refused(err)
	_, err = handmade.Woofer.MassForResonance(fs + 5)
	refused(err)
	_, err = handmade.Woofer.MassForResonance(-1)
	refused(err)
	_, err = param.FromValues(param.Quantity{}, param.Quantity{}, param.Quantity{}, param.Quantity{}, param.FreeAir)
	refused(err)
	_, err = param.FromValues(param.Quantity{Value: 30}, param.Quantity{Value: 30}, param.Quantity{}, param.Quantity{}, param.FreeAir)
	refused(err)
	size := ring.Ring{InnerDiameter: 0.05, Height: 0.01}
	whole := size
	whole.Thickness = 0.002
	for _, q := range []ring.Request{
		{}, {TargetFs: fs - 3, Mass: param.Quantity{Value: 0.01}}, {TargetFs: fs - 3, Fitted: true}, {Size: whole},
		{TargetFs: fs - 3, Material: "wood"}, {TargetFs: fs - 0.01, Adhesive: param.Quantity{Value: 0.01}},
		{Mass: param.Quantity{Value: 10}}, {Mass: param.Quantity{Value: 0.01}, Size: ring.Ring{InnerDiameter: 0.05}},
	} {
		_, err := ring.NewPlan(p, q)
		refused(err)
	}
	_, err = ring.MassForFs(free, fs-3)
	refused(err)

	_, err = ring.FitLine([]ring.LinePoint{{X: 1}, {X: 2}})
	refused(err)
	_, err = ring.FitLine([]ring.LinePoint{{X: 1, StdY: 1}, {X: 1, StdY: 1}})
	refused(err)
	_, err = ring.FitLine([]ring.LinePoint{{X: 1e160, StdY: 1}, {X: 1, StdY: 1}, {X: 2, StdY: 1, StdX: 1}})
	refused(err)
	_, err = ring.MeasureMassLine([]measured.Sweep{{Impedance: sound}, {Impedance: sound, Load: measured.Load{Kind: measured.KnownBox, Value: 0.02}}}, measured.Conditions{})
	refused(err)
	creeping := handmade.CourseWithCoil()
	creeping.Creep = 0.2
	line := func(masses ...[2]float64) (*ring.MassLine, error) { // on the cone, and as stated
		var sweeps []measured.Sweep
		for i, m := range masses {
			with, err := creeping.WithMass(m[0])
			if err != nil {
				t.Fatal(err)
			}
			s := measured.Sweep{Impedance: curve(with, 4, 2000)}
			for k, z := range s.Impedance.Z { // a noise that repeats, so that the test does
				s.Impedance.Z[k] *= complex(1+1e-4*math.Sin(float64(k*k+i)), 0)
				s.Impedance.Sigma = append(s.Impedance.Sigma, 1e-4*math.Hypot(real(z), imag(z)))
			}
			if m[1] > 0 {
				s.Load = measured.Load{Kind: measured.AddedMass, Value: m[1], Std: 1e-6}
			}
			sweeps = append(sweeps, s)
		}
		return ring.MeasureMassLine(sweeps, measured.Conditions{})
	}
	_, err = line([2]float64{0.04, 0}, [2]float64{0, 0.04})
	refused(err)
	_, err = line([2]float64{1e-4, 0}, [2]float64{0, 0.04})
	refused(err)
	bent, err := line([2]float64{0, 0}, [2]float64{0.04, 0.04}, [2]float64{0.12, 0.12})
	if err != nil {
		t.Fatal(err)
	}
	creeping.Creep = 0
	_, err = line([2]float64{0, 0}, [2]float64{0.02, 0.02}, [2]float64{0.04, 0.05}, [2]float64{0.12, 0.12})
	refused(err)
	_, err = line([2]float64{0, 0}, [2]float64{0.04, 0.05}, [2]float64{0.12, 0.12})
	refused(err)
	for _, n := range bent.Warnings {
		if strings.HasPrefix(n.Code, "line-") { // the others are those of the fit
			all = append(all, n)
		}
	}
	return all
}

// notMet are notices of a fit that comes to no end, which no input of this test brings about.
var notMet = []string{"no-fit", "not-determined", "no-minimum-found"}

// Every notice that the judgement has a sentence for is met with some input, and what is
// found there can be said. That code and sentence go together at every place, also where no
// input of this test comes, is tested in codes_test.go.
func TestEveryNoticeIsMet(t *testing.T) {
	missing := map[string]sentence{}
	for _, subject := range []map[string]sentence{valueSentences, sweepSentences, fitSentences, sheetSentences, changeSentences, pairSentences, massSentences, ringSentences, massLineSentences} {
		maps.Copy(missing, subject)
	}
	for _, code := range notMet {
		delete(missing, code)
	}
	for _, n := range notices(t) {
		delete(missing, n.Code)
		if problem := tried(n); problem != "" {
			t.Errorf("%v: %s", n, problem)
		}
	}
	if len(missing) > 0 {
		t.Errorf("sentences of notices that were not met: %v", slices.Sorted(maps.Keys(missing)))
	}
}

func TestErrorsInWords(t *testing.T) {
	few := notice.New("too-few-points", notice.Facts{"points": 3, "least": 7})
	for _, c := range []struct {
		err           error
		message, hint string
	}{
		{few, "the sweep has only 3 points; a resonance and a coil need at least 7", "measure at least ten"},
		{few.In("a.txt"), "a.txt: the sweep has only 3 points", "measure at least ten"},
		{few.At("a.txt", 4), "a.txt:4: the sweep has only 3 points", "measure at least ten"},
		{fmt.Errorf("left: %w", few.In("a.txt")), "left: a.txt: the sweep has only 3 points", "measure at least ten"},
		{&fs.PathError{Op: "open", Path: "a.txt", Err: fs.ErrNotExist}, "a.txt: file does not exist", "check the name"},
		{fmt.Errorf("left: %w", &fs.PathError{Op: "open", Path: "a.txt", Err: fs.ErrPermission}), "left: open a.txt: permission denied", "check the permissions"},
		{errors.New("it rains"), "it rains", ""},
		{notice.New("unheard-of", notice.Facts{"size": 3}), "unheard-of size=3", ""},
	} {
		message, hint := Error(c.err)
		if !strings.HasPrefix(message, c.message) || !strings.HasPrefix(hint, c.hint) || c.hint == "" && hint != "" {
			t.Errorf("%v: %q, %q", c.err, message, hint)
		}
	}
}
