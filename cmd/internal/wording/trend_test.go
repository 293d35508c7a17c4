package wording

import (
	"testing"

	"conewright/ts/friction"
)

func TestTrendSentence(t *testing.T) {
	trend := friction.Trend{Sweeps: 2, From: 0.1, To: 0.5, Stiffness: friction.Slope{PerVolt: -0.1, PerVoltStd: 0.02}, ForceFactor: friction.Slope{PerVolt: 0.005, PerVoltStd: 0.007}}
	want := "From 0.1 to 0.5 V at the terminals at the resonance the stiffness changes by -3.9 % (95 %: -5.4 to -2.4 %; -9.5 % for a volt), and the force factor moves by no more than -0.35 to +0.75 %."
	if got := Trend(trend); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	trend.Travel, trend.Stiffness.PerMetre, trend.Stiffness.PerMetreStd = [2]float64{0.06e-3, 0.3e-3}, -170, 34
	want = "From 0.1 to 0.5 V at the terminals at the resonance, 0.06 to 0.3 mm to either side, the stiffness changes by -3.9 % (95 %: -5.4 to -2.4 %; -9.5 % for a volt, -16 % for a millimetre), and the force factor moves by no more than -0.35 to +0.75 %."
	if got := Trend(trend); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}
