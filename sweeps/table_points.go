package sweeps

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"conewright/ts"
)

// tablePoints are the rows of a table as impedances, in the order of the file.
type tablePoints struct {
	source        string
	magnitudeOnly bool
	list          []tablePoint
	warnings      []ts.Warning
}

type tablePoint struct {
	line   int
	f      float64    // Hz
	z      complex128 // ohm
	sigma  float64    // ohm, 0 when unknown
	digits int        // significant digits written for the impedance
}

// points turns the rows into impedances, without those in which a value is
// missing.
func (t *table) points(b Bench) (*tablePoints, error) {
	var at [roles]int
	for i := range at {
		at[i] = -1
	}
	for i, c := range t.cols {
		at[c.role] = i
	}
	at[ignored] = -1
	hasVolts := at[magnitude] < 0 && at[realPart] < 0
	rectangular := at[realPart] >= 0 && at[imagPart] >= 0
	out := &tablePoints{source: t.source, magnitudeOnly: !rectangular && at[phase] < 0}
	if hasVolts {
		return t.voltPoints(at, b)
	}
	missing, zero := 0, 0
rows:
	for _, row := range t.rows {
		var v [roles]float64
		p := tablePoint{line: row.line}
		for r, i := range at {
			if i < 0 || rectangular && (role(r) == magnitude || role(r) == phase) {
				continue
			}
			c := row.cells[i]
			if !c.ok {
				return nil, t.errorAt(row.line, "correct the value, or leave it empty", "%q is not a number for %s", shorten(c.text), role(r))
			}
			if math.IsNaN(c.value) {
				missing++
				continue rows
			}
			v[r] = t.cols[i].si(c.value)
			if role(r) != frequency && role(r) != noise {
				p.digits += significant(c.text)
			}
		}
		p.f = v[frequency]
		switch {
		case p.f < 0:
			return nil, t.errorAt(row.line, "check the order of the columns: "+columnsHint, "the frequency is negative: %v Hz", p.f)
		case p.f == 0:
			zero++
			continue
		case rectangular:
			p.z = complex(v[realPart], v[imagPart])
		case v[magnitude] <= 0:
			return nil, t.errorAt(row.line, "check the order of the columns: "+columnsHint, "the magnitude of the impedance is %v ohm", v[magnitude])
		default:
			p.z = cmplx.Rect(v[magnitude], v[phase])
			if at[phase] < 0 {
				p.z = complex(v[magnitude], 0)
			}
		}
		if i := at[noise]; i >= 0 {
			p.sigma = v[noise]
			if t.cols[i].unit.kind == percent {
				p.sigma *= cmplx.Abs(p.z)
			}
			if !(p.sigma > 0) {
				return nil, t.errorAt(row.line, "leave the column out when the noise is unknown", "the noise is %v ohm, it must be positive", p.sigma)
			}
		}
		if p.f > math.MaxFloat64 || cmplx.IsInf(p.z) || cmplx.IsNaN(p.z) || math.IsInf(p.sigma, 0) {
			return nil, t.errorAt(row.line, "correct the value", "a value is too large to be a number")
		}
		out.list = append(out.list, p)
	}
	out.dropped(missing, zero)
	return out, nil
}

func (p *tablePoints) dropped(missing, zero int) {
	if missing > 0 {
		p.warn("points-missing", "leave it at that, or measure them again", "%s without a value left out", count(missing, "point"))
	}
	if zero > 0 {
		p.warn("point-at-zero", "nothing to do", "%s at 0 Hz left out", count(zero, "point"))
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (p *tablePoints) warn(code, hint, format string, args ...any) {
	p.warnings = append(p.warnings, ts.Warning{Code: code, Message: fmt.Sprintf(format, args...), Hint: hint})
}

// si returns the value of a column in its SI unit.
func (c column) si(v float64) float64 {
	if c.negate {
		v = -v
	}
	switch c.unit.kind {
	case decibelOhms, decibelVolts, decibels:
		return math.Pow(10, v/20)
	}
	return v * c.unit.scale
}

// significant counts the significant digits of a written number.
func significant(s string) int {
	n := 0
	for _, c := range s {
		switch {
		case c == 'e' || c == 'E':
			return n
		case c >= '1' && c <= '9' || c == '0' && n > 0:
			n++
		}
	}
	return n
}

// impedance sorts the points, averages repeated ones, drops the run at the low
// end that some devices hold constant, and makes a sweep of the rest.
func (p *tablePoints) impedance() (ts.Impedance, error) {
	const fewest = 3
	if err := p.sort(); err != nil {
		return ts.Impedance{}, err
	}
	p.merge()
	p.dropHeld()
	if len(p.list) < fewest {
		return ts.Impedance{}, &FormatError{File: p.source, Msg: fmt.Sprintf("the table holds %s, a sweep needs at least %d", count(len(p.list), "usable point"), fewest),
			Advice: "measure more frequencies, most of them around the peak"}
	}
	freq := make([]float64, len(p.list))
	z := make([]complex128, len(p.list))
	var sigma []float64
	for i, pt := range p.list {
		freq[i], z[i] = pt.f, pt.z
		if pt.sigma > 0 {
			sigma = append(sigma, pt.sigma)
		}
	}
	out, err := ts.NewImpedance(freq, z, sigma)
	if err != nil {
		return ts.Impedance{}, &FormatError{File: p.source, Msg: err.Error(), Err: err}
	}
	out.MagnitudeOnly = p.magnitudeOnly
	out.Source = p.source
	out.Warnings = p.warnings
	return out, nil
}

// sort brings the points into rising order. A table that runs downwards is as
// good as one that runs upwards; any other order is told.
func (p *tablePoints) sort() error {
	byFreq := func(a, b tablePoint) int {
		switch {
		case a.f < b.f:
			return -1
		case a.f > b.f:
			return 1
		}
		return 0
	}
	if slices.IsSortedFunc(p.list, byFreq) {
		return nil
	}
	slices.Reverse(p.list)
	if slices.IsSortedFunc(p.list, byFreq) {
		return nil
	}
	slices.Reverse(p.list)
	if line := p.secondSweep(); line > 0 {
		return &SyntaxError{File: p.source, Line: line, Msg: "a second sweep begins here",
			Advice: "save each sweep in a file of its own; several files of one condition can be given together as repeats"}
	}
	slices.SortStableFunc(p.list, byFreq)
	p.warn("points-unsorted", "nothing to do, unless two tables were mixed", "the points were not in order of frequency and were sorted")
	return nil
}

// secondSweep returns the line at which the frequencies start over with values
// that mostly were there already, or 0.
func (p *tablePoints) secondSweep() int {
	for i := 3; i < len(p.list)-2; i++ {
		if p.list[i].f >= p.list[i-1].f {
			continue
		}
		seen := map[float64]complex128{}
		for _, q := range p.list[:i] {
			seen[q.f] = q.z
		}
		again := 0
		for _, q := range p.list[i:] {
			if z, ok := seen[q.f]; ok && z != q.z {
				again++
			}
		}
		if 2*again > len(p.list)-i {
			return p.list[i].line
		}
		return 0
	}
	return 0
}

// merge averages points at the same frequency. Repeats with the same value are
// one point written twice, and say nothing about the noise.
func (p *tablePoints) merge() {
	out := p.list[:0]
	merged := 0
	for i := 0; i < len(p.list); {
		q := p.list[i]
		j := i + 1
		var sum complex128 = q.z
		variance := q.sigma * q.sigma
		same := true
		for ; j < len(p.list) && p.list[j].f == q.f; j++ {
			same = same && p.list[j].z == q.z
			sum += p.list[j].z
			variance += p.list[j].sigma * p.list[j].sigma
		}
		if n := float64(j - i); n > 1 {
			merged += j - i - 1
			if !same {
				q.z = sum / complex(n, 0)
				q.sigma = math.Sqrt(variance) / n
			}
		}
		out = append(out, q)
		i = j
	}
	p.list = out
	if merged > 0 {
		p.warn("points-repeated", "nothing to do, unless two tables were mixed", "%s at a frequency that was there already; such points were averaged", count(merged, "point"))
	}
}

// dropHeld leaves out points at the low end that a device did not measure but
// filled with its lowest true value. Few digits can make true points equal, so
// the run must be written with at least five.
//
// Source: seen in measured files; common practice.
func (p *tablePoints) dropHeld() {
	const run, digits = 3, 5
	n := 1
	for n < len(p.list) && p.list[n].z == p.list[0].z {
		n++
	}
	if n < run || n == len(p.list) || p.list[0].digits < digits {
		return
	}
	held := n - 1 // the last of the run is the one that was measured
	p.warn("points-held", "start the sweep higher, or use a device that measures that low",
		"%s below %s Hz are all the same, held by the device rather than measured, and were left out",
		count(held, "point"), strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.3f", p.list[held].f), "0"), "."))
	p.list = p.list[held:]
}
