package sweeps

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The name says nothing, the content everything.
func TestOpenByContent(t *testing.T) {
	dir := t.TempDir()
	want := threeImpedances()
	for name, c := range map[string]struct{ text, columns string }{
		"table.wav":  {text: plainTable},
		"s1p.txt":    {text: "# Hz Z MA R 1\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n"},
		"plain.s1p":  {text: plainTable},
		"columns.md": {text: "20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n", columns: "f[Hz] |Z|[ohm] phase[deg]"},
		"utf16":      {text: utf16File(plainTable, false, true)},
		"utf16s1p":   {text: utf16File("# Hz Z MA R 1\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n", true, true)},
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := Open(path, Options{Columns: c.columns})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		checkSweep(t, got, want, 1e-14)
		if got.Source != path {
			t.Errorf("%s: the source is %q", name, got.Source)
		}
	}
}

// A recording of 10 ohm in series with 8 ohm, both real: H = 8/18.
func TestOpenRecordingOfAResistor(t *testing.T) {
	s := Signal{Kind: ExponentialSweep, Rate: 8000, Lo: 20, Hi: 2000, Duration: 2, Level: 0.5}
	ch1, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	ch2 := make([]float64, len(ch1))
	for i := range ch1 {
		ch2[i] = ch1[i] * 8 / 18
	}
	path := filepath.Join(t.TempDir(), "table.txt")
	if err := WriteWAVFile(path, ch1, ch2, 8000, false); err != nil {
		t.Fatal(err)
	}
	z, err := Open(path, Options{Bench: Bench{Resistor: 10}})
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
	z, err = Read(strings.NewReader(string(file)), int64(len(file)), "cut.wav", Options{Bench: Bench{Resistor: 10}})
	if err != nil || !strings.Contains(warningCodes(z.Warnings), "wav-truncated") {
		t.Errorf("a cut recording gave the warnings %q and the error %v", warningCodes(z.Warnings), err)
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
		"missing":     {"x.none", "", &FormatError{}, "cannot be opened: no such file"},
		"folder":      {"x.dir", "", &FormatError{}, "a folder or a device"},
		"empty":       {"x.1", "", &FormatError{}, "the file is empty"},
		"prose":       {"x.2", "Dear customer,\nyour woofer is fine.\n", &FormatError{}, "holds no table"},
		"short RIFF":  {"x.3", "RIFF", &FormatError{}, "not a WAV file"},
		"FLAC":        {"x.4", "fLaC\x00\x00\x00\x22", &UnsupportedError{}, "FLAC"},
		"Ogg":         {"x.5", "OggS\x00\x02", &UnsupportedError{}, "Ogg"},
		"MP3 tag":     {"x.6", "ID3\x04\x00", &UnsupportedError{}, "MP3"},
		"MP3":         {"x.7", "\xff\xfb\x90\x00", &UnsupportedError{}, "MP3"},
		"AIFF":        {"x.8", "FORM\x00\x00\x00\x20AIFF", &UnsupportedError{}, "AIFF"},
		"CAF":         {"x.9", "caff\x00\x01", &UnsupportedError{}, "CAF"},
		"spreadsheet": {"x.10", "PK\x03\x04\x14\x00", &UnsupportedError{}, "spreadsheet or an archive"},
		"old sheet":   {"x.11", "\xd0\xcf\x11\xe0\xa1\xb1", &UnsupportedError{}, "spreadsheet"},
		"PDF":         {"x.12", "%PDF-1.7\n1 0 obj\n", &UnsupportedError{}, "PDF"},
		"binary":      {"x.13", "\x89PNG\r\n\x1a\n\x00\x00\x00\x0d", &FormatError{}, "neither a text table"},
		"mono":        {"x.14", string(badWAVs["one channel"].file), &UnsupportedError{}, "one channel"},
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
		got, err := Open(c.path, Options{Bench: Bench{Resistor: 10}})
		if err == nil || got.Freq != nil || got.Source != "" {
			t.Errorf("%s: got %v, %v", name, got, err)
			continue
		}
		checkError(t, err, c.kind, c.want)
	}

	if _, err := Open(filepath.Join(dir, "x.none"), Options{}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the cause of a missing file is lost: %v", err)
	}
	if rec, closer, err := OpenRecording("x.2"); rec != nil || closer != nil || err == nil {
		t.Errorf("prose opened as a recording: %v, %v, %v", rec, closer, err)
	}
}

func TestOpenW64(t *testing.T) {
	_, err := Open(filepath.Join("..", "testdata", "wav", "ffmpeg-16.w64"), Options{})
	var unsupported *UnsupportedError
	if !errors.As(err, &unsupported) || !strings.Contains(err.Error(), "W64") {
		t.Errorf("got %v", err)
	}
}

// A file that is no WAV may be large; it is not read.
func TestReadLargeFile(t *testing.T) {
	src := sparse{[]byte("20 6 1\n"), 1 << 40}
	var err error
	used := allocated(func() { _, err = Read(src, src.size, "x.txt", Options{}) })
	checkError(t, err, &FormatError{}, "not a WAV recording")
	if used > 1<<20 {
		t.Errorf("%d bytes were allocated", used)
	}
}

func TestReadDiskError(t *testing.T) {
	for after := range int64(len(plainTable)) {
		_, err := Read(failing{[]byte(plainTable), after}, int64(len(plainTable)), "x.txt", Options{})
		if !errors.Is(err, errDisk) {
			t.Fatalf("disk failing after %d bytes: got %v", after, err)
		}
	}
}
