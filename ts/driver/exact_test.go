package driver_test

import (
	"bufio"
	"fmt"
	"math/cmplx"
	"os"
	"strings"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
)

// The drivers of testdata/exact. The lossy one is the woofer of the course
// problem, the plain one that of the preparatory-class reference.
var exactDrivers = map[string]driver.Driver{
	"plain":    handmade.StiffWoofer,
	"lossy":    handmade.WithCoil(handmade.CourseWoofer, driver.LossyCoil{0.0106, 0.76}),
	"two-part": {Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.TwoPartCoil{0.4e-3, 0.8e-3, 6}},
	"semi":     {Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.SemiCoil{0.2e-3, 1.1e-3, 0.09, 40}},
	"power":    {Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.PowerCoil{0.0021, 0.78, 0.0086, 0.7}},
	"creep":    {Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{0.008, 0.7}, Creep: 0.12},
}

// Source: testdata/exact/README.md, 40-digit arithmetic outside Go.
func TestExactImpedance(t *testing.T) {
	for name, d := range exactDrivers {
		freq, z := readTriples(t, "../../testdata/exact/"+name+".txt")
		if len(freq) != 16 {
			t.Errorf("%s: %d rows, want 16", name, len(freq))
		}
		for i, f := range freq {
			got := d.Impedance(f)
			if e := cmplx.Abs(got-z[i]) / cmplx.Abs(z[i]); e > 1e-12 {
				t.Errorf("%s at %v Hz: %v, want %v (relative error %.1e)", name, f, got, z[i], e)
			}
		}
	}
}

// readTriples reads rows of frequency, real and imaginary part; # begins a comment.
func readTriples(t *testing.T, path string) (freq []float64, z []complex128) {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		line := strings.TrimSpace(lines.Text())
		if line == "" || line[0] == '#' {
			continue
		}
		var f, re, im float64
		if _, err := fmt.Sscan(line, &f, &re, &im); err != nil {
			t.Fatalf("%s: %q: %v", path, line, err)
		}
		freq, z = append(freq, f), append(z, complex(re, im))
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return freq, z
}
