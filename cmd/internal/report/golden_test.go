package report

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/lot"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

var update = flag.Bool("update", false, "write the golden files of text, JSON and CSV anew")

// goldenReports are the states of a report, made by the real builders from
// values that are written down here.
func goldenReports(t *testing.T) map[string]*Report {
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	job := func(sides ...string) Job {
		return Job{Version: "0.0.0", Inputs: sampleInputs(sides...), Spec: &SpecInput{Path: "larch.toml", SHA256: "5e1f", Name: "Larch 25 woofer"}}
	}
	side := func(label string, d driver.Driver, rel float64, masses ...float64) Side {
		s := sampleSide(1, label, d, rel, masses...)
		s.Bench = sampleBench
		s.Parameters = repeat.Usual.Include(s.Parameters, repeat.Again)
		return s
	}
	spec := sampleSpec()
	list := map[string]*Report{}

	mass := side("", sampleTired, 0.003, 0.02)
	mass.Fitted.Methods = []fitted.MassMethod{{Name: "frequencies", Value: 0.0296, Std: 0.0004}, {Name: "joint fit", Value: 0.03, Std: 0.0001}}
	mass.Noticed = []wording.Said{{Code: "hum", Message: "there is mains hum", Hint: "keep the leads away from transformers"}}
	loaded := job("")
	loaded.Inputs = append(loaded.Inputs, saved.Input{Path: "sweeps/heavy.wav", SHA256: "b1", Load: measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 5e-5}})
	list["fit-with-warning"] = Fit(loaded, mass)

	for name, s := range map[string]Side{
		"check-in": side("", sampleTired, 0.003), "check-out": side("", sampleStiff, 0.003), "check-undecided": side("", sampleTired, 0.1),
	} {
		c, err := verdict.Check(s.Parameters, spec)
		must(err)
		list[name] = Check(job(""), s, c)
	}
	near := side("", sampleTired, 0.001) // inside by the sweep itself, but less than a second one may move it
	nearSpec := spec
	nearSpec.Limits = []verdict.Limit{{ID: param.Fs, Lo: math.Inf(-1), Hi: 30.7}}
	c, err := verdict.Check(near.Parameters, nearSpec)
	must(err)
	list["check-one-sweep"] = Check(job(""), near, c)

	meter := side("", sampleTired, 0.003) // the meter reads Re a fifth higher than the sweep, which Qts depends on
	meter.Parameters.MeterOff = 0.2
	c, err = verdict.Check(meter.Parameters, spec)
	must(err)
	list["check-meter"] = Check(job(""), meter, c)

	needsMass := spec
	needsMass.Limits = []verdict.Limit{{ID: param.BL, Lo: 7, Hi: math.Inf(1)}}
	free := side("", sampleTired, 0.003)
	free.Fitted, free.Curves = nil, nil // from a saved fit
	c, err = verdict.Check(free.Parameters, needsMass)
	must(err)
	list["check-not-known"] = Check(job(""), free, c)

	heavier := sampleTired // heavier and stiffer by the same part, or a weaker motor
	heavier.Mms, heavier.Cms, heavier.Rms = heavier.Mms*1.2, heavier.Cms/1.2, heavier.Rms*1.2
	for name, with := range map[string]struct {
		after driver.Driver
		spec  *verdict.Spec
	}{"compare-out": {sampleStiff, &spec}, "compare-without-sheet": {sampleStiff, nil}, "compare-tie": {heavier, nil}, "compare-no-change": {sampleTired, &spec}} {
		sides := []Side{side("before", sampleTired, 0.003), side("after", with.after, 0.003)}
		c, err := change.Compare(sides[0].Parameters, sides[1].Parameters, change.Options{Spec: with.spec})
		must(err)
		j := job("before", "after")
		if with.spec == nil {
			j.Spec = nil
		}
		list[name] = Compare(j, sides, c)
	}

	for name, right := range map[string]driver.Driver{"pair": sampleTired, "pair-not": sampleStiff} {
		sides := []Side{side("left", sampleTired, 0.003), side("right", right, 0.003)}
		p, err := lot.Pair(sides[0].Parameters, sides[1].Parameters, lot.PairOptions{})
		must(err)
		list[name] = Pair(job("left", "right"), sides, p)
	}

	lot, err := NewLot(&spec, nil)
	must(err)
	for i, d := range []driver.Driver{sampleTired, sampleStiff, sampleTired} {
		u := &batch.Unit{Name: fmt.Sprintf("larch-%d", i+1), Inputs: sampleInputs(""), Parameters: side("", d, 0.003).Parameters}
		u.Checked, err = verdict.Check(u.Parameters, spec)
		must(err)
		lot.Add(u)
	}
	lot.Add(&batch.Unit{Name: "larch-4", Failed: &batch.Failure{Message: "larch-4.wav: both channels are silent"}})
	list["batch"] = Batch(job(""), sampleBench, lot)
	return list
}

// Every state of a report, as text, JSON and CSV, is that of the golden files.
func TestGolden(t *testing.T) {
	reports := goldenReports(t)
	for _, name := range slices.Sorted(maps.Keys(reports)) {
		for ending, render := range map[string]func(io.Writer, *Report) error{"txt": Text, "json": JSON, "csv": CSV} {
			r := reports[name]
			if r.Lot != nil && ending == "csv" {
				continue // the units of a lot are written one by one
			}
			var b bytes.Buffer
			if err := render(&b, r); err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", "golden", name+"."+ending)
			if *update {
				if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if problem := goldenDiffers(b.String(), string(want)); problem != "" {
				if err := os.WriteFile(path+".got", b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
				t.Errorf("%s: %s (see %s.got; -update accepts it)", path, problem, path)
			}
			if ending == "json" && !json.Valid(b.Bytes()) {
				t.Errorf("%s is not JSON", path)
			}
		}
	}
}

var decimalNumber = regexp.MustCompile(`-?\d+\.\d+(e[-+]\d+)?`)

// goldenDiffers compares to the letter, except that numbers with many digits may
// differ in the ninth: processors may round a fused multiplication and addition
// differently. Rounded numbers must be equal.
func goldenDiffers(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if decimalNumber.ReplaceAllString(g[i], "#") != decimalNumber.ReplaceAllString(w[i], "#") {
			return fmt.Sprintf("line %d is %.120q, not %.120q", i+1, g[i], w[i])
		}
		a, b := decimalNumber.FindAllString(g[i], -1), decimalNumber.FindAllString(w[i], -1)
		for k := range a {
			x, _ := strconv.ParseFloat(a[k], 64)
			y, _ := strconv.ParseFloat(b[k], 64)
			if a[k] != b[k] && (len(b[k]) < 10 || math.Abs(x-y) > 1e-9*math.Abs(y)+1e-15) {
				return fmt.Sprintf("line %d has %s, not %s", i+1, a[k], b[k])
			}
		}
	}
	if len(g) != len(w) {
		return fmt.Sprintf("%d lines, not %d", len(g), len(w))
	}
	return ""
}

// The comparison must be able to fail.
func TestGoldenDiffers(t *testing.T) {
	const want = "Fs 31.09 Hz\n\"value\": 5.580026520680377,"
	for got, same := range map[string]bool{
		want: true,
		"Fs 31.09 Hz\n\"value\": 5.580026520680399,": true,
		"Fs 31.10 Hz\n\"value\": 5.580026520680377,": false,
		"Fs 31.09 Hz\n\"value\": 5.580027520680377,": false,
		"Fs 31.09 Hz\n\"walue\": 5.580026520680377,": false,
		"Fs 31.09 Hz": false,
	} {
		if (goldenDiffers(got, want) == "") != same {
			t.Errorf("%q", got)
		}
	}
}
