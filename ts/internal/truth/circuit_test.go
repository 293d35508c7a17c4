package truth

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// circuits are the netlists of testdata/circuit and the same thing made of this package. A ladder of 512 steps
// misses a plate by the order of (|q|/512)², |q|² = f/200 Hz.
var circuits = map[string]struct {
	port            OnePort
	tolerance, rise float64 // relative, and per Hz
}{
	"box": {boxDriver().Loaded(Vented(boxDriver().Air, 0.035, 38, Losses{QL: 7, QA: 50, QP: 60})), 1e-8, 0},
	"surround": {func() OnePort {
		d := Lumped(6, 0.3e-3, 6, 0.012, 1e-3, 0.9, 0.01)
		d.Resonators = []Resonator{{M: 1.2e-3, K: 25000, R: 0.4, FrameK: 3000, FrameR: 0.05}}
		d.Frame = Frame{Mass: 0.4, K: 6250, R: 12}
		return d.Loaded(Mass{Kg: 0.01, Glue: 2000 / (2 * math.Pi), Q: 10})
	}(), 1e-9, 0},
	"ring": {Port(func(f float64) complex128 { // 40 µohm seen through 1 mH/0.02 µH
		return Section{L: 1e-3, Ring: Ring{R: 40e-6 * 1e-3 / 0.02e-6, Coupling: 0.9}}.Impedance(2 * math.Pi * f)
	}), 1e-9, 0},
	"plate": {Port(func(f float64) complex128 {
		return Section{L: 1e-3, Iron: Iron{Corner: 2 * math.Pi * 200}}.Impedance(2 * math.Pi * f)
	}), 1e-9, 1. / 200 / 512 / 512 / 6},
}

// checkCircuits compares what the simulator wrote into a directory.
func checkCircuits(t *testing.T, dir string) {
	for name, c := range circuits {
		text, err := os.ReadFile(filepath.Join(dir, name+".out"))
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSpace(string(text)), "\n")[1:]
		if len(lines) < 30 {
			t.Fatalf("%s: %d lines", name, len(lines))
		}
		for _, line := range lines {
			var v [3]float64
			for i, word := range strings.Fields(line) {
				if v[i], err = strconv.ParseFloat(word, 64); err != nil {
					t.Fatal(err)
				}
			}
			nearC(t, name, c.port.Z(v[0]), complex(v[1], v[2]), c.tolerance+c.rise*v[0])
		}
	}
}

func TestAgainstTheCircuitSimulator(t *testing.T) {
	checkCircuits(t, filepath.Join("testdata", "circuit"))
}
