package table

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"conewright/sweeps/internal/testfiles"
	"conewright/ts/notice"
)

// One impedance in every form, worked out by hand from the definitions of the
// specification (from memory; no text was at hand): Z = 30 + 40j ohm with the
// reference R = 50 ohm.
//
//	Z/R   = 0.6 + 0.8j                      |Z/R| = 1, angle 53.130102 deg, 0 dB
//	Y     = 1/Z = (30 - 40j)/2500 = 0.012 - 0.016j siemens
//	Y R   = 0.6 - 0.8j
//	S     = (Z - R)/(Z + R) = (-20 + 40j)/(80 + 40j)
//	      = (-20 + 40j)(80 - 40j)/8000 = (0 + 4000j)/8000 = 0.5j
//	      |S| = 0.5, angle 90 deg, -6.0205999 dB
//
// The second point is Z = R, for which S = 0, the third Z = R/3 with S = -1/2.
var handWorked = []complex128{30 + 40i, 50, complex(50./3, 0)}

const header2 = "[Version] 2.0\n# Hz Z RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 3\n"

var goodTouchstones = map[string]struct{ text, warn string }{
	"S RI":      {text: "# Hz S RI R 50\n20 0 0.5\n31 0 0\n200 -0.5 0\n"},
	"S MA":      {text: "# Hz S MA R 50\n20 0.5 90\n31 0 0\n200 0.5 180\n"},
	"S DB":      {text: "# Hz S DB R 50\n20 -6.020599913279624 90\n31 -400 0\n200 -6.020599913279624 -180\n"},
	"Z RI":      {text: "# Hz Z RI R 50\n20 0.6 0.8\n31 1 0\n200 0.3333333333333333 0\n", warn: "touchstone-relative"},
	"Z MA":      {text: "# Hz Z MA R 50\n20 1 53.13010235415598\n31 1 0\n200 0.3333333333333333 0\n", warn: "touchstone-relative"},
	"Z DB":      {text: "# Hz Z DB R 50\n20 0 53.13010235415598\n31 0 0\n200 -9.542425094393248 0\n", warn: "touchstone-relative"},
	"Z, R 1":    {text: "# Hz Z RI R 1\n20 30 40\n31 50 0\n200 16.666666666666668 0\n"},
	"Y RI":      {text: "# Hz Y RI R 50\n20 0.6 -0.8\n31 1 0\n200 3 0\n", warn: "touchstone-relative"},
	"Y MA":      {text: "# Hz Y MA R 50\n20 1 -53.13010235415598\n31 1 0\n200 3 0\n", warn: "touchstone-relative"},
	"Y, R 1":    {text: "# Hz Y RI R 1\n20 0.012 -0.016\n31 0.02 0\n200 0.06 0\n"},
	"kHz":       {text: "# kHz S RI R 50\n0.020 0 0.5\n0.031 0 0\n0.200 -0.5 0\n"},
	"MHz":       {text: "# MHz S RI R 50\n20e-6 0 0.5\n31e-6 0 0\n200e-6 -0.5 0\n"},
	"defaults":  {text: "# S\n20e-9 0.5 90\n31e-9 0 0\n200e-9 0.5 180\n"}, // GHz, MA, R 50
	"any order": {text: "#  r 50\tri  s  HZ\n20 0 0.5\n31 0 0\n200 -0.5 0\n"},
	"comments":  {text: "! a woofer\n\n!\n# Hz S RI R 50 ! options\n20 0 0.5 ! first\n\n! in between\n31 0 0\n200 -0.5 0"},
	"later #":   {text: "# Hz S RI R 50\n# GHz Z MA R 1\n20 0 0.5\n31 0 0\n200 -0.5 0\n"},
	"CR LF":     {text: "# Hz S RI R 50\r\n20 0 0.5\r\n31 0 0\r\n200 -0.5 0\r\n"},
	"at 0 Hz":   {text: "# Hz S RI R 50\n0 -0.9 0\n20 0 0.5\n31 0 0\n200 -0.5 0\n", warn: "point-at-zero"},

	"version 2, Z":         {text: header2 + "[Network Data]\n20 30 40\n31 50 0\n200 16.666666666666668 0\n[End]\n"},
	"version 2, Y":         {text: strings.Replace(header2, "Z RI", "Y RI", 1) + "[Network Data]\n20 0.012 -0.016\n31 0.02 0\n200 0.06 0\n[End]\n"},
	"version 2, S":         {text: strings.Replace(header2, "Z RI", "S MA", 1) + "[Network Data]\n20 0.5 90\n31 0 0\n200 0.5 180\n[End]\n"},
	"version 2, reference": {text: strings.Replace(header2, "Z RI R 50", "S RI R 75", 1) + "[Reference] 50.0\n[Network Data]\n20 0 0.5\n31 0 0\n200 -0.5 0\n[End]\n"},
	"version 2, next line": {text: strings.Replace(header2, "Z RI R 50", "S RI", 1) + "[Reference]\n50\n[Matrix Format] Full\n[Network Data]\n20 0 0.5\n31 0 0\n200 -0.5 0\n[End]\n"},
	"version 2, all":       {text: "! first\n[version] 2.1\n# hz s ri\n[NUMBER OF PORTS] 1\n[Begin Information]\n20 words that are not data [End]\n[End Information]\n[Number of Frequencies] 3\n[Matrix Format] Lower\n[Network Data]\n20 0 0.5\n31 0 0\n200 -0.5 0\n[End]\nnothing here is read\n"},
	"version 2, no end":    {text: header2 + "[Network Data]\n20 30 40\n31 50 0\n200 16.666666666666668 0\n"},
}

func TestReadTouchstone(t *testing.T) {
	want := magnitudes(testfiles.ThreeImpedances())
	want.Freq, want.Z = []float64{20, 31, 200}, handWorked
	for name, c := range goodTouchstones {
		t.Run(name, func(t *testing.T) {
			if !IsTouchstone([]byte(c.text)) {
				t.Error("not found to be a Touchstone file")
			}
			got, err := ReadTouchstone([]byte(c.text), "x.s1p")
			if err != nil {
				t.Fatal(err)
			}
			testfiles.CheckSweep(t, got, want, 1e-14)
			if got.MagnitudeOnly || got.Sigma != nil || got.Source != "x.s1p" {
				t.Errorf("%+v", got)
			}
			if got := testfiles.Codes(got.Warnings); got != c.warn {
				t.Errorf("warnings %q, want %q", got, c.warn)
			}
		})
	}
}

var badTouchstones = map[string]struct {
	text  string
	code  string
	line  int
	facts notice.Facts
}{
	"two ports":         {"# Hz S RI R 50\n20 0 0 0 0 0 0 0 0\n", "touchstone-several-ports", 2, notice.Facts{"numbers": 9}},
	"three ports":       {"# Hz S RI R 50\n20 0 0 0 0 0 0\n0 0 0 0 0 0\n0 0 0 0 0 0\n", "touchstone-several-ports", 2, notice.Facts{"numbers": 7}},
	"G":                 {"# Hz G RI R 50\n20 0 0\n", "touchstone-two-ports", 1, notice.Facts{"of": "G"}},
	"H":                 {"# Hz H RI R 50\n20 0 0\n", "touchstone-two-ports", 1, notice.Facts{"of": "H"}},
	"word":              {"# Hz S RI R 50\n20 0 zero\n", "touchstone-no-number", 2, notice.Facts{"text": "zero"}},
	"not finite":        {"# Hz S RI R 50\n20 0 NaN\n", "touchstone-no-number", 2, notice.Facts{"text": "NaN"}},
	"falling":           {"# Hz S RI R 50\n20 0 0\n30 0 0\n25 0 0\n", "touchstone-order", 4, notice.Facts{"frequency": 25.0, "before": 30.0}},
	"negative":          {"# Hz S RI R 50\n-20 0 0\n", "touchstone-frequency", 2, notice.Facts{"frequency": -20.0}},
	"open":              {"# Hz S RI R 50\n20 1 0\n", "touchstone-infinite", 2, nil},
	"no conductance":    {"# Hz Y RI R 50\n20 0 0\n", "touchstone-infinite", 2, nil},
	"two points":        {"# Hz S RI R 50\n20 0 0\n30 0 0\n", "table-few-points", 0, notice.Facts{"points": 2}},
	"no data":           {"[Version] 2.0\n# Hz S RI R 50\n[Number of Ports] 1\n[Network Data]\n", "table-few-points", 0, notice.Facts{"points": 0}},
	"no options":        {"[Version] 2.0\n[Number of Ports] 1\n[Network Data]\n20 0 0\n", "touchstone-early-data", 4, notice.Facts{"before": "option line"}},
	"empty version 2":   {"[Version] 2.0\n", "touchstone-no-options", 1, nil},
	"bad option":        {"[Version] 2.0\n# Hz S RIMA R 50\n", "touchstone-option", 2, notice.Facts{"text": "RIMA"}},
	"R without value":   {"[Version] 2.0\n# Hz S RI R\n", "touchstone-no-reference", 2, nil},
	"R 0":               {"[Version] 2.0\n# Hz S RI R 0\n", "touchstone-reference", 2, notice.Facts{"text": "0"}},
	"twice":             {"[Version] 2.0\n# Hz kHz S RI R 50\n", "touchstone-option-twice", 2, notice.Facts{"text": "KHZ"}},
	"version 3":         {"[Version] 3.0\n", "touchstone-version", 1, notice.Facts{"version": "3.0"}},
	"no version":        {"# Hz S RI R 50\n[Number of Ports] 1\n20 0 0\n", "touchstone-no-version", 2, notice.Facts{"keyword": "[Number of Ports]"}},
	"open bracket":      {"[Version] 2.0\n[Number of Ports 1\n", "touchstone-bracket", 2, nil},
	"ports missing":     {"[Version] 2.0\n# Hz S RI\n[Network Data]\n20 0 0\n", "touchstone-no-ports", 4, nil},
	"ports 2":           {"[Version] 2.0\n# Hz S RI\n[Number of Ports] 2\n", "touchstone-ports", 3, notice.Facts{"ports": 2}},
	"ports odd":         {"[Version] 2.0\n# Hz S RI\n[Number of Ports] one\n", "touchstone-count", 3, notice.Facts{"text": "one", "of": "ports"}},
	"count odd":         {"[Version] 2.0\n[Number of Frequencies] -1\n", "touchstone-count", 2, notice.Facts{"text": "-1", "of": "frequencies"}},
	"count wrong":       {header2 + "[Network Data]\n20 30 40\n31 50 0\n[End]\n", "touchstone-promise", 8, notice.Facts{"promised": 3, "there": 2}},
	"data early":        {header2 + "20 30 40\n", "touchstone-early-data", 5, notice.Facts{"before": "[Network Data]"}},
	"noise":             {header2 + "[Network Data]\n20 30 40\n[Noise Data]\n", "touchstone-two-ports", 7, nil},
	"mixed mode":        {header2 + "[Mixed-Mode Order] D1,2\n", "touchstone-two-ports", 5, nil},
	"two-port order":    {header2 + "[Two-Port Data Order] 21_12\n", "touchstone-two-ports", 5, nil},
	"two references":    {header2 + "[Reference] 50 75\n", "touchstone-reference", 5, notice.Facts{"text": "50 75"}},
	"matrix format":     {header2 + "[Matrix Format] round\n", "touchstone-matrix", 5, notice.Facts{"text": "round"}},
	"keyword":           {header2 + "[Colour] red\n", "touchstone-keyword", 5, notice.Facts{"keyword": "[Colour]"}},
	"two numbers later": {"# Hz S RI R 50\n20 0 0\n30 0\n", "touchstone-several-ports", 3, notice.Facts{"numbers": 2}},
}

func TestReadTouchstoneRefuses(t *testing.T) {
	for name, c := range badTouchstones {
		t.Run(name, func(t *testing.T) {
			got, err := ReadTouchstone([]byte(c.text), "x.s1p")
			if err == nil || got.Freq != nil || got.Source != "" {
				t.Fatalf("got %v, %v, want an error and nothing else", got, err)
			}
			testfiles.CheckError(t, err, c.code, c.line, c.facts)
		})
	}
	if _, err := ReadTouchstone([]byte("\x00\x01\x02"), "x.s1p"); err == nil {
		t.Error("binary data were read")
	}
	if _, err := ReadTouchstone(make([]byte, MaxBytes+1), "x.s1p"); err == nil {
		t.Error("a huge file was read")
	}
	if _, err := ReadTouchstone([]byte("20 0 0\n"), "x.s1p"); err == nil {
		t.Error("a file without option line was read")
	}
}

// Comments of tables that look a little like an option line.
func TestNotTouchstone(t *testing.T) {
	for _, text := range []string{
		"", "#\n20 6 1\n", "# Hz\n20 6 1\n", "# f[Hz] |Z|[ohm] phase[deg]\n20 6 1\n", "# R of the coil\n20 6 1\n", "# Hz Z\n20 6\n30 7\n",
		"20 6 1\n# Hz S RI R 50\n", "# Hz S RI R 50\n", "! comment\n20 6 1\n", "# Hz S RI R\n20 6 1\n", "\x00\x01",
	} {
		if IsTouchstone([]byte(text)) {
			t.Errorf("%q was taken for a Touchstone file", text)
		}
	}
}

// S = 0.5j comes back from Z = 30 + 40j by the definition, for any reference.
func TestTouchstoneReference(t *testing.T) {
	for _, r := range []float64{1, 8, 50, 600} {
		o := touchstoneOptions{parameter: 'S', format: "RI", reference: r}
		z := o.impedance(0.3, -0.4, false)
		if s := (z - complex(r, 0)) / (z + complex(r, 0)); cmplx.Abs(s-(0.3-0.4i)) > 1e-15 {
			t.Errorf("R %v: Z = %v has S = %v", r, z, s)
		}
		if math.IsNaN(real(z)) {
			t.Errorf("R %v: %v", r, z)
		}
	}
}
