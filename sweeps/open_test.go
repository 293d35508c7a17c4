package sweeps

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/internal/wav"
	"conewright/sweeps/signal"
)

// The name says nothing, the content everything.
func TestOpenByContent(t *testing.T) {
	dir := t.TempDir()
	want := testfiles.ThreeImpedances()
	for name, c := range map[string]struct{ text, columns string }{
		"table.wav":  {text: testfiles.PlainTable},
		"s1p.txt":    {text: "# Hz Z MA R 1\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n"},
		"plain.s1p":  {text: testfiles.PlainTable},
		"columns.md": {text: "20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n", columns: "f[Hz] |Z|[ohm] phase[deg]"},
		"utf16":      {text: testfiles.UTF16File(testfiles.PlainTable, false, true)},
		"utf16s1p":   {text: testfiles.UTF16File("# Hz Z MA R 1\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n", true, true)},
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := Open(path, bench.Options{Columns: c.columns})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		testfiles.CheckSweep(t, got, want, 1e-14)
		if got.Source != path {
			t.Errorf("%s: the source is %q", name, got.Source)
		}
	}
}

// A recording of 10 ohm in series with 8 ohm, both real: H = 8/18.
func TestOpenRecordingOfAResistor(t *testing.T) {
	s := signal.Signal{Kind: signal.ExponentialSweep, Rate: 8000, Lo: 20, Hi: 2000, Duration: 2, Level: 0.5}
	ch1, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	ch2 := make([]float64, len(ch1))
	for i := range ch1 {
		ch2[i] = ch1[i] * 8 / 18
	}
	path := filepath.Join(t.TempDir(), "table.txt")
	if err := wav.WriteWAVFile(path, ch1, ch2, 8000, false); err != nil {
		t.Fatal(err)
	}
	z, err := Open(path, bench.Options{Bench: bench.Bench{Resistor: 10}})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range z.Freq {
		if math.Abs(real(z.Z[i])-8) > 1e-3 || math.Abs(imag(z.Z[i])) > 1e-3 {
			t.Fatalf("%v ohm at %v Hz, want 8", z.Z[i], f)
		}
	}
	if z.Source != path || z.Freq[0] > 40 || z.Freq[z.Len()-1] < 1000 {
		t.Errorf("%d points of %q from %v to %v Hz", z.Len(), z.Source, z.Freq[0], z.Freq[z.Len()-1])
	}

	// The same file cut short: the warning of the reader reaches the sweep.
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	file = file[:len(file)-600]
	z, err = Read(strings.NewReader(string(file)), int64(len(file)), "cut.wav", bench.Options{Bench: bench.Bench{Resistor: 10}})
	if err != nil || !strings.Contains(testfiles.WarningCodes(z.Warnings), "wav-truncated") {
		t.Errorf("a cut recording gave the warnings %q and the error %v", testfiles.WarningCodes(z.Warnings), err)
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	for name, c := range map[string]struct {
		path, text string
		kind       error
		want       string
	}{
		"missing":     {"x.none", "", &fault.FormatError{}, "cannot be opened: no such file"},
		"folder":      {"x.dir", "", &fault.FormatError{}, "a folder or a device"},
		"empty":       {"x.1", "", &fault.FormatError{}, "the file is empty"},
		"prose":       {"x.2", "Dear customer,\nyour woofer is fine.\n", &fault.FormatError{}, "holds no table"},
		"short RIFF":  {"x.3", "RIFF", &fault.FormatError{}, "not a WAV file"},
		"FLAC":        {"x.4", "fLaC\x00\x00\x00\x22", &fault.UnsupportedError{}, "FLAC"},
		"Ogg":         {"x.5", "OggS\x00\x02", &fault.UnsupportedError{}, "Ogg"},
		"MP3 tag":     {"x.6", "ID3\x04\x00", &fault.UnsupportedError{}, "MP3"},
		"MP3":         {"x.7", "\xff\xfb\x90\x00", &fault.UnsupportedError{}, "MP3"},
		"AIFF":        {"x.8", "FORM\x00\x00\x00\x20AIFF", &fault.UnsupportedError{}, "AIFF"},
		"CAF":         {"x.9", "caff\x00\x01", &fault.UnsupportedError{}, "CAF"},
		"spreadsheet": {"x.10", "PK\x03\x04\x14\x00", &fault.UnsupportedError{}, "spreadsheet or an archive"},
		"old sheet":   {"x.11", "\xd0\xcf\x11\xe0\xa1\xb1", &fault.UnsupportedError{}, "spreadsheet"},
		"PDF":         {"x.12", "%PDF-1.7\n1 0 obj\n", &fault.UnsupportedError{}, "PDF"},
		"binary":      {"x.13", "\x89PNG\r\n\x1a\n\x00\x00\x00\x0d", &fault.FormatError{}, "neither a text table"},
		"mono":        {"x.14", string(testfiles.WavFile("RIFF", testfiles.FmtChunk(1, 1, 48000, 2, 16), testfiles.Chunk("data", -1, make([]byte, 8)))), &fault.UnsupportedError{}, "one channel"},
	} {
		switch name {
		case "missing":
		case "folder":
			if err := os.Mkdir(c.path, 0o700); err != nil {
				t.Fatal(err)
			}
		default:
			if err := os.WriteFile(c.path, []byte(c.text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		got, err := Open(c.path, bench.Options{Bench: bench.Bench{Resistor: 10}})
		if err == nil || got.Freq != nil || got.Source != "" {
			t.Errorf("%s: got %v, %v", name, got, err)
			continue
		}
		testfiles.CheckError(t, err, c.kind, c.want)
	}

	if _, err := Open(filepath.Join(dir, "x.none"), bench.Options{}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the cause of a missing file is lost: %v", err)
	}
	if rec, closer, err := OpenRecording("x.2"); rec != nil || closer != nil || err == nil {
		t.Errorf("prose opened as a recording: %v, %v, %v", rec, closer, err)
	}
}

func TestOpenW64(t *testing.T) {
	_, err := Open(filepath.Join("..", "testdata", "wav", "ffmpeg-16.w64"), bench.Options{})
	var unsupported *fault.UnsupportedError
	if !errors.As(err, &unsupported) || !strings.Contains(err.Error(), "W64") {
		t.Errorf("got %v", err)
	}
}

// A file that is no WAV may be large; it is not read.
func TestReadLargeFile(t *testing.T) {
	src := testfiles.Sparse{Head: []byte("20 6 1\n"), Size: 1 << 40}
	var err error
	used := testfiles.Allocated(func() { _, err = Read(src, src.Size, "x.txt", bench.Options{}) })
	testfiles.CheckError(t, err, &fault.FormatError{}, "not a WAV recording")
	if used > 1<<20 {
		t.Errorf("%d bytes were allocated", used)
	}
}

func TestReadDiskError(t *testing.T) {
	for after := range int64(len(testfiles.PlainTable)) {
		_, err := Read(testfiles.Failing{Data: []byte(testfiles.PlainTable), After: after}, int64(len(testfiles.PlainTable)), "x.txt", bench.Options{})
		if !errors.Is(err, testfiles.ErrDisk) {
			t.Fatalf("disk failing after %d bytes: got %v", after, err)
		}
	}
}
