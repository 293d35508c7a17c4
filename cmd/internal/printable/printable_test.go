package printable_test

import (
	"bytes"
	"errors"
	"testing"

	"conewright/cmd/internal/printable"
)

func TestLine(t *testing.T) {
	for in, want := range map[string]string{
		"Larch 25, ½ Ω – “right”": "Larch 25, ½ Ω – “right”",
		"a\x1b[2Jb":               `a\u001b[2Jb`,
		"bell\a":                  `bell\u0007`,
		"one\r\ntwo":              `one\u000d\u000atwo`,
		"\u202eright to left":     `\u202eright to left`,
		"\u2066x\u2069":           `\u2066x\u2069`,
		"csi \u009b31m":           `csi \u009b31m`,
		"not text \x9b":           `not text \x9b`,
		"a real \ufffd":           "a real \ufffd",
		"\u2028":                  `\u2028`,
		"":                        "",
	} {
		if got := printable.Line(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestCell(t *testing.T) {
	for in, want := range map[string]string{
		"=cmd|' /C calc'!A0": "'=cmd|' /C calc'!A0", "@SUM(1)": "'@SUM(1)", "+1": "'+1", "-1": "'-1", "'x": "''x",
		"left": "left", "": "", "a=b": "a=b", "\t=1": `\u0009=1`,
	} {
		if got := printable.Cell(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// full fails once it holds some bytes.
type full struct{ bytes.Buffer }

func (f *full) Write(p []byte) (int, error) {
	if f.Len() > 3 {
		return 0, errors.New("no space left")
	}
	return f.Buffer.Write(p)
}

func TestWriter(t *testing.T) {
	var b bytes.Buffer
	w := printable.NewWriter(&b)
	for _, piece := range []string{"a\tb\n", "\xe2", "\x80", "\xaex", "\xc2", "\xbd", "\x1b]0;title\a\r"} {
		if n, err := w.Write([]byte(piece)); n != len(piece) || err != nil {
			t.Fatal(n, err)
		}
	}
	if want := "a\tb\n" + `\u202ex½\u001b]0;title\u0007\u000d`; b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
	f := printable.NewWriter(&full{})
	f.Write([]byte("abcd"))
	if f.Err() != nil {
		t.Error(f.Err())
	}
	f.Write([]byte("e"))
	if _, err := f.Write([]byte("f")); err == nil || f.Err() == nil || f.Err().Error() != "no space left" {
		t.Errorf("%v", f.Err())
	}
}
