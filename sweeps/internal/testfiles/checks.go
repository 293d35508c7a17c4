// Package testfiles builds files byte by byte for tests, and checks what was
// read from them.
package testfiles

import (
	"bytes"
	"errors"
	"reflect"
	"testing"
	"unicode/utf16"

	"conewright/sweeps/fault"
	"conewright/ts/measured"
)

// The fuzz functions take their seeds from the tables of the other tests, so
// that every dialect and every trap is a starting point. A plain go test runs
// the seeds and what was found before (testdata/fuzz).

// AddSeeds gives the fuzzer its starting points.
func AddSeeds(f *testing.F, seeds []string) {
	const fewest = 20
	if len(seeds) < fewest {
		f.Fatalf("only %d seeds were found", len(seeds))
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
}

// CheckFailure checks that an error is of a kind that callers know, says what to
// do, and comes with nothing else.
func CheckFailure(t *testing.T, z measured.Impedance, err error) {
	t.Helper()
	if !reflect.DeepEqual(z, measured.Impedance{}) {
		t.Errorf("%d points beside the error %v", z.Len(), err)
	}
	CheckErrorKind(t, err)
}

// CheckErrorKind checks that an error is of a kind that callers know and gives
// advice.
func CheckErrorKind(t *testing.T, err error) {
	t.Helper()
	var (
		format      *fault.FormatError
		syntax      *fault.SyntaxError
		unsupported *fault.UnsupportedError
		bench       *fault.BenchError
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

// CheckSound checks that a sweep keeps what its type promises.
func CheckSound(t *testing.T, z measured.Impedance) {
	t.Helper()
	if _, err := measured.NewImpedance(z.Freq, z.Z, z.Sigma); err != nil {
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
	_ = WarningCodes(z.Warnings)
}

// UTF16File returns s in UTF-16.
func UTF16File(s string, bigEndian, mark bool) string {
	var b bytes.Buffer
	units := utf16.Encode([]rune(s))
	if mark {
		units = append([]uint16{0xFEFF}, units...)
	}
	for _, u := range units {
		if bigEndian {
			b.Write([]byte{byte(u >> 8), byte(u)})
		} else {
			b.Write([]byte{byte(u), byte(u >> 8)})
		}
	}
	return b.String()
}
