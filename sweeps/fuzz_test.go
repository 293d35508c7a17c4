package sweeps

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
)

func FuzzRead(f *testing.F) {
	paths, err := filepath.Glob("../testdata/wav/*.w*")
	if err != nil {
		f.Fatal(err)
	}
	seeds := []string{testfiles.PlainTable, "# Hz Z MA R 1\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n"}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			f.Fatal(err)
		}
		seeds = append(seeds, string(data))
	}
	testfiles.AddSeeds(f, seeds)
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := Read(bytes.NewReader(data), int64(len(data)), "x", Options{Bench: bench.Bench{Resistor: 10}})
		if err != nil {
			testfiles.CheckFailure(t, z, err)
			return
		}
		testfiles.CheckSound(t, z)
	})
}
