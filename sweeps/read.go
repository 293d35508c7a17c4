// Package sweeps is how an impedance comes to be: test signals, two-channel
// recordings and text tables, the bench with its wiring and resistor, and the estimator
// that turns two channels into an impedance with its noise.
//
// The main path is one call, [Read]: it finds out what a file is from its
// content and returns a [measured.Impedance], whatever the file was. Behind it: bench and
// signal, which callers use, and virtual, a bench that records a driver which exists only
// as numbers. Files are opened, and written, by the caller.
package sweeps

import (
	"io"
	"strings"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/table"
	"conewright/sweeps/internal/wav"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Options say how a file is to be read.
type Options struct {
	Bench   bench.Bench
	Columns string // what the columns of a table hold, such as "f[Hz] |Z|[ohm] phase[deg]"; "" to go by its header
}

// Read reads one sweep of size bytes: a two-channel WAV, a text table or a
// Touchstone one-port. The kind is found from the content. Source names it in messages.
func Read(data io.ReaderAt, size int64, source string, opt Options) (measured.Impedance, error) {
	if data == nil || size <= 0 {
		return measured.Impedance{}, notice.New("file-empty", nil).In(source)
	}
	head := make([]byte, min(size, 16))
	if err := wav.ReadFull(data, head, 0, source); err != nil {
		return measured.Impedance{}, err
	}
	if isWAV(head) {
		rec, err := wav.Read(data, size, source)
		if err != nil {
			return measured.Impedance{}, err
		}
		return Measure(rec, opt.Bench)
	}
	if kind := otherKind(head); kind != "" {
		return measured.Impedance{}, notice.New("file-kind", notice.Facts{"kind": kind}).In(source)
	}
	if size > table.MaxBytes {
		return measured.Impedance{}, notice.New("file-too-large", notice.Facts{"bytes": float64(size)}).In(source)
	}
	text := make([]byte, size)
	if err := wav.ReadFull(data, text, 0, source); err != nil {
		return measured.Impedance{}, err
	}
	if table.IsTouchstone(text) {
		return table.ReadTouchstone(text, source)
	}
	return table.Read(text, source, opt.Columns, opt.Bench)
}

// ReadRecording reads a two-channel WAV file of size bytes. Samples are fetched from data
// when they are needed.
func ReadRecording(data io.ReaderAt, size int64, source string) (*bench.Recording, error) {
	return wav.Read(data, size, source)
}

// isWAV says whether the file begins like a WAV file of any size and byte order.
func isWAV(head []byte) bool {
	if len(head) < 4 {
		return false
	}
	switch string(head[:4]) {
	case "RIFF", "RF64", "BW64", "RIFX":
		return true
	}
	return false
}

// otherKind names common files that are mistaken for a sweep, "" for none.
func otherKind(head []byte) string {
	for _, k := range []struct{ magic, kind string }{
		{"fLaC", "flac"},
		{"OggS", "ogg"},
		{"ID3", "mp3"},
		{"\xff\xfb", "mp3"},
		{"FORM", "aiff"},
		{"caff", "caf"},
		{"riff\x2e\x91\xcf\x11", "w64"},
		{"PK\x03\x04", "zip"},
		{"\xd0\xcf\x11\xe0", "spreadsheet"},
		{"%PDF", "pdf"},
	} {
		if strings.HasPrefix(string(head), k.magic) {
			return k.kind
		}
	}
	return ""
}
