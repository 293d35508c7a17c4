package sweeps

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"conewright/ts"
)

// Options say how a file is to be read.
type Options struct {
	Bench   Bench
	Columns string // what the columns of a table hold, such as "f[Hz] |Z|[ohm] phase[deg]"; "" to go by its header
}

// Open reads one sweep from a file: a two-channel WAV, a text table or a
// Touchstone one-port. The kind is found from the content, not from the name.
func Open(path string, opt Options) (ts.Impedance, error) {
	f, size, err := openFile(path)
	if err != nil {
		return ts.Impedance{}, err
	}
	defer f.Close()
	return Read(f, size, path, opt)
}

// OpenRecording opens a two-channel WAV file. The file stays open until the
// closer is called, because samples are fetched when they are needed.
func OpenRecording(path string) (*Recording, io.Closer, error) {
	f, size, err := openFile(path)
	if err != nil {
		return nil, nil, err
	}
	rec, err := ReadWAV(f, size, path)
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return rec, f, nil
}

// Read is [Open] for data that need not be a file. Source names it in messages.
func Read(data io.ReaderAt, size int64, source string, opt Options) (ts.Impedance, error) {
	head := make([]byte, min(max(size, 0), 16))
	if err := readFull(data, head, 0, source); err != nil {
		return ts.Impedance{}, err
	}
	if len(head) == 0 {
		return ts.Impedance{}, &FormatError{File: source, Msg: "the file is empty", Advice: kindsHint}
	}
	if isWAV(head) {
		rec, err := ReadWAV(data, size, source)
		if err != nil {
			return ts.Impedance{}, err
		}
		return Estimate(rec, opt.Bench)
	}
	if size > maxTableBytes {
		return ts.Impedance{}, &FormatError{File: source, Msg: fmt.Sprintf("the file has %d MB and is not a WAV recording", size>>20), Advice: kindsHint}
	}
	text := make([]byte, size)
	if err := readFull(data, text, 0, source); err != nil {
		return ts.Impedance{}, err
	}
	return ReadTable(text, source, opt)
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

// openFile opens a regular file for reading.
func openFile(path string) (*os.File, int64, error) {
	fail := func(err error) (*os.File, int64, error) {
		msg := err.Error()
		var cause *fs.PathError
		if errors.As(err, &cause) {
			msg = cause.Err.Error()
		}
		return nil, 0, &FormatError{File: path, Msg: "cannot be opened: " + msg, Err: err, Advice: "check the name of the file and the folder"}
	}
	// Looking before opening: opening a pipe waits for whoever writes to it.
	info, err := os.Stat(path)
	if err != nil {
		return fail(err)
	}
	if !info.Mode().IsRegular() {
		return nil, 0, &FormatError{File: path, Msg: "this is a folder or a device, not a file", Advice: "give the name of a file"}
	}
	f, err := os.Open(path)
	if err != nil {
		return fail(err)
	}
	return f, info.Size(), nil
}
