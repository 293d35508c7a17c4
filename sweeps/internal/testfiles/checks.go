// Package testfiles builds files byte by byte for tests, and checks what was
// read from them.
package testfiles

import (
	"bytes"
	"errors"
	"reflect"
	"testing"
	"unicode/utf16"

	"conewright/ts/measured"
	"conewright/ts/notice"
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

// CheckFailure checks that an error is a notice and comes with nothing else.
func CheckFailure(t *testing.T, z measured.Impedance, err error) {
	t.Helper()
	if !reflect.DeepEqual(z, measured.Impedance{}) {
		t.Errorf("%d points beside the error %v", z.Len(), err)
	}
	CheckNotice(t, err)
}

// CheckNotice checks that an error is a notice and returns it.
func CheckNotice(t *testing.T, err error) *notice.Notice {
	t.Helper()
	var n *notice.Notice
	if !errors.As(err, &n) || n.Code == "" {
		t.Fatalf("error %v is a %T", err, err)
	}
	return n
}

// CheckError checks the code of an error of a file whose name begins with x., its line
// (0 for none) and some of its facts.
func CheckError(t *testing.T, err error, code string, line int, facts notice.Facts) {
	t.Helper()
	n := CheckNotice(t, err)
	if n.Code != code || n.Line != line || len(n.File) < 2 || n.File[:2] != "x." {
		t.Errorf("error %q, want %s in line %d of x.", err, code, line)
	}
	for name, want := range facts {
		if got := n.Facts[name]; got != want {
			t.Errorf("error %q: %s is %v, want %v", err, name, got, want)
		}
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
