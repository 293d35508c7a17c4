package change

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// rubbed compares the woofer with what a coil that rubs makes a fit find: friction is the part share of the losses, and a
// fit that takes it for viscous is off beside it by the parts of the logarithm that simulations show.
func rubbed(t *testing.T, share float64, opt Options, also func(after *handmade.Known)) *Compared {
	t.Helper()
	after := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}
	size := -math.Log1p(-share)
	after.Driver.Rms *= math.Exp(0.9 * size)
	after.Driver.Re *= math.Exp(0.1 * size)
	after.Driver.Cms *= math.Exp(-0.05 * size)
	if also != nil {
		also(&after)
	}
	c, err := Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil), after.Parameters(nil), opt)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Friction that the harmonics show is named, and explains what it does to the fit: no mass, motor or suspension is
// blamed for it. Without the harmonics something else is.
func TestFrictionExplains(t *testing.T) {
	for _, share := range []float64{0.05, 0.2, 0.5} {
		c := rubbed(t, share, Options{Friction: Friction{After: share}}, nil)
		if len(c.Explanations) != 1 || causeIDs(c.Explanations[0]) != "friction" {
			t.Errorf("%g of the losses: %+v", share, c.Explanations)
			continue
		}
		want := 100 * (1/(1-share) - 1)
		if x := c.Causes[0]; math.Abs(x.Percent-want) > 1e-9*want || !(x.Low > 0 && x.Low < want && x.High > want) || x.Explanation != 1 {
			t.Errorf("%g of the losses: %+v", share, x)
		}
	}
	if c := rubbed(t, 0.5, Options{}, nil); causeIDs(c.Explanations[0]) == "friction" {
		t.Errorf("named without harmonics: %+v", c.Explanations)
	}
	// Friction that is gone.
	c, err := Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil),
		handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil), Options{Friction: Friction{Before: 0.1, After: 0.05}})
	if err != nil || causeIDs(c.Explanations[0]) != "friction-gone" || !(c.Causes[0].Percent < 0 && c.Causes[0].Low < c.Causes[0].High) {
		t.Errorf("%v, %+v", err, c)
	}
	// The same friction on both sides changes nothing.
	c, err = Compare(handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil),
		handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil), Options{Friction: Friction{Before: 0.2, After: 0.2}})
	if err != nil || causeIDs(c.Explanations[0]) != "no-change" {
		t.Errorf("%v, %+v", err, c)
	}
}

// What friction does not explain is still found beside it.
func TestFaultBesideFriction(t *testing.T) {
	c := rubbed(t, 0.1, Options{Friction: Friction{After: 0.1}}, func(after *handmade.Known) { after.Driver.Cms /= 1.38 })
	e := c.Explanations[0]
	if causeIDs(e) != "friction+suspension-stiffer" || math.Abs(e.Causes[1].Percent-38) > 6 {
		t.Errorf("%+v", c.Explanations)
	}
}

func TestFrictionIsAPart(t *testing.T) {
	known := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	for _, x := range []Friction{{Before: -0.1}, {After: 1.1}, {After: math.NaN()}} {
		_, err := Compare(known, known, Options{Friction: x})
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != "bad-friction" {
			t.Errorf("%+v: %v", x, err)
		}
	}
	if c, err := Compare(known, known, Options{Friction: Friction{After: 1}}); err != nil || !(c.Causes[0].High < 1e9) || param.Sq(c.Causes[0].Percent) == 0 {
		t.Errorf("%v, %+v", err, c)
	}
}
