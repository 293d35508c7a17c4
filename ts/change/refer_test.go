package change

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/refer"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Without mass and diameter nothing that depends on the air mass is judged.
func TestMountingThatCannotBeConverted(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	c, err := verdict.Check(p, verdict.Spec{Mounting: param.Baffle, Limits: []verdict.Limit{{ID: param.Fs, Lo: 1, Hi: 1000}, {ID: param.Re, Lo: 1, Hi: 1000}}})
	if err != nil {
		t.Fatal(err)
	}
	if c.Verdict != verdict.Undecided || c.Checks[0].Known || c.Checks[1].Verdict != verdict.InSpec || c.Next[0].Kind != verdict.DoMounting {
		t.Errorf("%+v, next %+v", c.Checks, c.Next)
	}
	other := refer.Clone(p)
	other.Mounting = param.Baffle
	var refusal *notice.Notice
	if _, err := Compare(p, other, Options{}); !errors.As(err, &refusal) || refusal.Code != "mounting-differs" {
		t.Errorf("compare across mountings: %v", err)
	}
}

// Handbook of copper: 0.393 %/K at 20 C, (234.5+t2)/(234.5+t1). From 20 to 30 C
// Re and Qes rise by 3.93 %.
func TestTemperature(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	r := refer.ReferTo(p, param.FreeAir, 303.15)
	for id, want := range map[param.ID]float64{param.Re: 1.0393, param.Qes: 1.0393, param.Fs: 1, param.Qms: 1} {
		a, _ := p.Get(id)
		b, _ := r.Get(id)
		if math.Abs(b.Value/a.Value-want) > 2e-5 {
			t.Errorf("%v changes by %v, want %v", id, b.Value/a.Value, want)
		}
	}
	// A cold driver is not a different one.
	cold := handmade.Woofer
	cold.Re *= (234.5 + 10) / (234.5 + 20)
	q := handmade.Known{Driver: cold, Std: handmade.Std}.Parameters(nil)
	q.Temperature = 283.15
	c, err := Compare(p, q, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if c.Causes[0].ID != NoChange {
		t.Errorf("10 K colder: %+v", c.Causes)
	}
}
