package driver_test

import (
	"bufio"
	"fmt"
	"math/cmplx"
	"os"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
)

// circuits are the netlists of testdata/circuit and what they describe.
var circuits = []struct {
	name   string
	driver driver.Driver
	dM, dK float64 // kg, N/m
}{
	{"plain", handmade.WithCoil(handmade.CourseWoofer, driver.PlainCoil{2.8e-3}), 0, 0},
	{"lossy", handmade.WithCoil(handmade.CourseWoofer, driver.LossyCoil{0.0106, 0.76}), 0, 0},
	{"two-part", exactDrivers["two-part"], 0, 0},
	{"two-part-mass", exactDrivers["two-part"], 20e-3, 0},
	{"two-part-box", exactDrivers["two-part"], 0, 141900 * 0.0519 * 0.0519 / 22e-3},
	{"semi", exactDrivers["semi"], 0, 0},
	{"creep", driver.Driver{Re: 5.6, BL: 8, Mms: 30e-3, Cms: 0.75e-3, Rms: 1.5, Coil: driver.PlainCoil{1e-3}, Creep: 0.12}, 0, 0},
}

// A general circuit simulator, given masses and springs as inductors and
// capacitors behind a gyrator, computes the same impedance. Source: its
// printed result in testdata/circuit, see the README there.
func TestCircuitSimulator(t *testing.T) {
	for _, c := range circuits {
		freq, z := readSimulated(t, "../../testdata/circuit/"+c.name+".out")
		if len(freq) != 87 || freq[0] != 1 || freq[86] < 19999 {
			t.Fatalf("%s: %d rows from %v to %v Hz, want 87 from 1 to 20000", c.name, len(freq), freq[0], freq[len(freq)-1])
		}
		worst := 0.0
		for i, f := range freq {
			got := c.driver.LoadedImpedance(f, c.dM, c.dK)
			e := cmplx.Abs(got-z[i]) / cmplx.Abs(z[i])
			worst = max(worst, e)
			if !(e <= 1e-10) {
				t.Errorf("%s at %v Hz: %v, simulator %v", c.name, f, got, z[i])
			}
		}
		t.Logf("%s: largest relative difference %.1e", c.name, worst)
	}
}

// readSimulated reads the output of the simulator: a header line, then rows of
// frequency, real and imaginary part.
func readSimulated(t *testing.T, path string) (freq []float64, z []complex128) {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines := bufio.NewScanner(file)
	if !lines.Scan() {
		t.Fatalf("%s is empty", path)
	}
	for lines.Scan() {
		var f, re, im float64
		if _, err := fmt.Sscan(lines.Text(), &f, &re, &im); err != nil {
			t.Fatalf("%s: %q: %v", path, lines.Text(), err)
		}
		freq, z = append(freq, f), append(z, complex(re, im))
	}
	return freq, z
}
