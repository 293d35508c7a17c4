package sweeps

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"conewright/ts"
)

// The fuzz functions take their seeds from the tables of the other tests, so
// that every dialect and every trap is a starting point. A plain go test runs
// the seeds and what was found before (testdata/fuzz).

func addSeeds(f *testing.F, seeds []string) {
	const fewest = 20
	if len(seeds) < fewest {
		f.Fatalf("only %d seeds were found", len(seeds))
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
}

func wavSeeds(f *testing.F) (seeds []string) {
	const small = 1 << 14
	for _, file := range allWAVs() {
		if len(file) <= small {
			seeds = append(seeds, string(file))
		}
	}
	names, err := filepath.Glob(filepath.Join("..", "testdata", "wav", "*.wav"))
	if err != nil || len(names) < 10 {
		f.Fatalf("the WAV files of common programs are missing: %v, %v", names, err)
	}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		seeds = append(seeds, string(b))
	}
	return seeds
}

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

// checkFailure checks that an error is of a kind that callers know, says what to
// do, and comes with nothing else.
func checkFailure(t *testing.T, z ts.Impedance, err error) {
	t.Helper()
	if !reflect.DeepEqual(z, ts.Impedance{}) {
		t.Errorf("%d points beside the error %v", z.Len(), err)
	}
	checkErrorKind(t, err)
}

func checkErrorKind(t *testing.T, err error) {
	t.Helper()
	var (
		format      *FormatError
		syntax      *SyntaxError
		unsupported *UnsupportedError
		bench       *BenchError
	)
	switch {
	case errors.As(err, &syntax):
		if syntax.Line < 1 {
			t.Errorf("error in line %d: %v", syntax.Line, err)
		}
	case errors.As(err, &format), errors.As(err, &unsupported), errors.As(err, &bench):
	default:
		t.Fatalf("error %v is a %T", err, err)
	}
	if h, ok := err.(interface{ Hint() string }); !ok || h.Hint() == "" {
		t.Errorf("error %v gives no advice", err)
	}
}

// checkSound checks that a sweep keeps what its type promises.
func checkSound(t *testing.T, z ts.Impedance) {
	t.Helper()
	if _, err := ts.NewImpedance(z.Freq, z.Z, z.Sigma); err != nil {
		t.Fatal(err)
	}
	for _, s := range z.Systematic {
		if len(s.Effect) != z.Len() || s.Source == "" {
			t.Fatalf("error %q has %d effects for %d points", s.Source, len(s.Effect), z.Len())
		}
	}
	for _, v := range z.Z {
		if z.MagnitudeOnly && imag(v) != 0 {
			t.Fatalf("a magnitude is %v", v)
		}
	}
	_ = warningCodes(z.Warnings)
}

// checkWriteRead checks that a sweep survives being written as a table.
func checkWriteRead(t *testing.T, z ts.Impedance) {
	t.Helper()
	var b bytes.Buffer
	if err := WriteTable(&b, z); err != nil {
		t.Fatal(err)
	}
	got, err := ReadTable(b.Bytes(), z.Source, Options{})
	if err != nil {
		t.Fatalf("%v in\n%s", err, b.String())
	}
	want := z
	want.Warnings = nil
	if !reflect.DeepEqual(got, want) {
		t.Errorf("read %v, wrote %v as\n%s", got, want, b.String())
	}
}

func FuzzReadWAV(f *testing.F) {
	addSeeds(f, wavSeeds(f))
	f.Fuzz(func(t *testing.T, file []byte) {
		const slack = 2 << 20
		var rec *Recording
		var err error
		used := allocated(func() { rec, err = ReadWAV(bytes.NewReader(file), int64(len(file)), "x.wav") })
		if used > slack {
			t.Errorf("%d bytes were allocated for a file of %d", used, len(file))
		}
		if err != nil {
			if rec != nil {
				t.Error("a recording beside an error")
			}
			checkErrorKind(t, err)
			return
		}
		src := rec.src.(*wavFrames)
		size := int64(rec.Frames) * int64(src.form.blockAlign)
		if rec.Frames < 1 || size > int64(len(file)) || !(rec.Rate >= minWAVRate && rec.Rate <= maxWAVRate) {
			t.Fatalf("%d frames at %v Hz in a file of %d bytes", rec.Frames, rec.Rate, len(file))
		}
		ch1, ch2 := make([]float64, rec.Frames), make([]float64, rec.Frames)
		if err := rec.Read(ch1, ch2, 0); err != nil {
			checkErrorKind(t, err)
			return
		}
		for i := range ch1 {
			if limit := 1.; !src.form.float && !(math.Abs(ch1[i]) <= limit && math.Abs(ch2[i]) <= limit) || math.IsNaN(ch1[i]) || math.IsNaN(ch2[i]) {
				t.Fatalf("frame %d is %v, %v", i, ch1[i], ch2[i])
			}
		}
		if !src.form.float {
			a, b := goAudio(t, src.form, file[src.start:src.start+size])
			if !reflect.DeepEqual(a, ch1) || !reflect.DeepEqual(b, ch2) {
				t.Error("go-audio reads other samples")
			}
		}
	})
}

func FuzzReadTable(f *testing.F) {
	addSeeds(f, tableSeeds())
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := ReadTable(data, "x.txt", Options{Bench: Bench{Resistor: 10, ResistorTolerance: 0.01, Leads: 0.1}})
		if err != nil {
			checkFailure(t, z, err)
			return
		}
		checkSound(t, z)
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
	addSeeds(f, seeds)
	f.Fuzz(func(t *testing.T, columns []byte) {
		z, err := ReadTable([]byte("20.5 7.25 30.5 1\n31 40 -2 1\n200 6.5 -15.25 1\n"), "x.txt", Options{Columns: string(columns), Bench: Bench{Resistor: 10}})
		if err != nil {
			checkFailure(t, z, err)
			return
		}
		checkSound(t, z)
	})
}

func FuzzReadTouchstone(f *testing.F) {
	addSeeds(f, touchstoneSeeds())
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := ReadTouchstone(data, "x.s1p")
		if err != nil {
			checkFailure(t, z, err)
			return
		}
		checkSound(t, z)
		checkWriteRead(t, z)
	})
}

func FuzzRead(f *testing.F) {
	seeds := append(append(wavSeeds(f), tableSeeds()...), touchstoneSeeds()...)
	addSeeds(f, seeds)
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := Read(bytes.NewReader(data), int64(len(data)), "x", Options{Bench: Bench{Resistor: 10}})
		if err != nil {
			checkFailure(t, z, err)
			return
		}
		checkSound(t, z)
	})
}
