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
	if c.Null.Rejected() {
		t.Errorf("null test %+v: nothing happened to the coil", c.Null)
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
		for _, ch := range Changes(before, handmade.Known{Driver: after, Std: handmade.Std}.Parameters(draw)) {
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
