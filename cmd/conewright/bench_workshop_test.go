package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/take"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/ts/repeat"
)

// shortSweep passes the resonances of the demo and is quick to compute.
var shortSweep = signal.Signal{Lo: 5, Hi: 2000, Duration: 6, Level: 0.02}

// virtualShop is a workshop of the virtual bench in an empty folder.
func virtualShop(t *testing.T) *workshop {
	t.Helper()
	v := newVirtualBench(1000)
	w := &workshop{folder: t.TempDir(), virtual: &v}
	if err := w.furnish(); err != nil {
		t.Fatal(err)
	}
	return w
}

// takeOne records what hangs on the virtual bench now.
func takeOne(t *testing.T, w *workshop) *take.Take {
	t.Helper()
	line, err := w.virtual.Open(context.Background(), "", "")
	if err != nil {
		t.Fatal(err)
	}
	took, err := take.Sweep(context.Background(), line, shortSweep, nil)
	if err != nil {
		t.Fatal(err)
	}
	return took
}

// The answer on the page is that of the command which it shows.
func TestAnswerIsThatOfTheCommand(t *testing.T) {
	w := virtualShop(t)
	j := w.begin()
	j, err := j.WithBench(j.Typed)
	if err != nil {
		t.Fatal(err)
	}
	if j, err = j.WithDriver(j.Name, j.Sheet, j.Typed); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	sweep := func() {
		t.Helper()
		next, err := j.Plan(benchjob.First, func(string) bool { return false })
		if err != nil {
			t.Fatal(err)
		}
		w.Prepare(next, "")
		took := takeOne(t, w)
		err = savefile.Write(filepath.Join(dir, next.File), false, func(f io.WriteSeeker) error {
			return sweeps.WriteWAV(f, took.Ch1, took.Ch2, took.Rate)
		})
		if err != nil {
			t.Fatal(err)
		}
		j = j.Recorded(next)
	}
	same := func(kind, headline string) {
		t.Helper()
		r, command, err := w.Answer(dir, j)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(command, "conewright "+kind+" ") || r.Headline != headline {
			t.Errorf("%s gives %q", command, r.Headline)
		}
		t.Chdir(dir)
		var out, errs bytes.Buffer
		run(words(command)[1:], strings.NewReader(""), &out, &errs)
		var want strings.Builder
		for _, line := range r.Body {
			want.WriteString(line + " ")
		}
		got := strings.Join(strings.Fields(out.String()), " ")
		if errs.Len() > 0 || !strings.Contains(got, strings.Join(strings.Fields(want.String()), " ")) || !strings.Contains(got, headline) {
			t.Errorf("%s says %s%s; the page says %s", command, out.String(), errs.String(), want.String())
		}
	}
	sweep()
	if j, err = j.WithMass("20.0 g"); err != nil {
		t.Fatal(err)
	}
	sweep()
	same("check", "OUT OF SPEC: Fs and Cms")
	if j, err = j.Repaired(); err != nil {
		t.Fatal(err)
	}
	sweep()
	if j, err = j.WithMass("20.0 g"); err != nil {
		t.Fatal(err)
	}
	sweep()
	same("compare", "IN SPEC")
	j.Sheet = ""
	same("compare", "")
	if err := os.WriteFile(w.lastBenchPath(), []byte(benchTable), 0o666); err != nil {
		t.Fatal(err)
	}
	same("compare", "")
	if _, command, err := w.Answer(dir, j); err != nil || !strings.Contains(command, "--bench") {
		t.Errorf("with a table of repeatability the command is %s, %v", command, err)
	}
}

// words takes a command apart as a shell does.
func words(command string) []string {
	var list []string
	word, inside := "", false
	for _, part := range strings.SplitAfter(command, "") {
		switch {
		case part == "'":
			inside = !inside
		case part == " " && !inside:
			list, word = append(list, word), ""
		default:
			word += part
		}
	}
	return append(list, word)
}

// The check finds that the inputs are exchanged, and takes the difference of their gains
// out: a driver reads right afterwards.
func TestCheckOfTheVirtualBench(t *testing.T) {
	w := virtualShop(t)
	recording := func() *bench.Recording {
		took := takeOne(t, w)
		rec, err := bench.NewRecording(took.Ch1, took.Ch2, float64(took.Rate), "check")
		if err != nil {
			t.Fatal(err)
		}
		return rec
	}
	if err := w.PrepareCheck(benchpage.Resistor, "walnut"); err == nil {
		t.Error("a resistor of walnut is taken")
	}
	if err := w.PrepareCheck(benchpage.Channels, ""); err != nil {
		t.Fatal(err)
	}
	c := benchpage.Checked{Channels: recording(), Ohm: "22.0 ohm"}
	if err := w.PrepareCheck(benchpage.Resistor, c.Ohm); err != nil {
		t.Fatal(err)
	}
	c.Resistor = recording()
	better, found, err := w.Check(map[string]string{"resistor": "10.02 ohm", "wiring": "probes", "swap-channels": "true"}, c)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != 3 || better["wiring"] != "resistor-first" || better["swap-channels"] != "" || filepath.Base(better["calibration"]) != "calibration-1.json" {
		t.Errorf("found %q, typed is %q", found, better)
	}
	// 1.0004 is the gain of input 2 over input 1 that the virtual bench has.
	if !strings.Contains(found[1], "+0.04 %") {
		t.Errorf("it says %q", found[1])
	}
	corrected, _, err := w.Settings(better)
	if err != nil {
		t.Fatal(err)
	}
	w.virtual.hang(func(float64) complex128 { return 80 }, noMishap, 9)
	for name, b := range map[string]bench.Bench{"corrected": corrected, "not corrected": {Resistor: 10.02}} {
		rec := recording()
		z, err := sweeps.Measure(rec, b)
		if err != nil {
			t.Fatal(err)
		}
		got := 0.0
		for _, v := range z.Z {
			got += real(v) / float64(len(z.Z))
		}
		if off := math.Abs(got/80 - 1); (off < 1e-3) != (name == "corrected") {
			t.Errorf("%s, 80 ohm read %g", name, got)
		}
	}
	c.Resistor = nil
	if _, _, err := w.Check(better, c); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(w.folder, "calibration-2.json")); err != nil {
		t.Error("the second calibration did not get a name of its own")
	}
}

// Values of a data sheet on the page give the sheet that conewright spec new gives. It replaces
// nothing, and what cannot be read is said of its field.
func TestPaperValues(t *testing.T) {
	w := &workshop{folder: t.TempDir()}
	dir := filepath.Join(w.folder, "left-woofer")
	typed := map[string]string{"name": "Larch 25", "fs": "31", "qts": "0.38 +- 10 %", "mms": "42.5 g", "nominal": "8 ohm", "vas": ""}
	path, err := w.NewSheet(dir, typed)
	if err != nil {
		t.Fatal(err)
	}
	var want, errs bytes.Buffer
	if run([]string{"spec", "new", "--name", "Larch 25", "--fs", "31Hz", "--qts", "0.38+-10%", "--mms", "42.5g", "--nominal", "8 ohm"}, strings.NewReader(""), &want, &errs) != 0 {
		t.Fatal(errs.String())
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != want.String() {
		t.Errorf("the sheet is\n%s%v, wanted\n%s", got, err, want.String())
	}
	if again, err := w.NewSheet(dir, typed); err != nil || again != path {
		t.Errorf("the same values once more give %s, %v", again, err)
	}
	typed["fs"] = "32"
	if other, err := w.NewSheet(dir, typed); err != nil || filepath.Base(other) != "paper-values-2.toml" {
		t.Errorf("other values give %s, %v", other, err)
	}
	if sheets := w.Sheets(); len(sheets) != 2 || sheets[0].Path != path || sheets[0].Name != "Larch 25 ("+filepath.Join("left-woofer", "paper-values-1.toml")+")" {
		t.Errorf("the sheets to choose from are %v", sheets)
	}
	for field, typed := range map[string]map[string]string{
		"paper-fs": {"fs": "31 mm"}, "paper-re": {"re": "5,6", "fs": "31"}, "paper-qts": {"qts": "1000"}, "sheet": {"name": "Larch 25"},
	} {
		_, err := w.NewSheet(dir, typed)
		var of *benchpage.FieldError
		if message, hint := wording.Error(err); !errors.As(err, &of) || of.Field != field || strings.Contains(message, "--") || hint == "" {
			t.Errorf("%q gives %#v: %s, %s", typed, err, message, hint)
		}
	}
	var of *benchpage.FieldError
	if _, _, err := w.Settings(map[string]string{"resistor": "ten"}); !errors.As(err, &of) || of.Field != "resistor" {
		t.Errorf("a wrong resistor gives %v", err)
	}
}

// benchTable is how a bench repeats that is worse than a usual one.
const benchTable = `
[repeatability.again]
Fs = "2.5 %"
Qms = "4 %"
Re = "0.3 %"
Fs-Qms = 0.20
Fs-Re = 0.00
Qms-Re = 0.00
degrees-of-freedom = 12
`

// The bench of the last time is known the next time, with how it repeats; a file that cannot
// be read gives no bench, and is not written over.
func TestLastBench(t *testing.T) {
	w := &workshop{folder: t.TempDir()}
	if got := w.begin().Typed; len(got) > 0 {
		t.Errorf("an empty folder has the bench %q", got)
	}
	typed := map[string]string{"resistor": "10.02 ohm", "wiring": "probes", "diameter": "210 mm"}
	if err := w.Keep(typed); err != nil {
		t.Fatal(err)
	}
	if got := w.begin().Typed; got["resistor"] != "10.02 ohm" || got["wiring"] != "probes" || len(got) != 2 {
		t.Errorf("the bench of the last time is %q", got)
	}
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(w.lastBenchPath(), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("resistor = \"10 ohm\"\n" + benchTable)
	if err := w.Keep(typed); err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(w.lastBenchPath()); err != nil || !strings.Contains(string(got), "10.02 ohm") || !strings.HasSuffix(string(got), benchTable) {
		t.Errorf("the bench is kept as\n%s", got)
	}
	_, cond, err := w.Settings(typed)
	if err != nil || cond.Repeatability[repeat.Again].Std != [3]float64{0.025, 0.04, 0.003} {
		t.Errorf("the fits of the page take %+v for the repeatability, %v", cond.Repeatability, err)
	}
	const broken = "resistor = [1"
	write(broken)
	if got := w.begin().Typed; len(got) > 0 {
		t.Errorf("a broken file gives %q", got)
	}
	if err := w.Keep(typed); err == nil {
		t.Error("a broken file is written over")
	}
	if _, _, err := w.Settings(typed); err == nil {
		t.Error("the repeatability in a broken file is passed over")
	}
	if got, err := os.ReadFile(w.lastBenchPath()); err != nil || string(got) != broken {
		t.Errorf("the broken file is now %q", got)
	}
}
