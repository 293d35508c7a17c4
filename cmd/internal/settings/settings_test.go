package settings

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestParse(t *testing.T) {
	entries, err := Parse([]byte(strings.Join([]string{
		`name = "Larch 25 woofer"  # a comment`,
		`[limits]`,
		`Re  = { nominal = "5.6 ohm", tolerance = "5 %" }`,
		`Qts = { min = 0.38, max = 5_2 }`,
		`Fs.min = "30 Hz"`,
		`[decision]`,
		`  confidence = 0.950`,
		`swap = true`,
	}, "\n")), "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, fmt.Sprintf("%s=%s %d:%d %d:%d", e.Name(), e.Text, e.Key().Line, e.Key().Column, e.At.Line, e.At.Column))
	}
	want := []string{
		"name=Larch 25 woofer 1:1 1:8",
		"limits.Re.nominal=5.6 ohm 3:9 3:19",
		"limits.Re.tolerance=5 % 3:30 3:42",
		"limits.Qts.min=0.38 4:9 4:15",
		"limits.Qts.max=5_2 4:21 4:27",
		"limits.Fs.min=30 Hz 5:4 5:10",
		"decision.confidence=0.950 7:3 7:16",
		"decision.swap=true 8:1 8:8",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ text, message, hint string }{
		{"a = 1\nb = 5,6\n", "s.toml:2:6: ", "with a point"},
		{"a = 1\na = 2\n", "s.toml:2:1: ", ""},
		{"Fs 31\n", "s.toml:1:4: ", "key = "},
		{"[limits]\nFs = [30, 34]\n", "s.toml:2:1: limits.Fs holds a list", "one value"},
		{"[[limits]]\n", "s.toml:1:3: a list of tables", "single brackets"},
		{"when = 2026-01-02\n", "s.toml:1:1: when holds a date", "number or a text"},
		{"a = {", "s.toml:1:", ""},
		{"\x00", "s.toml:1:", ""},
	} {
		entries, err := Parse([]byte(c.text), "s.toml")
		var e *Error
		if !errors.As(err, &e) || entries != nil {
			t.Errorf("%q gives %v, %v", c.text, entries, err)
			continue
		}
		if !strings.HasPrefix(e.Error(), c.message) || !strings.Contains(e.Hint(), c.hint) {
			t.Errorf("%q: error %q, hint %q", c.text, e.Error(), e.Hint())
		}
	}
}

func TestNearest(t *testing.T) {
	known := []string{"resistor", "wiring", "diameter"}
	for word, want := range map[string]string{"resitor": "resistor", "Wiring": "wiring", "diametre": "diameter", "colour": "", "": ""} {
		if got := Nearest(word, known); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", word, got, want)
		}
	}
}
