package table

import (
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"conewright/sweeps/fault"
	"conewright/ts/measured"
)

// IsTouchstone says whether a text is a Touchstone file: its first line that is
// neither empty nor a ! comment is a [Version] keyword, or an option line with
// more than a unit in it and a row of at least three numbers below. A # with
// other words is a comment of a table.
func IsTouchstone(data []byte) bool {
	const enough = 1 << 16
	text, ok := decodeText(data[:min(len(data), enough)])
	if !ok {
		return false
	}
	var o touchstoneOptions
	seen := false
	for _, line := range splitLines(text) {
		line = uncomment(line)
		switch {
		case line == "" || seen && line[0] == '#':
		case seen:
			return len(strings.Fields(line)) >= 3
		case strings.HasPrefix(strings.ToLower(line), "[version]"):
			return true
		case line[0] == '#':
			seen = true
			if o.parse(line) != "" || !o.given.parameter && !o.given.format && !o.given.reference {
				return false
			}
		default:
			return false
		}
	}
	return false
}

// uncomment removes a ! comment and the blanks around a line.
func uncomment(line string) string {
	if i := strings.IndexByte(line, '!'); i >= 0 {
		line = line[:i]
	}
	return strings.TrimSpace(line)
}

// touchstoneOptions are the contents of the option line, with the defaults of
// the specification: GHz, S, MA, R 50.
type touchstoneOptions struct {
	scale     float64 // to Hz
	parameter byte    // S, Z or Y
	format    string  // RI, MA or DB
	reference float64 // ohm
	given     struct{ unit, parameter, format, reference bool }
}

// parse reads an option line and returns what is wrong with it.
func (o *touchstoneOptions) parse(line string) (problem string) {
	o.scale, o.parameter, o.format, o.reference = 1e9, 'S', "MA", 50
	words := strings.Fields(strings.ToUpper(strings.TrimPrefix(line, "#")))
	twice := func(given *bool) bool {
		was := *given
		*given = true
		return was
	}
	for i := 0; i < len(words); i++ {
		w := words[i]
		again := false
		switch w {
		case "HZ", "KHZ", "MHZ", "GHZ":
			again = twice(&o.given.unit)
			o.scale = map[string]float64{"HZ": 1, "KHZ": 1e3, "MHZ": 1e6, "GHZ": 1e9}[w]
		case "S", "Z", "Y", "G", "H":
			again = twice(&o.given.parameter)
			o.parameter = w[0]
		case "RI", "MA", "DB":
			again = twice(&o.given.format)
			o.format = w
		case "R":
			again = twice(&o.given.reference)
			if i++; i == len(words) {
				return "the R of the option line has no value"
			}
			r, err := strconv.ParseFloat(words[i], 64)
			if err != nil || !(r > 0) || math.IsInf(r, 0) {
				return fmt.Sprintf("%q is not a reference resistance in ohm", words[i])
			}
			o.reference = r
		default:
			return fmt.Sprintf("%q is not known in an option line", w)
		}
		if again {
			return fmt.Sprintf("%q is a second choice of the same option", w)
		}
	}
	return ""
}

// impedance turns one pair of numbers into ohm. In version 1 impedances and
// admittances are relative to the reference, in version 2 they are not.
func (o *touchstoneOptions) impedance(a, b float64, version2 bool) complex128 {
	var v complex128
	switch o.format {
	case "RI":
		v = complex(a, b)
	case "DB":
		v = cmplx.Rect(math.Pow(10, a/20), b*degree)
	default:
		v = cmplx.Rect(a, b*degree)
	}
	r := complex(o.reference, 0)
	switch {
	case o.parameter == 'S':
		return r * (1 + v) / (1 - v)
	case o.parameter == 'Y':
		v = 1 / v
	}
	if version2 {
		return v
	}
	return v * r
}

// ReadTouchstone reads a one-port from a Touchstone file of version 1 or 2: S, Z
// or Y as real and imaginary part, magnitude and angle, or dB and angle.
//
// Source: Touchstone File Format Specification, versions 1.1 and 2.0, IBIS Open
// Forum, from memory.
func ReadTouchstone(data []byte, source string) (measured.Impedance, error) {
	lines, err := textLines(data, source)
	if err != nil {
		return measured.Impedance{}, err
	}
	f := touchstoneFile{source: source, expect: -1}
	for i, line := range lines {
		f.line = i + 1
		line = uncomment(line)
		if line == "" || f.ended {
			continue
		}
		var err error
		switch {
		case f.inInformation:
			f.inInformation = !strings.EqualFold(line, "[end information]")
		case line[0] == '[':
			err = f.keyword(line)
		case line[0] == '#':
			err = f.optionLine(line)
		case f.pendingReference:
			err = f.referenceLine(line)
		default:
			err = f.data(line)
		}
		if err != nil {
			return measured.Impedance{}, err
		}
	}
	return f.finish()
}

// touchstoneFile is the state of reading.
type touchstoneFile struct {
	source           string
	line             int
	version2         bool
	haveOptions      bool
	options          touchstoneOptions
	inInformation    bool
	inData           bool // version 2: after [Network Data]
	pendingReference bool // [Reference] was given, its number stands on the next line
	ended            bool
	ports            int
	expect           int // points that [Number of Frequencies] promised, -1 for none
	points           Points
}

const touchstoneHint = "the file should be a Touchstone one-port, such as: # Hz Z RI R 1, then lines of frequency, real and imaginary part"

func (f *touchstoneFile) fail(format string, args ...any) error {
	return &fault.SyntaxError{File: f.source, Line: max(1, f.line), Msg: fmt.Sprintf(format, args...), Advice: touchstoneHint}
}

func (f *touchstoneFile) unsupported(what string) error {
	return &fault.UnsupportedError{File: f.source, Msg: fmt.Sprintf("line %d: %s", f.line, what),
		Advice: "export the impedance at the driver's terminals as a one-port"}
}

func (f *touchstoneFile) optionLine(line string) error {
	if f.haveOptions {
		return nil // the specification: only the first one counts
	}
	f.haveOptions = true
	if problem := f.options.parse(line); problem != "" {
		return f.fail("%s", problem)
	}
	if p := f.options.parameter; p == 'G' || p == 'H' {
		return f.unsupported(fmt.Sprintf("%c parameters describe two ports", p))
	}
	return nil
}

// keyword reads a line that begins with a keyword of version 2 in brackets.
func (f *touchstoneFile) keyword(line string) error {
	end := strings.IndexByte(line, ']')
	if end < 0 {
		return f.fail("the keyword %q has no closing bracket", shorten(line))
	}
	name := strings.ToLower(strings.Join(strings.Fields(line[1:end]), " "))
	value := strings.TrimSpace(line[end+1:])
	if name == "version" {
		if value != "2.0" && value != "2.1" {
			return f.unsupported(fmt.Sprintf("version %q is not read, only 1, 2.0 and 2.1", shorten(value)))
		}
		f.version2 = true
		return nil
	}
	if !f.version2 {
		return f.fail("the keyword %q needs a [Version] before it", shorten(line[:end+1]))
	}
	switch name {
	case "number of ports":
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 {
			return f.fail("%q is not a number of ports", shorten(value))
		}
		f.ports = n
		if n != 1 {
			return f.unsupported(fmt.Sprintf("the file describes %d ports", n))
		}
	case "number of frequencies":
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 {
			return f.fail("%q is not a number of frequencies", shorten(value))
		}
		f.expect = n
	case "reference":
		if value == "" {
			f.pendingReference = true
			return nil
		}
		return f.referenceLine(value)
	case "matrix format":
		switch strings.ToLower(value) {
		case "full", "lower", "upper": // one and the same for one port
		default:
			return f.fail("%q is not a matrix format", shorten(value))
		}
	case "network data":
		f.inData = true
	case "noise data":
		return f.unsupported("noise data describe two ports")
	case "mixed-mode order":
		return f.unsupported("mixed-mode data describe several ports")
	case "number of noise frequencies", "two-port data order", "two-port order":
		return f.unsupported("this keyword describes two ports")
	case "begin information":
		f.inInformation = true
	case "end":
		f.ended = true
	default:
		return f.fail("the keyword %q is not known", shorten(line[:end+1]))
	}
	return nil
}

func (f *touchstoneFile) referenceLine(value string) error {
	f.pendingReference = false
	r, err := strconv.ParseFloat(value, 64)
	if err != nil || !(r > 0) || math.IsInf(r, 0) {
		return f.fail("%q is not one reference resistance in ohm", shorten(value))
	}
	f.options.reference = r
	return nil
}

// data reads a line of frequency and one pair of numbers.
func (f *touchstoneFile) data(line string) error {
	switch {
	case !f.haveOptions:
		return f.fail("data begin before the option line")
	case f.version2 && !f.inData:
		return f.fail("data begin before [Network Data]")
	}
	words := strings.Fields(line)
	if len(words) != 3 {
		if len(words) >= 4 || len(f.points.list) > 0 {
			return f.unsupported(fmt.Sprintf("there are %d numbers where a one-port has 3; several ports are not read", len(words)))
		}
		return f.fail("there are %d numbers where a one-port has 3", len(words))
	}
	var v [3]float64
	for i, w := range words {
		x, ok := dialect{decimal: '.'}.plainNumber(w)
		if !ok {
			return f.fail("%q is not a number", shorten(w))
		}
		v[i] = x
	}
	p := Point{line: f.line, f: v[0] * f.options.scale, z: f.options.impedance(v[1], v[2], f.version2)}
	n := len(f.points.list)
	switch {
	case p.f < 0 || math.IsInf(p.f, 0):
		return f.fail("the frequency is %v Hz", p.f)
	case n > 0 && p.f <= f.points.list[n-1].f:
		return f.fail("the frequencies must rise, but %v Hz follows %v Hz", p.f, f.points.list[n-1].f)
	case cmplx.IsInf(p.z) || cmplx.IsNaN(p.z):
		return f.fail("the values stand for an infinite impedance")
	}
	f.points.list = append(f.points.list, p)
	return nil
}

func (f *touchstoneFile) finish() (measured.Impedance, error) {
	p := &f.points
	p.source = f.source
	switch n := len(p.list); {
	case !f.haveOptions:
		return measured.Impedance{}, f.fail("the file ends without an option line")
	case f.version2 && f.ports == 0:
		return measured.Impedance{}, f.fail("[Number of Ports] is missing")
	case f.expect >= 0 && n != f.expect:
		return measured.Impedance{}, f.fail("[Number of Frequencies] promises %d, the file holds %d", f.expect, n)
	case n > 0 && p.list[0].f == 0:
		p.list = p.list[1:]
		p.leftOut(0, 1)
	}
	if o := f.options; !f.version2 && o.parameter != 'S' && o.reference != 1 {
		p.warn("touchstone-relative", "if the values are not relative to it, write R 1 in the option line",
			"the values were taken as relative to %v ohm, as version 1 of the format says", o.reference)
	}
	return p.impedance()
}
