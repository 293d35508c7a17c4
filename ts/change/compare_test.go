package change

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
	"conewright/ts/repeat"
)

func causeIDs(e Explanation) string {
	var ids []string
	for _, c := range e.Causes {
		ids = append(ids, string(c.ID))
	}
	return strings.Join(ids, "+")
}

// A surround that is 38 % stiffer and nothing else.
func TestCompareStifferSuspension(t *testing.T) {
	after := handmade.Woofer
	after.Cms /= 1.38
	swept := func(d driver.Driver) param.Parameters {
		return repeat.Usual.Include(handmade.Known{Driver: d, Std: handmade.Std}.Parameters(nil), repeat.Again)
	}
	c, err := Compare(swept(handmade.Woofer), swept(after), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Explanations) != 1 || causeIDs(c.Explanations[0]) != "suspension-stiffer" {
		t.Fatalf("explanations %+v", c.Explanations)
	}
	cause := c.Causes[0]
	if math.Abs(cause.Percent-38) > 0.01 || cause.Low > 36 || cause.High < 40 || cause.Probability < 0.95 {
		t.Errorf("cause %+v", cause)
	}
	cms, _ := c.Change(param.Cms)
	if math.Abs(cms.Ratio-1/1.38) > 1e-9 || cms.How != ByUnchangedBL {
		t.Errorf("change of Cms %+v", cms)
	}
	// Table and sentence have one interval; what the sweeps say alone is beside it.
	if math.Abs(cms.Low*(1+cause.High/100)-1) > 1e-12 || math.Abs(cms.High*(1+cause.Low/100)-1) > 1e-12 {
		t.Errorf("the table has %v to %v, the sentence %v to %v %%", cms.Low, cms.High, cause.Low, cause.High)
	}
	if !(cms.Sweeps.Low > cms.Low && cms.Sweeps.High < cms.High) || math.Abs(cms.Sweeps.Ratio-1/1.38) > 1e-9 {
		t.Errorf("the sweeps alone %+v, all %+v", cms.Sweeps, cms)
	}
	if c.Null.Rejected() {
		t.Errorf("null test %+v: nothing happened to the coil", c.Null)
	}
	if !c.RestsOnBL() {
		t.Error("no mass was on the cone, and it is not said that the stiffness rests on an unchanged BL")
	}
	if same, err := Compare(swept(handmade.Woofer), swept(handmade.Woofer), Options{}); err != nil || same.RestsOnBL() {
		t.Errorf("%v: no change rests on BL", err)
	}
}

// What both sets share cancels: a resistor that is 1 % off moves Re, Cmes, Lces
// and Res of both equally and must not widen the changes. The same component
// under another name must widen them.
func TestSharedErrorsCancel(t *testing.T) {
	own := false
	width := func(sourceAfter string) float64 {
		resistor := func(name string) []param.Component {
			return []param.Component{{Source: name, Part: param.BenchPart, Own: own, Effect: []float64{0.02, 0, 0, 0}}}
		}
		c, err := Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std, Extra: resistor("resistor")}.Parameters(nil),
			handmade.Known{Driver: handmade.Woofer, Std: handmade.Std, Extra: resistor(sourceAfter)}.Parameters(nil), Options{})
		if err != nil {
			t.Fatal(err)
		}
		re, _ := c.Change(param.Re)
		return re.High - re.Low
	}
	if w, want := width("resistor"), 2*1.96*0.002*math.Sqrt2; math.Abs(w/want-1) > 0.01 {
		t.Errorf("same resistor: interval %v wide, want %v", w, want)
	}
	own = true // the same name, but an error of each set alone
	if w, want := width("resistor"), 2*1.96*math.Sqrt(2*(0.002*0.002+0.02*0.02)); math.Abs(w/want-1) > 0.01 {
		t.Errorf("own resistors: interval %v wide, want %v", w, want)
	}
	own = false
	if w, want := width("another resistor"), 2*1.96*math.Sqrt(2*(0.002*0.002+0.02*0.02)); math.Abs(w/want-1) > 0.01 {
		t.Errorf("other resistor: interval %v wide, want %v", w, want)
	}
}

// The 95 % intervals of the changes hold the truth in 95 % of all simulations.
func TestChangeIntervalsCover(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	after := handmade.Woofer
	after.Cms *= 0.8
	after.Mms *= 1.1
	after.Rms *= 1.3
	truth := map[param.ID]float64{param.Mms: 1.1, param.Cms: 0.8, param.Rms: 1.3, param.Fs: 1 / math.Sqrt(0.88), param.Re: 1}
	hits := map[param.ID]int{}
	const runs = 4000
	for range runs {
		draw := func(string) float64 { return rng.NormFloat64() }
		before := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(draw)
		for _, ch := range Changes(before, handmade.Known{Driver: after, Std: handmade.Std}.Parameters(draw), nil) {
			if want, ok := truth[ch.ID]; ok && ch.Low <= want && want <= ch.High {
				hits[ch.ID]++
			}
		}
	}
	for id := range truth {
		if rate := float64(hits[id]) / runs; math.Abs(rate-0.95) > 4*math.Sqrt(0.95*0.05/runs) {
			t.Errorf("%v: interval holds the truth in %.1f %%", id, 100*rate)
		}
	}
}

// The ambiguous triple of a weaker motor: BL -5 % looks like 10.8 % more mass,
// stiffness and losses. Without an added mass both must be named; with one,
// before and after, the motor alone.
func TestWeakMotorIsATieWithoutAddedMass(t *testing.T) {
	after := handmade.Woofer
	after.BL *= 0.95
	compare := func(mass bool) *Compared {
		c, err := Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std, Mass: mass}.Parameters(nil),
			handmade.Known{Driver: after, Std: handmade.Std, Mass: mass}.Parameters(nil), Options{})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	c := compare(false)
	var named []string
	for _, e := range c.Explanations {
		named = append(named, causeIDs(e))
	}
	all := strings.Join(named, " | ")
	if !strings.Contains(all, "motor-weaker") || !strings.Contains(all, "suspension-stiffer+mass-added+losses-up") {
		t.Errorf("without a mass: %s, want both readings", all)
	}
	if c.Tie == nil || c.Tie.Way != MeasureBLTwice {
		t.Errorf("tie %+v, want a sweep with an added mass", c.Tie)
	}
	for _, cause := range c.Causes {
		if cause.ID == MassAdded && math.Abs(cause.Percent-10.8) > 0.1 {
			t.Errorf("mass %+v, want 10.8 %%", cause)
		}
	}
	for _, e := range compare(true).Explanations {
		if id := causeIDs(e); id != "motor-weaker" && id != "coil-offset" {
			t.Errorf("with a mass: %s", id)
		}
	}
}

// repeated is a set as a single sweep on an unknown bench gives it.
func repeated(d driver.Driver, mass bool) param.Parameters {
	return repeat.Usual.Include(handmade.Known{Driver: d, Std: handmade.Std, Mass: mass}.Parameters(nil), repeat.Again)
}

// On a bench of which nothing is known, two sessions that differ by 2 % in Fs are no change; in one session the same
// difference would be one, as only clamping lies between. A motor 8 % weaker is found although the
// bench is unknown: no bench scatters in BL.
func TestUnknownBench(t *testing.T) {
	softer := handmade.Changed(func(d *driver.Driver) { d.Cms *= 1.04 })
	c, err := Compare(repeated(handmade.Woofer, false), repeated(softer, false), Options{})
	if err != nil {
		t.Fatal(err)
	}
	fs, _ := c.Change(param.Fs)
	if c.Causes[0].ID != NoChange || fs.Changed() {
		t.Errorf("two sessions: %+v, Fs %+v", c.Causes, fs)
	}
	// 6 % in Fs are 4.5 standard deviations, which one unknown bench in 70 may show: no cause is sought for it yet.
	far := handmade.Changed(func(d *driver.Driver) { d.Cms *= 1.14 })
	if c, err = Compare(repeated(handmade.Woofer, false), repeated(far, false), Options{}); err != nil || c.Causes[0].ID != NoChange {
		t.Errorf("6 %% in Fs: %+v, %v", c.Causes, err)
	}
	one, err := Compare(repeated(handmade.Woofer, false), repeated(softer, false), Options{SameSession: true})
	if err != nil {
		t.Fatal(err)
	}
	closer, _ := one.Change(param.Fs)
	// what is left of 0.9 %, 0.4 % and 0.15 % is 0.43 %
	if u := math.Log(closer.High/closer.Low) / math.Log(fs.High/fs.Low); u > 0.75 {
		t.Errorf("in one session the interval is %.2f times as wide", u)
	}
	weak := handmade.Changed(func(d *driver.Driver) { d.BL *= 0.92 })
	m, err := Compare(repeated(handmade.Woofer, true), repeated(weak, true), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if id := m.Causes[0].ID; id != MotorWeaker && id != CoilOffset {
		t.Errorf("a weak motor: %+v", m.Causes)
	}
}

// A mass that is 6 % heavier than stated on the second day makes mass, stiffness, losses and BL^2 come out too
// small by one factor, while the sweeps in free air agree: it is the mass that is named, not four changes or the motor.
func TestMassNotAsStated(t *testing.T) {
	const factor = 1 / 1.06
	after := handmade.Woofer
	after.Mms *= factor
	after.Cms /= factor
	after.Rms *= factor
	after.BL *= math.Sqrt(factor)
	c, err := Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std, Mass: true}.Parameters(nil),
		handmade.Known{Driver: after, Std: handmade.Std, Mass: true}.Parameters(nil), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if causeIDs(c.Explanations[0]) != string(MassNotAsStated) || math.Abs(c.Causes[0].Percent-6) > 0.1 {
		t.Errorf("explanations %+v", c.Explanations)
	}
	// without masses nothing is said of them
	c, err = Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil),
		handmade.Known{Driver: after, Std: handmade.Std}.Parameters(nil), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if causeIDs(c.Explanations[0]) != string(NoChange) {
		t.Errorf("without masses: %+v", c.Explanations)
	}
}
