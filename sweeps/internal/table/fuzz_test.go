package table

import (
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
)

func touchstoneSeeds() (seeds []string) {
	for _, c := range goodTouchstones {
		seeds = append(seeds, c.text)
	}
	for _, c := range badTouchstones {
		seeds = append(seeds, c.text)
	}
	return seeds
}

func tableSeeds() (seeds []string) {
	for _, c := range goodTables {
		seeds = append(seeds, c.text)
	}
	for _, c := range badTables {
		seeds = append(seeds, c.text)
	}
	for _, c := range badVolts {
		seeds = append(seeds, c.text)
	}
	return seeds
}

func FuzzRead(f *testing.F) {
	testfiles.AddSeeds(f, tableSeeds())
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := Read(data, "x.txt", "", bench.Bench{Resistor: 10, ResistorTolerance: 0.01, Leads: 0.1})
		if err != nil {
			testfiles.CheckFailure(t, z, err)
			return
		}
		testfiles.CheckSound(t, z)
	})
}

// FuzzColumns reads one table under any names for its columns.
func FuzzColumns(f *testing.F) {
	var seeds []string
	for _, c := range goodTables {
		seeds = append(seeds, splitLines(c.text)[0])
	}
	for _, way := range readings {
		seeds = append(seeds, "f[kHz] "+way.String()+" - V source[mV]")
	}
	testfiles.AddSeeds(f, seeds)
	f.Fuzz(func(t *testing.T, columns []byte) {
		z, err := Read([]byte("20.5 7.25 30.5 1\n31 40 -2 1\n200 6.5 -15.25 1\n"), "x.txt", string(columns), bench.Bench{Resistor: 10})
		if err != nil {
			testfiles.CheckFailure(t, z, err)
			return
		}
		testfiles.CheckSound(t, z)
	})
}

func FuzzReadTouchstone(f *testing.F) {
	testfiles.AddSeeds(f, touchstoneSeeds())
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := ReadTouchstone(data, "x.s1p")
		if err != nil {
			testfiles.CheckFailure(t, z, err)
			return
		}
		testfiles.CheckSound(t, z)
	})
}
