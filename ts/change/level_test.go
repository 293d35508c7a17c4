package change

import (
	"math"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/param"
)

// A suspension that is 3 % softer in Fs and has 6 % more losses at four times the level has not changed; at the same level it
// has. What does not follow the suspension is judged as before.
func TestLevelAloneIsNoChange(t *testing.T) {
	known := func(change func(k *handmade.Known)) param.Parameters {
		k := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}
		change(&k)
		return k.Parameters(nil)
	}
	before := known(func(*handmade.Known) {})
	softer := known(func(k *handmade.Known) { k.Driver.Cms *= math.Exp(2 * 0.03); k.Driver.Rms *= math.Exp(0.06) })
	weaker := known(func(k *handmade.Known) { k.Driver.BL *= 0.95 })
	for _, c := range []struct {
		after   param.Parameters
		level   float64
		changed bool
	}{{softer, 0, true}, {softer, 1, true}, {softer, 4, false}, {softer, 0.25, false}, {weaker, 4, true}} {
		got, err := Compare(before, c.after, Options{Level: c.level})
		if err != nil {
			t.Fatal(err)
		}
		if is := causeIDs(got.Explanations[0]) != "no-change"; is != c.changed {
			t.Errorf("level %g: %+v, want changed %v", c.level, got.Explanations[0].Causes, c.changed)
		}
		if fs, _ := got.Change(param.Fs); c.level == 4 && fs.Changed() {
			t.Errorf("level %g: Fs is said to have changed: %+v", c.level, fs)
		}
	}
	for _, bad := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := Compare(before, before, Options{Level: bad}); err == nil {
			t.Errorf("a ratio of levels of %g was taken", bad)
		}
	}
}
