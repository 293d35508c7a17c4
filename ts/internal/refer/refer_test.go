package refer

import (
	"math"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
)

// The 12-inch woofer of a university course, problem 2 and 3: free air 80.2 g
// and 23.96 Hz, in a baffle 88.2 g and 22.9 Hz; Qes 0.49 and 0.515. (The course
// takes 6.79 g a side for a = 12.853 cm; with 1.2 kg/m^3 the difference between
// baffle and free air is that of one side.)
func TestMountingOfTheCourse(t *testing.T) {
	free := driver.Driver{Re: 5.46, BL: 11.6, Mms: 80.2e-3, Cms: 0.55e-3, Rms: 3.25}
	p := handmade.Known{Driver: free, Std: handmade.Std, Mass: true, Sd: math.Pi * 0.12853 * 0.12853}.Parameters(nil)
	r := ReferTo(p, param.Baffle, 0)
	for id, want := range map[param.ID]float64{param.Mms: 80.2e-3 + 6.79e-3, param.Cms: 0.55e-3, param.BL: 11.6, param.Fs: 23.96 * math.Sqrt(80.2/86.99)} {
		e, _ := r.Get(id)
		if math.Abs(e.Value/want-1) > 5e-4 {
			t.Errorf("%v in a baffle is %v, want %v", id, e.Value, want)
		}
	}
	qms, _ := r.Get(param.Qms)
	qes, _ := r.Get(param.Qes)
	qts, _ := r.Get(param.Qts)
	if got := qms.Value * qes.Value / (qms.Value + qes.Value); math.Abs(got/qts.Value-1) > 1e-9 {
		t.Errorf("Qts %v does not follow from Qms and Qes: %v", qts.Value, got)
	}
	before, _ := p.Get(param.Fs)
	after, _ := r.Get(param.Fs)
	if after.Std/after.Value <= before.Std/before.Value {
		t.Errorf("a conversion must cost certainty: %v to %v", before.Std, after.Std)
	}
	// An error of the mass counts less in the larger sum; that of the air comes in.
	mms, _ := p.Get(param.Mms)
	with, _ := r.Get(param.Mms)
	air := with.Value - mms.Value
	// (the mass and the diameter are the only errors of Mms here, and the second is none)
	if want := math.Hypot(mms.Std, airMassStd*air); math.Abs(with.Std/want-1) > 1e-6 {
		t.Errorf("uncertainty of Mms in a baffle %v, want %v", with.Std, want)
	}
	// There and back again.
	back := ReferTo(r.Parameters, param.FreeAir, 0)
	for i, id := range p.IDs {
		if id == param.Sd || MassSlope[id] == 0 {
			continue
		}
		if math.Abs(back.Scaled[i]-p.Scaled[i]) > 1e-12 {
			t.Errorf("%v does not come back: %v, was %v", id, back.Scaled[i], p.Scaled[i])
		}
	}
	// The argument is not written to.
	if again := (handmade.Known{Driver: free, Std: handmade.Std, Mass: true, Sd: math.Pi * 0.12853 * 0.12853}).Parameters(nil); again.Scaled[1] != p.Scaled[1] {
		t.Error("referTo changed its receiver")
	}
}

// A quantity that one side does not know cannot be compared.
func TestCommon(t *testing.T) {
	d := driver.Driver{Re: 5.46, BL: 11.6, Mms: 80.2e-3, Cms: 0.55e-3, Rms: 3.25}
	all := handmade.Known{Driver: d, Std: handmade.Std, Mass: true}.Parameters(nil)
	free := handmade.Known{Driver: d, Std: handmade.Std}.Parameters(nil)
	for _, c := range [][2]param.Parameters{{all, free}, {free, all}} {
		if got := Common(c[0], c[1], param.Fs, param.Mms, param.Re); !slices.Equal(got, []param.ID{param.Fs, param.Re}) {
			t.Errorf("both hold %v", got)
		}
	}
}
