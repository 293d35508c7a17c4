package verdict

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// What decides everything that is undecided is what decides each value, and holds what is proposed for the
// value that decided the verdict.
func TestDeciders(t *testing.T) {
	sweep := noisy(handmade.Woofer, 0, 0.01, 24, rand.New(rand.NewPCG(5, 7)))
	fit, err := estimate.Fit([]measured.Sweep{{Impedance: sweep}}, measured.Conditions{Alone: true})
	if err != nil {
		t.Fatal(err)
	}
	p := fit.Parameters
	near := func(id param.ID, sigmas float64) Limit { // a limit so far above the value that it is undecided
		e, _ := p.Get(id)
		return Limit{ID: id, Lo: math.Inf(-1), Hi: e.Value * (1 + sigmas*p.ScaledStd(p.Index(id)))}
	}
	check := func(limits ...Limit) *Checked {
		t.Helper()
		c, err := Check(p, Spec{Limits: limits, Mounting: p.Mounting})
		if err != nil || c.Verdict != Undecided {
			t.Fatal(c.Verdict, err)
		}
		return c
	}
	fs, qts := near(param.Fs, 1.5), near(param.Qts, 1.3)
	alone := check(fs)
	list := alone.Deciders()
	if len(list) == 0 || !alone.Next[0].Gains[0].Decides || list[0] != alone.Next[0].Action.bare() {
		t.Fatalf("%v, proposed %+v", list, alone.Next)
	}
	other := check(qts).Deciders()
	both := check(fs, qts).Deciders()
	if len(other) == 0 || slices.Equal(other, list) {
		t.Fatalf("Qts: %v, Fs: %v", other, list)
	}
	for _, a := range slices.Concat(list, other) {
		if slices.Contains(both, a) != (slices.Contains(list, a) && slices.Contains(other, a)) {
			t.Errorf("%v decides both: %v", a, slices.Contains(both, a))
		}
	}
	mass := check(Limit{ID: param.Mms, Lo: 0.04, Hi: 0.05}).Deciders()
	if !slices.Equal(mass, []Action{{Kind: DoAddedMass}}) {
		t.Errorf("for a mass that is not known: %v", mass)
	}
	if !LessWork(Action{Kind: DoMeter}, furtherSweeps[0]) || !LessWork(furtherSweeps[0], furtherSweeps[1]) || LessWork(mass[0], furtherSweeps[0]) {
		t.Error("the order of work")
	}
}
