package benchfile

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

func options() (*pflag.FlagSet, *string, *float64, *bool) {
	fs := pflag.NewFlagSet("t", pflag.ContinueOnError)
	cal := fs.String("calibration", "", "")
	r := fs.Float64("resistor", 0, "")
	swap := fs.Bool("swap-channels", false, "")
	if err := fs.SetAnnotation("calibration", PathAnnotation, nil); err != nil {
		panic(err)
	}
	return fs, cal, r, swap
}

func write(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "bench.toml")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestApply(t *testing.T) {
	path := write(t, "resistor = 10.02\nswap-channels = true\ncalibration = \"cal.json\"\n")
	fs, cal, r, swap := options()
	if err := fs.Parse([]string{"--resistor", "33"}); err != nil {
		t.Fatal(err)
	}
	if _, err := Apply(path, fs); err != nil {
		t.Fatal(err)
	}
	if *r != 33 || !*swap || *cal != filepath.Join(filepath.Dir(path), "cal.json") {
		t.Errorf("resistor %v, swap %v, calibration %v", *r, *swap, *cal)
	}
}

func TestApplyRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"resitor = 10\n":       `bench.toml:1:1: there is no key "resitor"`,
		"\nresistor = \"x\"\n": `bench.toml:2:12: must be a number`,
		"[resistor]\na = 1\n":  `bench.toml:1:2: there is no key "resistor.a"`,
		"swap-channels = 3\n":  `bench.toml:1:17: must be true`,
	} {
		path := write(t, text)
		for _, args := range [][]string{nil, {"--resistor", "5"}} { // an overridden mistake is still a mistake
			fs, _, r, _ := options()
			if err := fs.Parse(args); err != nil {
				t.Fatal(err)
			}
			_, err := Apply(path, fs)
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%q with %v: %v", text, args, err)
			}
			if args != nil && *r != 5 {
				t.Errorf("%q: the option became %v", text, *r)
			}
		}
	}
}
