package table

import (
	"bytes"
	"reflect"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
	"conewright/ts/measured"
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

// checkWriteRead checks that a sweep survives being written as a table.
func checkWriteRead(t *testing.T, z measured.Impedance) {
	t.Helper()
	var b bytes.Buffer
	if err := WriteTable(&b, z); err != nil {
		t.Fatal(err)
	}
	got, err := ReadTable(b.Bytes(), z.Source, bench.Options{})
	if err != nil {
		t.Fatalf("%v in\n%s", err, b.String())
	}
	want := z
	want.Warnings = nil
	if !reflect.DeepEqual(got, want) {
		t.Errorf("read %v, wrote %v as\n%s", got, want, b.String())
	}
}

func FuzzReadTable(f *testing.F) {
	testfiles.AddSeeds(f, tableSeeds())
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := ReadTable(data, "x.txt", bench.Options{Bench: bench.Bench{Resistor: 10, ResistorTolerance: 0.01, Leads: 0.1}})
		if err != nil {
			testfiles.CheckFailure(t, z, err)
			return
		}
		testfiles.CheckSound(t, z)
		checkWriteRead(t, z)
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
		z, err := ReadTable([]byte("20.5 7.25 30.5 1\n31 40 -2 1\n200 6.5 -15.25 1\n"), "x.txt", bench.Options{Columns: string(columns), Bench: bench.Bench{Resistor: 10}})
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
		checkWriteRead(t, z)
	})
}
