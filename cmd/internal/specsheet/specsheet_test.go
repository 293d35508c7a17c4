package specsheet

import (
	"errors"
	"math"
	"strings"
	"testing"

	"conewright/cmd/internal/settings"
	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

const larch = `name = "Larch 25 woofer"
source = "shop records, 6 healthy units"
mounting = "baffle"
temperature = "23 C"
[limits]
Re  = { nominal = "5.6 ohm", tolerance = "5 %" }
Fs  = { nominal = "31 Hz", tolerance = "1.5 Hz" }
Qts = { min = 0.38, max = 0.52 }
Cms = { nominal = 0.62, tolerance = "20 %" }
Qms = { min = "4" }
L1k = { max = "1 mH" }
[pair]
Fs = "4 %"
Qts = 8
[decision]
confidence = 0.99
`

func TestParse(t *testing.T) {
	spec, err := Parse([]byte(larch), "larch.toml")
	if err != nil {
		t.Fatal(err)
	}
	if spec.Name != "Larch 25 woofer" || spec.Source != "shop records, 6 healthy units" || spec.Mounting != param.Baffle ||
		math.Abs(spec.Temperature-296.15) > 1e-9 || spec.Confidence != 0.99 {
		t.Errorf("head %+v", spec)
	}
	want := []verdict.Limit{{ID: param.Re, Lo: 5.32, Hi: 5.88}, {ID: param.Fs, Lo: 29.5, Hi: 32.5}, {ID: param.Qms, Lo: 4, Hi: math.Inf(1)},
		{ID: param.Qts, Lo: 0.38, Hi: 0.52}, {ID: param.Cms, Lo: 0.496e-3, Hi: 0.744e-3}, {ID: param.L1k, Lo: math.Inf(-1), Hi: 1e-3}}
	if len(spec.Limits) != len(want) {
		t.Fatalf("limits %v", spec.Limits)
	}
	if len(spec.Pair) != 2 || spec.Pair[0] != (lot.PairLimit{ID: param.Fs, Percent: 4}) || spec.Pair[1] != (lot.PairLimit{ID: param.Qts, Percent: 8}) {
		t.Errorf("pair %v", spec.Pair)
	}
	near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-12*math.Abs(b) }
	for i, l := range spec.Limits {
		if l.ID != want[i].ID || !near(l.Lo, want[i].Lo) || !near(l.Hi, want[i].Hi) {
			t.Errorf("limit %d: %v, want %v", i, l, want[i])
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ text, message, hint string }{
		{"[limits]\nLe = { min = 3 }", `s.toml:2:1: there is no quantity "Le"`, "L1k is the one at 1 kHz"},
		{"[limits]\nF0 = { min = 3 }", `s.toml:2:1: there is no quantity "F0"`, "did you mean Fs?"},
		{"[limits]\nfs = { min = 3 }", `s.toml:2:1: there is no quantity "fs"`, "did you mean Fs?"},
		{"nane = \"x\"", `s.toml:1:1: there is no key "nane"`, "did you mean name?"},
		{"[limits]\nFs = { nominal = \"31 Hz\", tol = \"10 %\" }", `s.toml:2:27: there is no key "tol"`, "nominal, tolerance, min, max"},
		{"[limits]\nFs = { nominal = \"31 mm\", tolerance = \"10 %\" }", `s.toml:2:18: "31 mm" has the unit "mm"`, "Hz or kHz"},
		{"[limits]\nFs = 31", `s.toml:2:6: the limit of Fs is a single value`, `Fs = { nominal = "31", tolerance`},
		{"[limits]\nFs = { min = 34, max = 30 }", `s.toml:2:14: the lower limit of Fs, 34, is not below the upper one, 30`, "exchange"},
		{"[limits]\nFs = { min = -3 }", `s.toml:2:14: limits.Fs.min = -3 is out of range`, "unit"},
		{"[limits]\nfriction = { max = \"-1 mN\" }", `s.toml:2:20: limits.friction.max = -1 mN is out of range`, "unit"},
		{"[limits]\nfriction = { max = \"0 mN\" }", `s.toml:2:20: limits.friction.max = 0 mN is out of range`, "unit"},
		{"[limits]\ndistortion = { nominal = \"0 %\", tolerance = \"10 %\" }", `s.toml:2:26: limits.distortion.nominal = 0 % is out of range`, "unit"},
		{"[limits]\nFs = { min = nan }", `s.toml:2:14: "nan" is not a frequency`, "Hz"},
		{"[limits]\nFs = { nominal = 31 }", `s.toml:2:8: Fs has a nominal value without a tolerance`, "add the tolerance"},
		{"[limits]\nFs = { tolerance = \"10 %\" }", `s.toml:2:8: Fs has a tolerance without`, "min and max"},
		{"[limits]\nFs = { nominal = 31, tolerance = 2, max = 40 }", `s.toml:2:8: Fs has a nominal value and also`, "min and max"},
		{"[limits]\nFs = { nominal = 31, tolerance = \"120 %\" }", `out of range`, "unit"},
		{"[limits]\nFs = { nominal = 31, tolerance = \"40 Hz\" }", `must be above zero and below`, "10 %"},
		{"[decision]\nconfidence = 95", `s.toml:2:14: decision.confidence = 95 is out of range`, ""},
		{"mounting = \"wall\"", `s.toml:1:12: "wall" is not a mounting`, "baffle"},
		{"[pair]\nFz = \"4 %\"", `s.toml:2:1: a pair is not held to "Fz"`, "usual are"},
		{"[pair]\nFs = \"4 Hz\"", `s.toml:2:6: "4 Hz" has the unit "Hz"`, "%"},
		{"[pair]\nFs = \"0 %\"", `s.toml:2:6: the limit "0 %" of a pair in Fs is out of range`, "5 %"},
		{"[pair]\nFs = { max = 3 }", `s.toml:2:8: pair.Fs.max is not a limit of a pair`, "[pair]"},
		{"name = \"x\"", `s.toml: the sheet sets no limits`, "[limits]"},
		{"limits = 3", `s.toml:1:1: limits holds a value`, "[limits]"},
	} {
		spec, err := Parse([]byte(c.text), "s.toml")
		var e *settings.Error
		if !errors.As(err, &e) || spec.Limits != nil {
			t.Errorf("%q gives %v, %v", c.text, spec, err)
			continue
		}
		if !strings.Contains(e.Error(), c.message) || !strings.Contains(e.Hint(), c.hint) {
			t.Errorf("%q: error %q, hint %q", c.text, e.Error(), e.Hint())
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(larch))
	f.Add([]byte("[limits]\nFs = { min = 30 }\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		spec, err := Parse(data, "f")
		if (err != nil) != (spec.Limits == nil && spec.Pair == nil) {
			t.Fatalf("%v beside %v", spec, err)
		}
		for _, l := range spec.Limits {
			if !(l.Lo < l.Hi) {
				t.Fatalf("limit %v", l)
			}
		}
	})
}
