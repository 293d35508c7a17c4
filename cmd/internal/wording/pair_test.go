package wording

import (
	"strings"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

func TestPairWords(t *testing.T) {
	for name, right := range map[string]driver.Driver{
		"pair-match":     handmade.Changed(func(d *driver.Driver) { d.Cms *= 1.03 }),
		"pair-same":      handmade.Woofer,
		"pair-stiff":     handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.25 }),
		"pair-light":     handmade.Changed(func(d *driver.Driver) { d.Mms *= 0.82 }),
		"pair-undecided": handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.1018 }),
		"pair-motor":     handmade.Changed(func(d *driver.Driver) { d.BL *= 0.85 }),
	} {
		set := func(d driver.Driver) param.Parameters {
			return handmade.Known{Driver: d, Std: handmade.Std, Mass: true}.Parameters(nil)
		}
		p, err := lot.Pair(set(handmade.Woofer), set(right), lot.PairOptions{})
		if err != nil {
			t.Fatal(err)
		}
		golden(t, name, strings.Join(Paired(p), "\n")+"\n")
	}
}

// A mass that leaves the pair out of its limits is no advice beside something
// that does not; alone it is said, with what it does not reach.
func TestFixesWorthSaying(t *testing.T) {
	soft := lot.PairFix{Side: lot.RightSide, What: lot.Soften, Percent: 20, Within: true}
	mass := lot.PairFix{Side: lot.RightSide, What: lot.AddMass, Percent: 20, Level: -1.7}
	for want, fixes := range map[string][]lot.PairFix{"soft": {soft, mass}, "mass": {mass}, "soft soft": {soft, soft, soft}} {
		p := &lot.Paired{Verdict: verdict.OutOfSpec, Checks: []lot.PairCheck{{Limit: lot.PairLimit{ID: param.Fs, Percent: 5}, Known: true}}, Fixes: fixes}
		var said []string
		for _, line := range Paired(p) {
			switch {
			case strings.HasPrefix(line, "A suspension"):
				said = append(said, "soft")
			case strings.HasPrefix(line, "A mass"):
				said = append(said, "mass")
			}
		}
		if got := strings.Join(said, " "); got != want {
			t.Errorf("said %q, want %q", got, want)
		}
	}
}
