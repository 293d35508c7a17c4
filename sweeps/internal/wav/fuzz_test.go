package wav

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
)

func wavSeeds(f *testing.F) (seeds []string) {
	const small = 1 << 14
	for _, file := range allWAVs() {
		if len(file) <= small {
			seeds = append(seeds, string(file))
		}
	}
	names, err := filepath.Glob(filepath.Join("..", "..", "..", "testdata", "wav", "*.wav"))
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

func FuzzRead(f *testing.F) {
	testfiles.AddSeeds(f, wavSeeds(f))
	f.Fuzz(func(t *testing.T, file []byte) {
		const slack = 2 << 20
		var rec *bench.Recording
		var err error
		used := testfiles.Allocated(func() { rec, err = Read(bytes.NewReader(file), int64(len(file)), "x.wav") })
		if used > slack {
			t.Errorf("%d bytes were allocated for a file of %d", used, len(file))
		}
		if err != nil {
			if rec != nil {
				t.Error("a recording beside an error")
			}
			testfiles.CheckNotice(t, err)
			return
		}
		w, err := walk(bytes.NewReader(file), int64(len(file)), "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		form, err := parseFormat(w.format, "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		size := int64(rec.Frames) * int64(form.blockAlign)
		if rec.Frames < 1 || size > int64(len(file)) || !(rec.Rate >= minRate && rec.Rate <= maxRate) {
			t.Fatalf("%d frames at %v Hz in a file of %d bytes", rec.Frames, rec.Rate, len(file))
		}
		ch1, ch2 := make([]float64, rec.Frames), make([]float64, rec.Frames)
		if err := rec.Read(ch1, ch2, 0); err != nil {
			testfiles.CheckNotice(t, err)
			return
		}
		for i := range ch1 {
			if limit := 1.; !form.float && !(math.Abs(ch1[i]) <= limit && math.Abs(ch2[i]) <= limit) || math.IsNaN(ch1[i]) || math.IsNaN(ch2[i]) {
				t.Fatalf("frame %d is %v, %v", i, ch1[i], ch2[i])
			}
		}
		if !form.float {
			a, b := goAudio(t, form, file[w.dataStart:w.dataStart+size])
			if !reflect.DeepEqual(a, ch1) || !reflect.DeepEqual(b, ch2) {
				t.Error("go-audio reads other samples")
			}
		}
	})
}
