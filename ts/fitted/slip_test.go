package fitted_test

import (
	"math"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// of is a driver with a moving mass in kg and a cone diameter in m.
func of(mms, diameter float64) param.Parameters {
	return param.Parameters{IDs: []param.ID{param.Re, param.Mms, param.Sd},
		Scaled: []float64{math.Log(5.6), math.Log(mms), math.Log(driver.SdFromDiameter(diameter))},
		Origin: make([]param.Origin, 3), Coverage: 1.96, Temperature: 293.15}
}

// Real sizes, from data sheets from memory: none of them is refused.
func TestSlipLeavesRealDrivers(t *testing.T) {
	for _, d := range []struct {
		what               string
		grams, millimetres float64
	}{
		{"headphone", 0.1, 36}, {"dome", 0.3, 27}, {"small woofer", 3.5, 40}, {"full-range", 6.6, 165},
		{"six-inch woofer", 14, 130}, {"ten-inch woofer", 43, 210}, {"guitar twelve", 28, 260}, {"light fifteen", 55, 330},
		{"car woofer ten", 250, 208}, {"eighteen", 420, 395},
	} {
		if n := fitted.Slip(nil, of(d.grams/1e3, d.millimetres/1e3), measured.Conditions{}); n != nil {
			t.Errorf("%s: %v", d.what, n)
		}
	}
}

func TestSlipNamesWhatExplainsIt(t *testing.T) {
	mass := func(kg float64) []measured.Sweep {
		return []measured.Sweep{{Load: measured.Load{Kind: measured.AddedMass, Value: kg}}}
	}
	box := []measured.Sweep{{Load: measured.Load{Kind: measured.KnownBox, Value: 0.02}}}
	for _, c := range []struct {
		what                     string
		sweeps                   []measured.Sweep
		mms, diameter            float64
		massTimes, diameterTimes float64
	}{
		{"10 in as 10 mm", mass(0.020), 0.043, 0.010, 0, 25.4},
		{"20 g as 2 g", mass(0.002), 0.0043, 0.210, 10, 0},
		{"20 g as 200 g", mass(0.200), 0.430, 0.130, 0.1, 0},
		{"10 in as 10 mm on a box", box, 0.043 / math.Pow(25.4, 4), 0.010, 0, 25.4},
		{"nothing explains it", nil, 1e-4, 0.4, 0, 0},
	} {
		n := fitted.Slip(c.sweeps, of(c.mms, c.diameter), measured.Conditions{})
		if n == nil {
			t.Errorf("%s: not refused", c.what)
			continue
		}
		if n.Code != "mass-not-of-cone" || n.Num("mass-times") != c.massTimes || n.Num("diameter-times") != c.diameterTimes {
			t.Errorf("%s: %v", c.what, n)
		}
	}
}

func TestUnusualRe(t *testing.T) {
	p := of(0.04, 0.2)
	for re, want := range map[float64]bool{5.6: false, 0.31: false, 99: false, 0.29: true, 561: true} {
		p.Scaled[0] = math.Log(re)
		if got := fitted.UnusualRe(p); (got != nil) != want {
			t.Errorf("%g ohm: %v", re, got)
		}
	}
}
