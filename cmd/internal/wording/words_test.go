package wording

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares text with testdata/<name>.txt beside this package.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", "words", name+".txt")
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		if err := os.WriteFile(path+".got", []byte(got), 0o644); err != nil {
			t.Error(err)
		}
		t.Errorf("%s differs from %s; got:\n%s", name, path, got)
	}
}

// knownBench is one that repeats well and has found out how well.
var knownBench = repeat.Bench{repeat.Again: {Std: [3]float64{0.0005, 0.003, 0.0005}, Dof: 12}, repeat.Session: {Std: [3]float64{0.003, 0.01, 0.002}, Dof: 8}}

// One golden file for each state that a technician can meet.
func TestWords(t *testing.T) {
	fs, qts := handmade.Woofer.Fs(), handmade.Woofer.Qts()
	sheet := &verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: fs * 0.9, Hi: fs * 1.12}, {ID: param.Qts, Lo: qts * 0.8, Hi: qts * 1.2}, {ID: param.Re, Lo: 5.3, Hi: 5.9}}}
	stripped := handmade.Changed(func(d *driver.Driver) { d.Cms /= 0.6; d.Mms -= 2e-3 })
	for name, c := range map[string]struct {
		after          driver.Driver
		mass, stripped bool
		spec           *verdict.Spec
	}{
		"no-change":           {after: handmade.Woofer, mass: true, spec: sheet},
		"stiffer-out-of-spec": {after: handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.38 }), spec: sheet, mass: true},
		"stiffer-in-spec":     {after: handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.15 }), spec: sheet, mass: true},
		"near-the-limit":      {after: handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.25 }), spec: sheet, mass: true},
		"no-sheet":            {after: handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.38 })},
		"weak-motor-tie":      {after: handmade.Changed(func(d *driver.Driver) { d.BL *= 0.92 })},
		"weak-motor":          {after: handmade.Changed(func(d *driver.Driver) { d.BL *= 0.92 }), mass: true},
		"rubber-for-foam":     {after: handmade.Changed(func(d *driver.Driver) { d.Mms += 3e-3; d.Cms /= 1.3; d.Rms *= 1.5 }), mass: true, spec: sheet},
		"contact":             {after: handmade.Changed(func(d *driver.Driver) { d.Re += 0.3 }), spec: sheet},
		"stripped":            {after: handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.38 }), mass: true, stripped: true},
		"several-changes":     {after: handmade.Changed(func(d *driver.Driver) { d.Re *= 0.8; d.BL *= 1.2; d.Mms *= 1.3; d.Cms *= 1.4; d.Rms *= 0.5 }), mass: true},
		"bl-on-the-sheet":     {after: handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.1 }), spec: &verdict.Spec{Limits: []verdict.Limit{{ID: param.BL, Lo: 7.6, Hi: 8.4}, {ID: param.Re, Lo: 5.3, Hi: 5.9}}}},
	} {
		set := func(d driver.Driver) param.Parameters {
			return knownBench.Include(handmade.Known{Driver: d, Std: handmade.Std, Mass: c.mass, Sd: 0.022}.Parameters(nil), repeat.Again)
		}
		opt := change.Options{Spec: c.spec}
		if c.stripped {
			s := set(stripped)
			opt.Stripped = &s
		}
		got, err := change.Compare(set(handmade.Woofer), set(c.after), opt)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var b strings.Builder
		for _, line := range Compared(got) {
			b.WriteString(line + "\n")
		}
		for _, step := range Next(got) {
			b.WriteString("next: " + step.Do + " => " + step.Gain + "\n")
		}
		for _, w := range Notices(got.Warnings) {
			b.WriteString("warning: " + w.Message + " => " + w.Hint + "\n")
		}
		golden(t, name, b.String())
	}
}

// A long list of readings is cut off and counted; one too many is still named.
func TestManyReadingsAreCounted(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	for readings, want := range map[int]string{
		2: "1 named", 4: "3 named", 5: "4 named", 6: "3 named, And 2 more, each 5 % likely or less.",
	} {
		c := &change.Compared{Before: p, After: p}
		for range readings {
			c.Explanations = append(c.Explanations, change.Explanation{Causes: []change.Cause{{ID: change.MotorWeaker, Percent: -5, Low: -6, High: -4}}, Probability: 0.05})
		}
		named, more := 0, ""
		for _, line := range Compared(c) {
			if strings.HasPrefix(line, "Not ruled out") {
				named++
			}
			if strings.HasPrefix(line, "And ") {
				more = ", " + line
			}
		}
		if got := fmt.Sprintf("%d named%s", named, more); got != want {
			t.Errorf("%d readings: %s, want %s", readings, got, want)
		}
	}
}

// A reading that stands alone, but not surely, is not said as a fact.
func TestLoneReadingKeepsItsDoubt(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	for probability, unsure := range map[float64]bool{0.91: true, 0.97: false} {
		c := &change.Compared{Before: p, After: p, Explanations: []change.Explanation{{Causes: []change.Cause{{ID: change.MotorWeaker, Percent: -5, Low: -6, High: -4}}, Probability: probability}}}
		if said := strings.Contains(Compared(c)[0], "% likely"); said != unsure {
			t.Errorf("%v: %s", probability, Compared(c)[0])
		}
	}
}
