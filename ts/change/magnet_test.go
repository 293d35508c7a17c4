package change

import (
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/param"
)

// A magnet that is 2 K warmer is no change, unless both were measured in one session. It is no way to hide
// a motor that is 5 % weaker.
func TestWarmMagnetIsNoChange(t *testing.T) {
	sure := map[param.ID]float64{}
	for id, std := range handmade.Std {
		sure[id] = std / 10
	}
	motor := func(by float64) param.Parameters {
		k := handmade.Known{Driver: handmade.Woofer, Std: sure, Mass: true}
		k.Driver.BL *= by
		return k.Parameters(nil)
	}
	for _, c := range []struct {
		by          float64
		sameSession bool
		changed     bool
	}{{1 - 2*0.002, false, false}, {1 - 2*0.002, true, true}, {0.95, false, true}} {
		got, err := Compare(motor(1), motor(c.by), Options{SameSession: c.sameSession})
		if err != nil {
			t.Fatal(err)
		}
		if is := causeIDs(got.Explanations[0]) != "no-change"; is != c.changed {
			t.Errorf("BL times %g, one session %v: %+v, want changed %v", c.by, c.sameSession, got.Explanations[0].Causes, c.changed)
		}
	}
}
