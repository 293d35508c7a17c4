package wav

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
)

// The files in testdata/wav were written by sox and ffmpeg from one source.
func TestFilesOfCommonPrograms(t *testing.T) {
	checkCommonPrograms(t, filepath.Join("..", "..", "..", "testdata", "wav"))
}

func checkCommonPrograms(t *testing.T, dir string) {
	const frames = 240
	ch1, ch2 := make([]float64, frames), make([]float64, frames)
	for i := range frames {
		ch1[i] = float64(int16(37*i*i-20000*(i%3))) / 32768
		ch2[i] = float64(int16(12345*i+7)) / 32768
	}
	files := map[string]string{
		"source.wav": "", "sox-16.wav": "", "sox-24-extensible.wav": "", "sox-24-plain.wav": "", "sox-32-extensible.wav": "",
		"sox-f32.wav": "", "sox-f64.wav": "", "sox-16-pipe.wav": "wav-unfinished",
		"ffmpeg-16.wav": "", "ffmpeg-16-bext.wav": "", "ffmpeg-24-extensible.wav": "", "ffmpeg-24-rf64.wav": "",
		"ffmpeg-24-pipe.wav": "wav-unfinished", "ffmpeg-32-extensible.wav": "", "ffmpeg-f32.wav": "", "ffmpeg-f64.wav": "",
	}
	for name, warn := range files {
		rec, err := readFile(t, filepath.Join(dir, name))
		if err != nil {
			t.Error(err)
			continue
		}
		t.Run(name, func(t *testing.T) {
			if rec.Rate != 8000 {
				t.Errorf("rate %v, want 8000", rec.Rate)
			}
			testfiles.CheckFrames(t, rec, ch1, ch2)
			if got := testfiles.Codes(rec.Warnings); got != warn {
				t.Errorf("warnings %q, want %q", got, warn)
			}
		})
	}

	t.Run("sox-u8.wav", func(t *testing.T) { // 8 bits cannot be exact: half a step, and one at full scale
		rec, err := readFile(t, filepath.Join(dir, "sox-u8.wav"))
		if err != nil {
			t.Fatal(err)
		}
		a, b := make([]float64, frames), make([]float64, frames)
		if err := rec.Read(a, b, 0); err != nil {
			t.Fatal(err)
		}
		for i := range a {
			if math.Abs(a[i]-ch1[i]) > 1./128 || math.Abs(b[i]-ch2[i]) > 1./128 {
				t.Fatalf("frame %d is %v, %v, want about %v, %v", i, a[i], b[i], ch1[i], ch2[i])
			}
		}
	})

	for name, want := range map[string]string{"sox-mono.wav": "wav-mono", "sox-three.wav": "wav-many-channels", "sox-alaw.wav": "wav-compressed", "sox-rifx.wav": "wav-big-endian"} {
		rec, err := readFile(t, filepath.Join(dir, name))
		if n := testfiles.CheckNotice(t, err); rec != nil || n.Code != want {
			t.Errorf("%s: got %v, want %s", name, err, want)
		}
	}
}

// readFile reads a WAV file.
func readFile(t *testing.T, path string) (*bench.Recording, error) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return Read(bytes.NewReader(data), int64(len(data)), path)
}

func TestWriteThenRead(t *testing.T) {
	n := block + 17
	ch1, ch2 := make([]float64, n), make([]float64, n)
	for i := range ch1 {
		ch1[i] = float64(i*1009-4_000_000) / (1 << 23)
		ch2[i] = -ch1[i] / 2
		ch2[i] = math.Round(ch2[i]*(1<<23)) / (1 << 23)
	}
	ch1[0], ch2[0] = -1, 1 // 1 becomes the largest value below it
	var written testfiles.MemoryFile
	if err := Write(&written, ch1, ch2, 96000); err != nil {
		t.Fatal(err)
	}
	ch2[0] = 1 - 1./(1<<23)
	file := written.Bytes()
	rec, err := Read(bytes.NewReader(file), int64(len(file)), "x.wav")
	if err != nil {
		t.Fatal(err)
	}
	if rec.Rate != 96000 || len(rec.Warnings) != 0 {
		t.Errorf("%v Hz with warnings %v", rec.Rate, rec.Warnings)
	}
	testfiles.CheckFrames(t, rec, ch1, ch2)

	// The header, byte by byte: a plain one, tag 1, with true sizes.
	want := testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 96000, 6, 24), testfiles.Chunk("data", -1, file[44:]))
	if !bytes.Equal(file, want) {
		t.Errorf("header % x, want % x", file[:44], want[:44])
	}
}
