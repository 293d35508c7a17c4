package benchfile

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/ts/repeat"

	"github.com/spf13/pflag"
)

// found is a bench of which two kinds are known and one is assumed.
func found() repeat.Bench {
	b := repeat.Usual
	b[repeat.Again] = repeat.Scatter{Std: [3]float64{0.001, 0.004, 0.0005}, Correlation: [3]float64{0.25, -0.5, 0}, Dof: 10}
	b[repeat.Session] = repeat.Scatter{Std: [3]float64{0.0055, 0.014, 0.0032}, Correlation: [3]float64{-0.27, 0.1, 0}, Dof: 3.83}
	return b
}

// read returns what the bench file at path says of repeats.
func read(t *testing.T, path string) repeat.Bench {
	t.Helper()
	fs := pflag.NewFlagSet("test", pflag.ContinueOnError)
	fs.String("wiring", "", "")
	fs.String("resistor", "", "")
	b, err := Apply(path, fs)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// What is saved comes back, the rest of the file stays, what is assumed is not written, and a table that is there
// is replaced only when asked for.
func TestSave(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.toml")
	const head, tail = "# my bench\nwiring = \"probes\"  # both differential\n", "resistor = \"10 ohm\"\n"
	if err := os.WriteFile(path, []byte(head+tail), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Save(path, found(), false); err != nil {
		t.Fatal(err)
	}
	got, want := read(t, path), found()
	want[repeat.Reclamped] = repeat.Scatter{}
	for k := range want {
		for i := range want[k].Std { // percent and back
			if math.Abs(got[k].Std[i]-want[k].Std[i]) < 1e-15 {
				got[k].Std[i] = want[k].Std[i]
			}
		}
	}
	if got != want {
		t.Errorf("read %+v, saved %+v", got, want)
	}
	if err := Save(path, found(), false); err == nil || CanSave(path, false) == nil {
		t.Error("a table was replaced silently")
	}
	better := found()
	better[repeat.Session].Std[0] = 0.002
	if err := Save(path, better, true); err != nil {
		t.Fatal(err)
	}
	if got := read(t, path); got[repeat.Session].Std[0] != 0.002 {
		t.Errorf("replaced: %+v", got)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(string(text), head+tail) || strings.Count(string(text), "[repeatability.session]") != 1 {
		t.Errorf("the file is now\n%s", text)
	}
}

// Mistakes in the table are named with their place.
func TestTableRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"[repeatability.week]\nFs = \"1 %\"":                                      "week",
		"[repeatability.session]\nFx = \"1 %\"":                                   "Fx",
		"[repeatability.session]\nFs = \"1 Hz\"":                                  ":2:",
		"[repeatability.session]\nFs = \"1 %\"":                                   "how well it is known",
		"[repeatability]\nFs = \"1 %\"":                                           "no part",
		"[repeatability.session]\nFs = \"1 %\"\ndegrees-of-freedom = -1":          "no bench",
		"[repeatability.session]\nFs = \"80 %\"\ndegrees-of-freedom = 4":          "no bench",
		"[repeatability.again]\nFs-Qms = 2\nFs = \"1 %\"\ndegrees-of-freedom = 4": "no bench",
	} {
		path := filepath.Join(t.TempDir(), "bench.toml")
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := Apply(path, pflag.NewFlagSet("test", pflag.ContinueOnError))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// Summary says what was found, in few words.
func TestSummary(t *testing.T) {
	if got, want := Summary(found()), "again Fs 0.1 %, Qms 0.4 %, Re 0.05 %; session Fs 0.55 %, Qms 1.4 %, Re 0.32 %"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := Summary(repeat.Usual); got != "" {
		t.Errorf("%q of what is assumed", got)
	}
}
