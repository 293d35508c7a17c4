package change

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
)

// Spider 60 %, old surround 40 % of the stiffness, new surround 1.8 times as
// stiff as the old one: the split gives that back, its 95 % intervals hold it in
// 95 % of all simulations, and one set with an added mass gives newtons a metre.
func TestStiffnessSplit(t *testing.T) {
	stripped, after := handmade.Woofer, handmade.Woofer
	stripped.Cms = handmade.Woofer.Cms / 0.6
	stripped.Mms -= 2e-3
	after.Cms = handmade.Woofer.Cms / (0.6 + 0.4*1.8)
	after.Mms += 1e-3
	rng := rand.New(rand.NewPCG(5, 7))
	var hits [4]int
	const runs = 2000
	for range runs {
		draw := func(string) float64 { return rng.NormFloat64() }
		set := func(d driver.Driver) param.Parameters {
			return handmade.Known{Driver: d, Std: handmade.Std}.Parameters(draw)
		}
		s := splitStiffness(set(handmade.Woofer), set(stripped), set(after))
		for i, c := range []struct{ lo, want, hi float64 }{
			{s.Spider.Low, 0.6, s.Spider.High}, {s.OldSurround.Low, 0.4, s.OldSurround.High},
			{s.NewSurround.Low, 0.72, s.NewSurround.High}, {s.NewToOld.Low, 1.8, s.NewToOld.High},
		} {
			if c.lo <= c.want && c.want <= c.hi {
				hits[i]++
			}
		}
	}
	for i, h := range hits {
		if rate := float64(h) / runs; math.Abs(rate-0.95) > 4*math.Sqrt(.95*.05/runs) {
			t.Errorf("part %d: interval holds the truth in %.1f %%", i, 100*rate)
		}
	}
	set := func(d driver.Driver, mass bool) param.Parameters {
		return handmade.Known{Driver: d, Std: handmade.Std, Mass: mass}.Parameters(nil)
	}
	s := splitStiffness(set(handmade.Woofer, false), set(stripped, true), set(after, false))
	if want := 0.72 / handmade.Woofer.Cms; math.Abs(s.NewSurround.Absolute/want-1) > 1e-9 || s.NewSurround.AbsoluteStd <= 0 {
		t.Errorf("new surround %v +- %v N/m, want %v", s.NewSurround.Absolute, s.NewSurround.AbsoluteStd, want)
	}
	if math.Abs(s.NewSurround.Compliance()*s.NewSurround.Absolute-1) > 1e-12 {
		t.Error("compliance is not one over stiffness")
	}
	if want := 3e-3; math.Abs(s.NewMass.Absolute-want) > 1e-9 {
		t.Errorf("moving mass of the new surround %v kg, want %v", s.NewMass.Absolute, want)
	}
	if part := splitStiffness(set(handmade.Woofer, false), set(handmade.Woofer, false), set(after, false)).OldSurround; part.Low > 0 || part.High < 0 {
		t.Errorf("nothing was taken off, yet the old surround is %+v", part)
	}
}
