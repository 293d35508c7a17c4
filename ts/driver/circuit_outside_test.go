//go:build outside

package driver_test

import (
	"math"
	"math/cmplx"
	"os/exec"
	"path/filepath"
	"testing"
)

// The simulator still prints what is committed.
func TestOutsideCircuitSimulator(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("../../testdata/circuit/make.sh", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, c := range circuits {
		freq, z := readSimulated(t, "../../testdata/circuit/"+c.name+".out")
		freqNow, now := readSimulated(t, filepath.Join(dir, c.name+".out"))
		if len(now) != len(z) {
			t.Fatalf("%s: %d rows, committed %d", c.name, len(now), len(z))
		}
		for i := range z {
			if !(math.Abs(freqNow[i]-freq[i]) <= 1e-12*freq[i]) || !(cmplx.Abs(now[i]-z[i]) <= 1e-10*cmplx.Abs(z[i])) {
				t.Errorf("%s at %v Hz: %v, committed %v", c.name, freq[i], now[i], z[i])
			}
		}
	}
}
