package ts

import (
	"errors"
	"math"
	"testing"
)

// The 12-inch woofer of a university course, problem 2 and 3: free air 80.2 g
// and 23.96 Hz, in a baffle 88.2 g and 22.9 Hz; Qes 0.49 and 0.515. (The course
// takes 6.79 g a side for a = 12.853 cm; with 1.2 kg/m^3 the difference between
// baffle and free air is that of one side.)
func TestMountingOfTheCourse(t *testing.T) {
	free := Driver{Re: 5.46, BL: 11.6, Mms: 80.2e-3, Cms: 0.55e-3, Rms: 3.25}
	p := known{driver: free, std: testOnlyStd, mass: true, sd: math.Pi * 0.12853 * 0.12853}.parameters(nil)
	r := p.referTo(Baffle, 0)
	for id, want := range map[ParamID]float64{Mms: 80.2e-3 + 6.79e-3, Cms: 0.55e-3, BL: 11.6, Fs: 23.96 * math.Sqrt(80.2/86.99)} {
		e, _ := r.Get(id)
		if math.Abs(e.Value/want-1) > 5e-4 {
			t.Errorf("%v in a baffle is %v, want %v", id, e.Value, want)
		}
	}
	qms, _ := r.Get(Qms)
	qes, _ := r.Get(Qes)
	qts, _ := r.Get(Qts)
	if got := qms.Value * qes.Value / (qms.Value + qes.Value); math.Abs(got/qts.Value-1) > 1e-9 {
		t.Errorf("Qts %v does not follow from Qms and Qes: %v", qts.Value, got)
	}
	before, _ := p.Get(Fs)
	after, _ := r.Get(Fs)
	if after.Std/after.Value <= before.Std/before.Value {
		t.Errorf("a conversion must cost certainty: %v to %v", before.Std, after.Std)
	}
	// An error of the mass counts less in the larger sum; that of the air comes in.
	mms, _ := p.Get(Mms)
	with, _ := r.Get(Mms)
	air := with.Value - mms.Value
	// (the mass and the diameter are the only errors of Mms here, and the second is none)
	if want := math.Hypot(mms.Std, airMassStd*air); math.Abs(with.Std/want-1) > 1e-6 {
		t.Errorf("uncertainty of Mms in a baffle %v, want %v", with.Std, want)
	}
	// There and back again.
	back := r.Parameters.referTo(FreeAir, 0)
	for i, id := range p.IDs {
		if id == Sd || massSlope[id] == 0 {
			continue
		}
		if math.Abs(back.Scaled[i]-p.Scaled[i]) > 1e-12 {
			t.Errorf("%v does not come back: %v, was %v", id, back.Scaled[i], p.Scaled[i])
		}
	}
	// The argument is not written to.
	if again := (known{driver: free, std: testOnlyStd, mass: true, sd: math.Pi * 0.12853 * 0.12853}).parameters(nil); again.Scaled[1] != p.Scaled[1] {
		t.Error("referTo changed its receiver")
	}
}

// Without mass and diameter nothing that depends on the air mass is judged.
func TestMountingThatCannotBeConverted(t *testing.T) {
	p := known{driver: testOnlyWoofer, std: testOnlyStd}.parameters(nil)
	c, err := Check(p, Spec{Mounting: Baffle, Limits: []Limit{{Fs, 1, 1000}, {Re, 1, 1000}}})
	if err != nil {
		t.Fatal(err)
	}
	if c.Verdict != Undecided || c.Checks[0].Known || c.Checks[1].Verdict != InSpec || c.Next[0].Kind != DoMounting {
		t.Errorf("%+v, next %+v", c.Checks, c.Next)
	}
	other := p.clone()
	other.Mounting = Baffle
	var refusal *Refusal
	if _, err := Compare(p, other, CompareOptions{}); !errors.As(err, &refusal) || refusal.Code != "mounting-differs" {
		t.Errorf("compare across mountings: %v", err)
	}
}

// Handbook of copper: 0.393 %/K at 20 C, (234.5+t2)/(234.5+t1). From 20 to 30 C
// Re and Qes rise by 3.93 %.
func TestTemperature(t *testing.T) {
	p := known{driver: testOnlyWoofer, std: testOnlyStd}.parameters(nil)
	r := p.referTo(FreeAir, 303.15)
	for id, want := range map[ParamID]float64{Re: 1.0393, Qes: 1.0393, Fs: 1, Qms: 1} {
		a, _ := p.Get(id)
		b, _ := r.Get(id)
		if math.Abs(b.Value/a.Value-want) > 2e-5 {
			t.Errorf("%v changes by %v, want %v", id, b.Value/a.Value, want)
		}
	}
	// A cold driver is not a different one.
	cold := testOnlyWoofer
	cold.Re *= (234.5 + 10) / (234.5 + 20)
	q := known{driver: cold, std: testOnlyStd}.parameters(nil)
	q.Temperature = 283.15
	c, err := Compare(p, q, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if c.Causes[0].ID != NoChange {
		t.Errorf("10 K colder: %+v", c.Causes)
	}
}
