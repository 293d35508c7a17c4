package table

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strconv"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
	"conewright/ts/measured"
	"conewright/ts/notice"

	"pgregory.net/rapid"
)

// anySweep draws a sweep with all that a sweep can hold.
func anySweep(t *rapid.T) measured.Impedance {
	n := rapid.IntRange(3, 40).Draw(t, "points")
	value := rapid.Float64Range(-900, 900)
	z := measured.Impedance{MagnitudeOnly: rapid.Bool().Draw(t, "magnitude only")}
	f := rapid.Float64Range(1, 50).Draw(t, "first")
	for range n {
		z.Freq = append(z.Freq, f)
		f *= rapid.Float64Range(1.001, 1.5).Draw(t, "step")
		v := complex(rapid.Float64Range(0.5, 900).Draw(t, "re"), value.Draw(t, "im"))
		if z.MagnitudeOnly {
			v = complex(real(v), 0)
		}
		z.Z = append(z.Z, v)
	}
	if rapid.Bool().Draw(t, "noise") {
		for range n {
			z.Sigma = append(z.Sigma, rapid.Float64Range(1e-6, 10).Draw(t, "sigma"))
		}
	}
	return z
}

// printer writes tables in one dialect out of many thousands.
type printer struct {
	sep, decimal, newline, comment, mark string
	encoding                             string
	quoted, trailing, header             bool
	format                               byte
}

func anyPrinter(t *rapid.T) printer {
	pick := func(label string, of ...string) string { return rapid.SampledFrom(of).Draw(t, label) }
	p := printer{
		newline:  pick("newline", "\n", "\r\n", "\r"),
		comment:  pick("comment", "#", "* ", "; ", "%", "// ", "## ", "! "),
		mark:     pick("header mark", "", "", "# ", "* ", ";", "% ", "//"),
		encoding: pick("encoding", "UTF-8", "UTF-8 with mark", "UTF-16 LE", "UTF-16 BE", "UTF-16 LE without mark", "UTF-16 BE without mark", "Latin-1"),
		header:   rapid.Bool().Draw(t, "header"),
		format:   rapid.SampledFrom([]byte("gef")).Draw(t, "format"),
		decimal:  pick("decimal", ".", ","),
	}
	switch p.decimal {
	case ".":
		p.sep = pick("separator", ",", ", ", ";", "; ", "\t", " ", "   ", " ; ")
	default:
		p.sep = pick("separator", ",", ", ", ";", "; ", "\t", " ", "   ", "\t ")
		p.quoted = p.sep == ","
	}
	if strings.TrimSpace(p.sep) != "" && p.sep != ", " && !p.quoted {
		p.quoted = rapid.Bool().Draw(t, "quoted")
	}
	p.trailing = strings.Trim(p.sep, " ") != "" && p.sep != ", " && rapid.Bool().Draw(t, "separator at line ends")
	return p
}

func (p printer) number(v float64) string {
	s := strconv.FormatFloat(v, p.format, -1, 64)
	s = strings.Replace(s, ".", p.decimal, 1)
	if p.quoted {
		s = `"` + s + `"`
	}
	return s
}

func (p printer) line(fields []string) string {
	s := strings.Join(fields, p.sep)
	if p.trailing {
		s += p.sep
	}
	return s + p.newline
}

func (p printer) encode(s string) []byte {
	switch p.encoding {
	case "UTF-8 with mark":
		s = "\ufeff" + s
	case "UTF-16 LE", "UTF-16 BE":
		s = testfiles.UTF16File(s, p.encoding == "UTF-16 BE", true)
	case "UTF-16 LE without mark", "UTF-16 BE without mark":
		s = testfiles.UTF16File(s, p.encoding == "UTF-16 BE without mark", false)
	case "Latin-1":
		s = latin1(s)
	}
	return []byte(s)
}

// printedColumn is a column as it may stand in a table.
type printedColumn struct {
	names []string // before the unit
	units []string
	scale []float64 // of the unit, to SI; 0 for dB
	value func(i int) float64
}

// Any sweep in any dialect reads back as it was: to the last bit where the
// columns are the parts of Z in ohm, to rounding where they are not.
func TestPropertyDialects(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := anySweep(t)
		if z.Z[0] == z.Z[1] {
			t.Skip("may be taken for points that a device held")
		}
		p := anyPrinter(t)
		f := printedColumn{[]string{"f", "Freq", "Frequency", "FREQUENCY"}, []string{"Hz", "kHz"}, []float64{1, 1e3}, func(i int) float64 { return z.Freq[i] }}
		re := printedColumn{[]string{"re", "Re(Z)", "Real", "Z'"}, []string{"ohm", "Ohms", "kohm", "mohm"}, []float64{1, 1, 1e3, 1e-3}, func(i int) float64 { return real(z.Z[i]) }}
		im := printedColumn{[]string{"im", "Im(Z)", "Imag", "Z''"}, re.units, re.scale, func(i int) float64 { return imag(z.Z[i]) }}
		size := printedColumn{[]string{"|Z|", "Z", "Impedance", "abs(Z)", "mag_Z"}, append([]string{"dBohm"}, re.units...), append([]float64{0}, re.scale...), func(i int) float64 { return cmplx.Abs(z.Z[i]) }}
		angle := printedColumn{[]string{"phase", "Phase", "arg(Z)", "angle"}, []string{"deg", "°", "degrees", "rad"}, []float64{degree, degree, degree, 1}, func(i int) float64 { return cmplx.Phase(z.Z[i]) }}
		sigma := printedColumn{[]string{"sigma", "std", "noise"}, []string{"ohm", "mohm"}, []float64{1, 1e-3}, func(i int) float64 { return z.Sigma[i] }}
		other := printedColumn{[]string{"SPL", "coherence", "n"}, []string{""}, []float64{1}, func(i int) float64 { return float64(7 * i) }}

		cols := []printedColumn{f}
		exact := false
		switch {
		case z.MagnitudeOnly:
			cols = append(cols, size)
		case rapid.Bool().Draw(t, "cartesian"):
			cols = append(cols, re, im)
			exact = true
		default:
			cols = append(cols, size, angle)
		}
		if z.Sigma != nil {
			cols = append(cols, sigma)
		}
		if rapid.Bool().Draw(t, "other column") {
			cols = append(cols, other)
		}
		cols = rapid.Permutation(cols).Draw(t, "order")

		names := make([]string, len(cols))
		units := make([]int, len(cols))
		for c, col := range cols {
			units[c] = rapid.IntRange(0, len(col.units)-1).Draw(t, "unit")
			exact = exact && col.scale[units[c]] == 1
			name := rapid.SampledFrom(col.names).Draw(t, "name")
			unit := col.units[units[c]]
			if unit != "" {
				name = rapid.SampledFrom([]string{name + "[" + unit + "]", name + " [" + unit + "]", name + "(" + unit + ")", name + " (" + unit + ")", name + "/" + unit}).Draw(t, "form")
			}
			if !p.header && unit == "" {
				name = "-"
			}
			names[c] = name
		}
		var b strings.Builder
		columns := strings.Join(names, ";")
		if p.header {
			columns = ""
			line := p.line(names)
			if p.quoted {
				line = p.line(quoteAll(names))
			}
			b.WriteString(p.mark + line)
		}
		for i := range z.Freq {
			switch rapid.IntRange(0, 9).Draw(t, "between") {
			case 0:
				b.WriteString(p.newline)
			case 1:
				b.WriteString(p.comment + "in between, 1 2 3" + p.newline)
			}
			fields := make([]string, len(cols))
			for c, col := range cols {
				v := col.value(i)
				if s := col.scale[units[c]]; s == 0 {
					v = 20 * math.Log10(v)
				} else if s != 1 {
					v /= s
				}
				fields[c] = p.number(v)
			}
			b.WriteString(p.line(fields))
		}

		got, err := Read(p.encode(b.String()), "x.txt", columns, bench.Bench{})
		if n := (*notice.Notice)(nil); errors.As(err, &n) && slices.Contains([]string{"column-slip", "column-ratio"}, n.Code) {
			return // no driver gives such a curve, and that is asked about
		}
		if err != nil {
			t.Fatalf("%v\ncolumns %q in\n%s", err, columns, b.String())
		}
		tol := 1e-12
		if exact {
			tol = 0
		}
		if problem := sameSweep(got, z, tol); problem != "" || len(got.Warnings) > 0 {
			t.Fatalf("%s, warnings %v\n%s", problem, got.Warnings, b.String())
		}
	})
}

func quoteAll(names []string) []string {
	out := make([]string, len(names))
	for i, s := range names {
		out[i] = `"` + s + `"`
	}
	return out
}

// sameSweep says where two sweeps differ by more than a relative tolerance.
func sameSweep(got, want measured.Impedance, tol float64) string {
	if got.Len() != want.Len() || got.MagnitudeOnly != want.MagnitudeOnly || len(got.Sigma) != len(want.Sigma) {
		return fmt.Sprintf("%d points (magnitude only %v, %d with noise), want %d (%v, %d)", got.Len(), got.MagnitudeOnly, len(got.Sigma), want.Len(), want.MagnitudeOnly, len(want.Sigma))
	}
	for i := range want.Freq {
		if math.Abs(got.Freq[i]-want.Freq[i]) > tol*want.Freq[i] || cmplx.Abs(got.Z[i]-want.Z[i]) > tol*cmplx.Abs(want.Z[i]) {
			return fmt.Sprintf("point %d is %v ohm at %v Hz, want %v at %v", i, got.Z[i], got.Freq[i], want.Z[i], want.Freq[i])
		}
		if want.Sigma != nil && math.Abs(got.Sigma[i]-want.Sigma[i]) > max(tol, 1e-15)*want.Sigma[i] {
			return fmt.Sprintf("noise %d is %v, want %v", i, got.Sigma[i], want.Sigma[i])
		}
	}
	return ""
}
