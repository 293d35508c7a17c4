//go:build outside

package sweeps

import (
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
)

// The same computation written with numpy and scipy gives the same impedance
// and the same noise figures.
func TestOutsideNumpyRecording(t *testing.T) {
	path := longRecording(t, signal.ExponentialSweep, 16)
	z, err := readFile(path, Options{Bench: bench.Bench{Resistor: 10}})
	if err != nil {
		t.Fatal(err)
	}
	for _, filters := range [][]string{nil, {"--upfirdn"}} {
		script := append([]string{"-B", "../testdata/benchmark/recording.py", path, "10"}, filters...)
		out, err := exec.Command("/usr/bin/python3", script...).Output()
		if err != nil {
			t.Fatal(err, string(err.(*exec.ExitError).Stderr))
		}
		rows := strings.Split(strings.TrimSpace(string(out)), "\n")
		if len(rows) != z.Len() {
			t.Fatalf("%d points, numpy has %d %v", z.Len(), len(rows), filters)
		}
		for i, row := range rows {
			var f, re, im, sigma float64
			if _, err := fmt.Sscan(row, &f, &re, &im, &sigma); err != nil {
				t.Fatal(err)
			}
			off := math.Sqrt(dsp.SqAbs(z.Z[i]-complex(re, im)) / dsp.SqAbs(z.Z[i]))
			if math.Abs(f/z.Freq[i]-1) > 1e-9 || off > 1e-8 || math.Abs(sigma/z.Sigma[i]-1) > 1e-4 {
				t.Errorf("at %.3f Hz: %v ohm, sigma %.4g; numpy %v at %.3f Hz: %v, %.4g",
					z.Freq[i], z.Z[i], z.Sigma[i], filters, f, complex(re, im), sigma)
			}
		}
	}
}
