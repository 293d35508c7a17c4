package ts

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
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

// changed returns the base driver changed by f.
func changed(f func(*Driver)) Driver {
	d := testOnlyWoofer
	f(&d)
	return d
}

// One golden file for each state that a technician can meet.
func TestWords(t *testing.T) {
	fs, qts := testOnlyWoofer.Fs(), testOnlyWoofer.Qts()
	sheet := &Spec{Limits: []Limit{{Fs, fs * 0.9, fs * 1.12}, {Qts, qts * 0.8, qts * 1.2}, {Re, 5.3, 5.9}}}
	stripped := changed(func(d *Driver) { d.Cms /= 0.6; d.Mms -= 2e-3 })
	for name, c := range map[string]struct {
		after          Driver
		mass, stripped bool
		spec           *Spec
	}{
		"no-change":           {after: testOnlyWoofer, mass: true, spec: sheet},
		"stiffer-out-of-spec": {after: changed(func(d *Driver) { d.Cms /= 1.38 }), spec: sheet, mass: true},
		"stiffer-in-spec":     {after: changed(func(d *Driver) { d.Cms /= 1.15 }), spec: sheet, mass: true},
		"near-the-limit":      {after: changed(func(d *Driver) { d.Cms /= 1.25 }), spec: sheet, mass: true},
		"no-sheet":            {after: changed(func(d *Driver) { d.Cms /= 1.38 })},
		"weak-motor-tie":      {after: changed(func(d *Driver) { d.BL *= 0.92 })},
		"weak-motor":          {after: changed(func(d *Driver) { d.BL *= 0.92 }), mass: true},
		"rubber-for-foam":     {after: changed(func(d *Driver) { d.Mms += 3e-3; d.Cms /= 1.3; d.Rms *= 1.5 }), mass: true, spec: sheet},
		"contact":             {after: changed(func(d *Driver) { d.Re += 0.3 }), spec: sheet},
		"stripped":            {after: changed(func(d *Driver) { d.Cms /= 1.38 }), mass: true, stripped: true},
		"several-changes":     {after: changed(func(d *Driver) { d.Re *= 0.8; d.BL *= 1.2; d.Mms *= 1.3; d.Cms *= 1.4; d.Rms *= 0.5 }), mass: true},
		"bl-on-the-sheet":     {after: changed(func(d *Driver) { d.Cms /= 1.1 }), spec: &Spec{Limits: []Limit{{BL, 7.6, 8.4}, {Re, 5.3, 5.9}}}},
	} {
		set := func(d Driver) Parameters {
			return known{driver: d, std: testOnlyStd, mass: c.mass, sd: 0.022}.parameters(nil)
		}
		opt := CompareOptions{Spec: c.spec}
		if c.stripped {
			s := set(stripped)
			opt.Stripped = &s
		}
		got, err := Compare(set(testOnlyWoofer), set(c.after), opt)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var b strings.Builder
		for _, line := range got.Explain() {
			b.WriteString(line + "\n")
		}
		for _, step := range got.Next {
			b.WriteString("next: " + step.Do + " => " + step.Gain + "\n")
		}
		for _, w := range got.Warnings {
			b.WriteString("warning: " + w.Message + " => " + w.Hint + "\n")
		}
		golden(t, name, b.String())
	}
}

// A long list of readings is cut off and counted; one too many is still named.
func TestManyReadingsAreCounted(t *testing.T) {
	p := known{driver: testOnlyWoofer, std: testOnlyStd}.parameters(nil)
	for readings, want := range map[int]string{
		2: "1 named", 4: "3 named", 5: "4 named", 6: "3 named, And 2 more, each 5 % likely or less.",
	} {
		c := &Compared{Before: p, After: p}
		for range readings {
			c.Explanations = append(c.Explanations, Explanation{Causes: []Cause{{ID: MotorWeaker, Percent: -5, Low: -6, High: -4}}, Probability: 0.05})
		}
		named, more := 0, ""
		for _, line := range c.Explain() {
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
	p := known{driver: testOnlyWoofer, std: testOnlyStd}.parameters(nil)
	for probability, doubt := range map[float64]bool{0.91: true, 0.97: false} {
		c := &Compared{Before: p, After: p, Explanations: []Explanation{{Causes: []Cause{{ID: MotorWeaker, Percent: -5, Low: -6, High: -4}}, Probability: probability}}}
		if said := strings.Contains(c.Explain()[0], "% likely"); said != doubt {
			t.Errorf("%v: %s", probability, c.Explain()[0])
		}
	}
}
