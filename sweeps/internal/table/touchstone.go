package table

import (
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"conewright/ts/measured"
	"conewright/ts/notice"
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
			if o.parse(line) != nil || !o.given.parameter && !o.given.format && !o.given.reference {
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

// parse reads an option line and returns what is wrong with it, nil for nothing.
func (o *touchstoneOptions) parse(line string) *notice.Notice {
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
				return notice.New("touchstone-no-reference", nil)
			}
			r, err := strconv.ParseFloat(words[i], 64)
			if err != nil || !(r > 0) || math.IsInf(r, 0) {
				return notice.New("touchstone-reference", notice.Facts{"text": words[i]})
			}
			o.reference = r
		default:
			return notice.New("touchstone-option", notice.Facts{"text": w})
		}
		if again {
			return notice.New("touchstone-option-twice", notice.Facts{"text": w})
		}
	}
	return nil
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
	points           points
}

// fail is the error n of the line at hand.
func (f *touchstoneFile) fail(n *notice.Notice) error { return n.At(f.source, max(1, f.line)) }

func (f *touchstoneFile) optionLine(line string) error {
	if f.haveOptions {
		return nil // the specification: only the first one counts
	}
	f.haveOptions = true
	if n := f.options.parse(line); n != nil {
		return f.fail(n)
	}
	if p := f.options.parameter; p == 'G' || p == 'H' {
		return f.fail(notice.New("touchstone-two-ports", notice.Facts{"of": string(p)}))
	}
	return nil
}

// keyword reads a line that begins with a keyword of version 2 in brackets.
func (f *touchstoneFile) keyword(line string) error {
	end := strings.IndexByte(line, ']')
	if end < 0 {
		return f.fail(notice.New("touchstone-bracket", notice.Facts{"text": shorten(line)}))
	}
	name := strings.ToLower(strings.Join(strings.Fields(line[1:end]), " "))
	value := strings.TrimSpace(line[end+1:])
	if name == "version" {
		if value != "2.0" && value != "2.1" {
			return f.fail(notice.New("touchstone-version", notice.Facts{"version": shorten(value)}))
		}
		f.version2 = true
		return nil
	}
	if !f.version2 {
		return f.fail(notice.New("touchstone-no-version", notice.Facts{"keyword": shorten(line[:end+1])}))
	}
	switch name {
	case "number of ports":
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 {
			return f.fail(notice.New("touchstone-count", notice.Facts{"text": shorten(value), "of": "ports"}))
		}
		f.ports = n
		if n != 1 {
			return f.fail(notice.New("touchstone-ports", notice.Facts{"ports": n}))
		}
	case "number of frequencies":
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 {
			return f.fail(notice.New("touchstone-count", notice.Facts{"text": shorten(value), "of": "frequencies"}))
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
			return f.fail(notice.New("touchstone-matrix", notice.Facts{"text": shorten(value)}))
		}
	case "network data":
		f.inData = true
	case "noise data":
		return f.fail(notice.New("touchstone-two-ports", notice.Facts{"of": "[Noise Data]"}))
	case "mixed-mode order":
		return f.fail(notice.New("touchstone-two-ports", notice.Facts{"of": "[Mixed-Mode Order]"}))
	case "number of noise frequencies", "two-port data order", "two-port order":
		return f.fail(notice.New("touchstone-two-ports", notice.Facts{"of": shorten(line[:end+1])}))
	case "begin information":
		f.inInformation = true
	case "end":
		f.ended = true
	default:
		return f.fail(notice.New("touchstone-keyword", notice.Facts{"keyword": shorten(line[:end+1])}))
	}
	return nil
}

func (f *touchstoneFile) referenceLine(value string) error {
	f.pendingReference = false
	r, err := strconv.ParseFloat(value, 64)
	if err != nil || !(r > 0) || math.IsInf(r, 0) {
		return f.fail(notice.New("touchstone-reference", notice.Facts{"text": shorten(value)}))
	}
	f.options.reference = r
	return nil
}

// data reads a line of frequency and one pair of numbers.
func (f *touchstoneFile) data(line string) error {
	switch {
	case !f.haveOptions:
		return f.fail(notice.New("touchstone-early-data", notice.Facts{"before": "option line"}))
	case f.version2 && !f.inData:
		return f.fail(notice.New("touchstone-early-data", notice.Facts{"before": "[Network Data]"}))
	}
	words := strings.Fields(line)
	if len(words) != 3 {
		if len(words) >= 4 || len(f.points.list) > 0 {
			return f.fail(notice.New("touchstone-several-ports", notice.Facts{"numbers": len(words)}))
		}
		return f.fail(notice.New("touchstone-numbers", notice.Facts{"numbers": len(words)}))
	}
	var v [3]float64
	for i, w := range words {
		x, ok := dialect{decimal: '.'}.plainNumber(w)
		if !ok {
			return f.fail(notice.New("touchstone-no-number", notice.Facts{"text": shorten(w)}))
		}
		v[i] = x
	}
	p := point{line: f.line, f: v[0] * f.options.scale, z: f.options.impedance(v[1], v[2], f.version2)}
	n := len(f.points.list)
	switch {
	case p.f < 0 || math.IsInf(p.f, 0):
		return f.fail(notice.New("touchstone-frequency", notice.Facts{"frequency": p.f}))
	case n > 0 && p.f <= f.points.list[n-1].f:
		return f.fail(notice.New("touchstone-order", notice.Facts{"frequency": p.f, "before": f.points.list[n-1].f}))
	case cmplx.IsInf(p.z) || cmplx.IsNaN(p.z):
		return f.fail(notice.New("touchstone-infinite", nil))
	}
	f.points.list = append(f.points.list, p)
	return nil
}

func (f *touchstoneFile) finish() (measured.Impedance, error) {
	p := &f.points
	p.source = f.source
	switch n := len(p.list); {
	case !f.haveOptions:
		return measured.Impedance{}, f.fail(notice.New("touchstone-no-options", nil))
	case f.version2 && f.ports == 0:
		return measured.Impedance{}, f.fail(notice.New("touchstone-no-ports", nil))
	case f.expect >= 0 && n != f.expect:
		return measured.Impedance{}, f.fail(notice.New("touchstone-promise", notice.Facts{"promised": f.expect, "there": n}))
	case n > 0 && p.list[0].f == 0:
		p.list = p.list[1:]
		p.leftOut(0, 1)
	}
	if o := f.options; !f.version2 && o.parameter != 'S' && o.reference != 1 {
		p.warn(notice.New("touchstone-relative", notice.Facts{"reference": o.reference}))
	}
	return p.impedance()
}
