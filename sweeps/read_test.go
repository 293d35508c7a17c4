package sweeps

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/signal"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// The name says nothing, the content everything.
func TestReadByContent(t *testing.T) {
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
		got, err := readFile(path, Options{Columns: c.columns})
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
func TestReadRecordingOfAResistor(t *testing.T) {
	s := signal.Signal{Kind: signal.ExponentialSweep, Rate: 8000, Lo: 20, Hi: 2000, Duration: 2, Level: 0.5}
	ch1, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	ch2 := make([]float64, len(ch1))
	for i := range ch1 {
		ch2[i] = ch1[i] * 8 / 18
	}
	var written testfiles.MemoryFile
	if err := WriteWAV(&written, ch1, ch2, 8000); err != nil {
		t.Fatal(err)
	}
	file := written.Bytes()
	z, err := Read(bytes.NewReader(file), int64(len(file)), "table.txt", Options{Bench: bench.Bench{Resistor: 10}})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range z.Freq {
		if math.Abs(real(z.Z[i])-8) > 1e-3 || math.Abs(imag(z.Z[i])) > 1e-3 {
			t.Fatalf("%v ohm at %v Hz, want 8", z.Z[i], f)
		}
	}
	if z.Source != "table.txt" || z.Freq[0] > 40 || z.Freq[z.Len()-1] < 1000 {
		t.Errorf("%d points of %q from %v to %v Hz", z.Len(), z.Source, z.Freq[0], z.Freq[z.Len()-1])
	}

	// The same file cut short: the warning of the reader reaches the sweep.
	file = file[:len(file)-600]
	z, err = Read(bytes.NewReader(file), int64(len(file)), "cut.wav", Options{Bench: bench.Bench{Resistor: 10}})
	if err != nil || !strings.Contains(testfiles.Codes(z.Warnings), "wav-truncated") {
		t.Errorf("a cut recording gave the warnings %q and the error %v", testfiles.Codes(z.Warnings), err)
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct{ text, code, kind string }{
		"empty":       {"", "file-empty", ""},
		"prose":       {"Dear customer,\nyour woofer is fine.\n", "table-none", ""},
		"short RIFF":  {"RIFF", "wav-not", ""},
		"FLAC":        {"fLaC\x00\x00\x00\x22", "file-kind", "flac"},
		"Ogg":         {"OggS\x00\x02", "file-kind", "ogg"},
		"MP3 tag":     {"ID3\x04\x00", "file-kind", "mp3"},
		"MP3":         {"\xff\xfb\x90\x00", "file-kind", "mp3"},
		"AIFF":        {"FORM\x00\x00\x00\x20AIFF", "file-kind", "aiff"},
		"CAF":         {"caff\x00\x01", "file-kind", "caf"},
		"spreadsheet": {"PK\x03\x04\x14\x00", "file-kind", "zip"},
		"old sheet":   {"\xd0\xcf\x11\xe0\xa1\xb1", "file-kind", "spreadsheet"},
		"PDF":         {"%PDF-1.7\n1 0 obj\n", "file-kind", "pdf"},
		"binary":      {"\x89PNG\r\n\x1a\n\x00\x00\x00\x0d", "text-not", ""},
		"mono":        {string(testfiles.WavFile("RIFF", testfiles.FmtChunk(1, 1, 48000, 2, 16), testfiles.Chunk("data", -1, make([]byte, 8)))), "wav-mono", ""},
	} {
		got, err := Read(strings.NewReader(c.text), int64(len(c.text)), "x.1", Options{Bench: bench.Bench{Resistor: 10}})
		if got.Freq != nil || got.Source != "" {
			t.Errorf("%s: got %v, %v", name, got, err)
		}
		var facts notice.Facts
		if c.kind != "" {
			facts = notice.Facts{"kind": c.kind}
		}
		testfiles.CheckError(t, err, c.code, 0, facts)
	}
	if rec, err := ReadRecording(strings.NewReader(testfiles.PlainTable), int64(len(testfiles.PlainTable)), "x.2"); rec != nil || testfiles.CheckNotice(t, err).Code != "wav-not" {
		t.Errorf("a table read as a recording: %v, %v", rec, err)
	}
}

func TestReadW64(t *testing.T) {
	_, err := readFile(filepath.Join("..", "testdata", "wav", "ffmpeg-16.w64"), Options{})
	if n := testfiles.CheckNotice(t, err); n.Code != "file-kind" || n.Text("kind") != "w64" {
		t.Errorf("got %v", err)
	}
}

// readFile reads a sweep from a file.
func readFile(path string, opt Options) (measured.Impedance, error) {
	f, err := os.Open(path)
	if err != nil {
		return measured.Impedance{}, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return measured.Impedance{}, err
	}
	return Read(f, info.Size(), path, opt)
}

// A file that is no WAV may be large; it is not read.
func TestReadLargeFile(t *testing.T) {
	src := testfiles.Sparse{Head: []byte("20 6 1\n"), Size: 1 << 40}
	var err error
	used := testfiles.Allocated(func() { _, err = Read(src, src.Size, "x.txt", Options{}) })
	testfiles.CheckError(t, err, "file-too-large", 0, nil)
	if used > 1<<20 {
		t.Errorf("%d bytes were allocated", used)
	}
}

func TestReadDiskError(t *testing.T) {
	for after := range int64(len(testfiles.PlainTable)) {
		_, err := Read(testfiles.Failing{Data: []byte(testfiles.PlainTable), After: after}, int64(len(testfiles.PlainTable)), "x.txt", Options{})
		if !errors.Is(err, testfiles.ErrDisk) {
			t.Fatalf("disk failing after %d bytes: got %v", after, err)
		}
	}
}
