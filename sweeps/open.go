// Package sweeps is how an impedance comes to be: test signals, two-channel
// recordings and text tables, the bench with its wiring and resistor, and the estimator
// that turns two channels into an impedance with its noise.
//
// The main path is one call, [Open]: it finds out what a file is from its
// content and returns a [measured.Impedance], whatever the file was. Behind it: bench, fault and
// signal, which callers use, and virtual, a bench that records a driver which exists only
// as numbers.
package sweeps

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/table"
	"conewright/sweeps/internal/wav"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Open reads one sweep from a file: a two-channel WAV, a text table or a
// Touchstone one-port. The kind is found from the content, not from the name.
func Open(path string, opt bench.Options) (measured.Impedance, error) {
	f, size, err := openFile(path)
	if err != nil {
		return measured.Impedance{}, err
	}
	defer f.Close()
	return Read(f, size, path, opt)
}

// OpenRecording opens a two-channel WAV file. The file stays open until the
// closer is called, because samples are fetched when they are needed.
func OpenRecording(path string) (*bench.Recording, io.Closer, error) {
	f, size, err := openFile(path)
	if err != nil {
		return nil, nil, err
	}
	rec, err := wav.ReadWAV(f, size, path)
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return rec, f, nil
}

// Read is [Open] for data that need not be a file. Source names it in messages.
func Read(data io.ReaderAt, size int64, source string, opt bench.Options) (measured.Impedance, error) {
	head := make([]byte, min(max(size, 0), 16))
	if err := wav.ReadFull(data, head, 0, source); err != nil {
		return measured.Impedance{}, err
	}
	if len(head) == 0 {
		return measured.Impedance{}, &fault.FormatError{File: source, Msg: "the file is empty", Advice: table.KindsHint}
	}
	if isWAV(head) {
		rec, err := wav.ReadWAV(data, size, source)
		if err != nil {
			return measured.Impedance{}, err
		}
		z, err := Estimate(rec, opt.Bench)
		if err != nil {
			return measured.Impedance{}, err
		}
		// What was wrong with the file concerns the sweep as well.
		for _, w := range rec.Warnings {
			if !slices.ContainsFunc(z.Warnings, func(n notice.Notice) bool { return n.Code == w.Code }) {
				z.Warnings = append(z.Warnings, w.Notice())
			}
		}
		return z, nil
	}
	if err := otherKind(head, source); err != nil {
		return measured.Impedance{}, err
	}
	if size > table.MaxTableBytes {
		return measured.Impedance{}, &fault.FormatError{File: source, Msg: fmt.Sprintf("the file has %d MB and is not a WAV recording", size>>20), Advice: table.KindsHint}
	}
	text := make([]byte, size)
	if err := wav.ReadFull(data, text, 0, source); err != nil {
		return measured.Impedance{}, err
	}
	if table.IsTouchstone(text) {
		return table.ReadTouchstone(text, source)
	}
	return table.ReadTable(text, source, opt)
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

// otherKind names common files that are mistaken for a sweep.
func otherKind(head []byte, source string) error {
	const convert = "export the recording as a two-channel WAV file"
	for _, k := range []struct{ magic, what, advice string }{
		{"fLaC", "a FLAC recording", "convert it, for example with: sox in.flac out.wav"},
		{"OggS", "an Ogg recording", convert},
		{"ID3", "an MP3 recording, which has lost what the measurement needs", "record again, as a WAV file"},
		{"\xff\xfb", "an MP3 recording, which has lost what the measurement needs", "record again, as a WAV file"},
		{"FORM", "an AIFF recording", "convert it, for example with: sox in.aiff out.wav"},
		{"caff", "a CAF recording", convert},
		{"riff\x2e\x91\xcf\x11", "a recording with 64-bit sizes (W64)", "convert it, for example with: ffmpeg -i in.w64 out.wav"},
		{"PK\x03\x04", "a spreadsheet or an archive", "save the table as text, for example as CSV"},
		{"\xd0\xcf\x11\xe0", "a spreadsheet", "save the table as text, for example as CSV"},
		{"%PDF", "a PDF document", "save the table as text, for example as CSV"},
	} {
		if strings.HasPrefix(string(head), k.magic) {
			return &fault.UnsupportedError{File: source, Msg: "this is " + k.what, Advice: k.advice}
		}
	}
	return nil
}

// openFile opens a regular file for reading.
func openFile(path string) (*os.File, int64, error) {
	fail := func(err error) (*os.File, int64, error) {
		msg := err.Error()
		var cause *fs.PathError
		if errors.As(err, &cause) {
			msg = cause.Err.Error()
		}
		return nil, 0, &fault.FormatError{File: path, Msg: "cannot be opened: " + msg, Err: err, Advice: "check the name of the file and the folder"}
	}
	// Looking before opening: opening a pipe waits for whoever writes to it.
	info, err := os.Stat(path)
	if err != nil {
		return fail(err)
	}
	if !info.Mode().IsRegular() {
		return nil, 0, &fault.FormatError{File: path, Msg: "this is a folder or a device, not a file", Advice: "give the name of a file"}
	}
	f, err := os.Open(path)
	if err != nil {
		return fail(err)
	}
	return f, info.Size(), nil
}
