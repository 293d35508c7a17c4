package table

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strconv"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// tablePoints are the rows of a table as impedances or, before solve is called,
// as ratios of two voltages; at first in the order of the file.
type Points struct {
	source        string
	magnitudeOnly bool
	list          []Point
	errors        []string // names of the systematic errors, see tablePoint.effects
	warnings      []param.Warning
	asWritten     bool // by WriteTable: every point counts
	// solve turns the cleaned list into impedances where the rows alone did
	// not; nil otherwise.
	solve func(*Points) error
}

type Point struct {
	line   int
	f      float64    // Hz
	z      complex128 // ohm
	sigma  float64    // ohm, 0 when unknown
	digits int        // significant digits written for the impedance
	// effects are the changes of z in ohm for one standard deviation of each
	// systematic error.
	effects []complex128
}

// rowValues are the values of one row in SI units, by role.
type rowValues [roles]float64

// eachRow calls f for every row in which all used columns hold a value, and
// returns how many rows lack one.
func (t *table) eachRow(use []role, f func(row tableRow, digits int, v rowValues) error) (missing int, err error) {
rows:
	for _, row := range t.rows {
		var v rowValues
		digits := 0
		for i, c := range t.cols {
			if !slices.Contains(use, c.role) {
				continue
			}
			switch cell := row.cells[i]; {
			case !cell.ok:
				return 0, t.errorAt(row.line, "correct the value, or leave it empty", "%q is not a number for %s", shorten(cell.text), c.role)
			case math.IsNaN(cell.value):
				missing++
				continue rows
			default:
				v[c.role] = c.si(cell.value)
				if c.role != frequency && c.role != noise {
					digits += significant(cell.text)
				}
			}
		}
		if err := f(row, digits, v); err != nil {
			return 0, err
		}
	}
	return missing, nil
}

// si returns the value of a column in its SI unit.
func (c column) si(v float64) float64 {
	if c.negate {
		v = -v
	}
	switch c.unit.kind {
	case decibelOhms, decibelVolts:
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

// points turns the rows into impedances, without those that lack a value.
func (t *table) points(b bench.Bench) (*Points, error) {
	has := t.has()
	switch {
	case has[realPart] && has[imagPart]:
		return t.impedances([]role{frequency, realPart, imagPart}, has[noise], false, func(v rowValues) complex128 {
			return complex(v[realPart], v[imagPart])
		})
	case has[magnitude] && has[phase]:
		return t.impedances([]role{frequency, magnitude, phase}, has[noise], false, func(v rowValues) complex128 {
			return cmplx.Rect(v[magnitude], v[phase])
		})
	case has[magnitude]:
		return t.impedances([]role{frequency, magnitude}, has[noise], true, func(v rowValues) complex128 {
			return complex(v[magnitude], 0)
		})
	}
	return t.voltages(has, b)
}

// has says which roles the columns play.
func (t *table) has() (has [roles]bool) {
	for _, c := range t.cols {
		has[c.role] = true
	}
	return has
}

func (t *table) impedances(use []role, withNoise, magnitudeOnly bool, z func(rowValues) complex128) (*Points, error) {
	out := &Points{source: t.source, magnitudeOnly: magnitudeOnly, asWritten: t.asWritten}
	pairs, err := t.errorColumns()
	if err != nil {
		return nil, err
	}
	for _, e := range pairs {
		out.errors = append(out.errors, e.source)
	}
	relative := false
	if withNoise {
		use = append(use, noise)
		relative = t.cols[t.column(noise)].unit.kind == percent
	}
	atZero := 0
	missing, err := t.eachRow(use, func(row tableRow, digits int, v rowValues) error {
		line := row.line
		if skip, err := t.checkFrequency(line, v[frequency]); skip || err != nil {
			atZero++
			return err
		}
		if slices.Contains(use, magnitude) && v[magnitude] <= 0 {
			return t.errorAt(line, "check the order of the columns: "+columnsHint, "the magnitude of the impedance is %v ohm", v[magnitude])
		}
		p := Point{line: line, f: v[frequency], z: z(v), sigma: v[noise], digits: digits}
		if relative {
			p.sigma *= cmplx.Abs(p.z)
		}
		if withNoise && !(p.sigma > 0) {
			return t.errorAt(line, "skip the column with a - when the noise is unknown", "the noise is %v ohm, it must be positive", p.sigma)
		}
		for _, e := range pairs {
			effect := complex(row.cells[e.re].value, row.cells[e.im].value)
			if cmplx.IsNaN(effect) {
				return t.errorAt(line, "keep all columns of a table that was written here", "the error %q has no value", e.source)
			}
			p.effects = append(p.effects, effect)
		}
		if cmplx.IsInf(p.z) || cmplx.IsNaN(p.z) || math.IsInf(p.sigma, 0) {
			return t.errorAt(line, "correct the value", "a value is too large")
		}
		out.list = append(out.list, p)
		return nil
	})
	if err != nil {
		return nil, err
	}
	out.leftOut(missing, atZero)
	return out, nil
}

// checkFrequency says whether a row stands at 0 Hz, as the first one of a
// transform does, and refuses frequencies that cannot be.
func (t *table) checkFrequency(line int, f float64) (skip bool, err error) {
	if f < 0 || math.IsInf(f, 0) {
		return false, t.errorAt(line, "check the order of the columns: "+columnsHint, "the frequency is %v Hz", f)
	}
	return f == 0, nil
}

// column returns the index of the column with a role that is there.
func (t *table) column(r role) int {
	return slices.IndexFunc(t.cols, func(c column) bool { return c.role == r })
}

func (p *Points) leftOut(missing, atZero int) {
	if missing > 0 {
		p.warn("points-missing", "leave it at that, or measure them again", "%s without a value left out", count(missing, "point"))
	}
	if atZero > 0 {
		p.warn("point-at-zero", "nothing to do", "%s at 0 Hz left out", count(atZero, "point"))
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (p *Points) warn(code, hint, format string, args ...any) {
	p.warnings = append(p.warnings, param.Warning{Code: code, Message: fmt.Sprintf(format, args...), Hint: hint})
}

// impedance sorts the points, averages repeated ones, drops the run at the low
// end that some devices hold constant, and makes a sweep of the rest.
func (p *Points) impedance() (measured.Impedance, error) {
	const fewest = 3
	if err := p.sort(); err != nil {
		return measured.Impedance{}, err
	}
	p.merge()
	if !p.asWritten {
		p.dropHeld()
	}
	if n := len(p.list); n < fewest && !(p.asWritten && n > 0) {
		return measured.Impedance{}, &fault.FormatError{File: p.source, Msg: fmt.Sprintf("the table holds %s that can be used, a sweep needs at least %d", count(len(p.list), "point"), fewest),
			Advice: "measure more frequencies, most of them around the peak"}
	}
	if p.solve != nil {
		if err := p.solve(p); err != nil {
			return measured.Impedance{}, err
		}
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
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		return measured.Impedance{}, &fault.FormatError{File: p.source, Msg: err.Error(), Err: err, Advice: "correct the values in the table"}
	}
	out.MagnitudeOnly = p.magnitudeOnly
	for k, name := range p.errors {
		e := measured.Systematic{Source: name, Effect: make([]complex128, len(p.list))}
		for i, pt := range p.list {
			e.Effect[i] = pt.effects[k]
		}
		out.Systematic = append(out.Systematic, e)
	}
	out.Source = p.source
	out.Warnings = param.Notices(p.warnings)
	return out, nil
}

// sort brings the points into rising order. A table that runs downwards is as
// good as one that runs upwards; any other order is told.
func (p *Points) sort() error {
	byFreq := func(a, b Point) int { return cmp.Compare(a.f, b.f) }
	if slices.IsSortedFunc(p.list, byFreq) {
		return nil
	}
	if slices.IsSortedFunc(p.list, func(a, b Point) int { return byFreq(b, a) }) {
		slices.Reverse(p.list)
		return nil
	}
	if line := p.secondSweep(); line > 0 {
		return &fault.SyntaxError{File: p.source, Line: line, Msg: "a second sweep begins here",
			Advice: "save each sweep in a file of its own; several files of one condition can be given together as repeats"}
	}
	slices.SortStableFunc(p.list, byFreq)
	p.warn("points-unsorted", "nothing to do, unless two tables were mixed", "the points were not in order of frequency and were sorted")
	return nil
}

// secondSweep returns the line at which the frequencies start over with other
// values for most of those that were there, or 0. Two sweeps in one table may
// be two conditions, and must not be averaged.
func (p *Points) secondSweep() int {
	turn := 1
	for turn < len(p.list) && p.list[turn].f >= p.list[turn-1].f {
		turn++
	}
	const fewest = 3
	if turn < fewest || len(p.list)-turn < fewest {
		return 0
	}
	seen := make(map[float64]complex128, turn)
	for _, q := range p.list[:turn] {
		seen[q.f] = q.z
	}
	again := 0
	for _, q := range p.list[turn:] {
		if z, ok := seen[q.f]; ok && z != q.z {
			again++
		}
	}
	if 2*again > len(p.list)-turn {
		return p.list[turn].line
	}
	return 0
}

// merge averages points at the same frequency. Repeats with the same value are
// one point written twice, and say nothing about the noise.
func (p *Points) merge() {
	out := p.list[:0]
	for i := 0; i < len(p.list); {
		q := p.list[i]
		sum, variance, same := q.z, q.sigma*q.sigma, true
		q.effects = slices.Clone(q.effects)
		j := i + 1
		for ; j < len(p.list) && p.list[j].f == q.f; j++ {
			same = same && p.list[j].z == q.z
			sum += p.list[j].z
			variance += p.list[j].sigma * p.list[j].sigma
			for k := range q.effects {
				q.effects[k] += p.list[j].effects[k]
			}
		}
		for k := range q.effects {
			q.effects[k] /= complex(float64(j-i), 0)
		}
		if n := float64(j - i); !same {
			q.z = sum / complex(n, 0)
			q.sigma = math.Sqrt(variance) / n
		}
		out = append(out, q)
		i = j
	}
	if merged := len(p.list) - len(out); merged > 0 {
		p.warn("points-repeated", "nothing to do, unless two tables were mixed", "%s at a frequency that was there already; points at the same frequency were averaged", count(merged, "point"))
	}
	p.list = out
}

// dropHeld leaves out points at the low end that a device did not measure but
// filled with its lowest true value. Few digits can make true points equal, so
// the run must be written with at least five.
//
// Source: seen in measured files; common practice.
func (p *Points) dropHeld() {
	const run, digits = 3, 5
	n := 0
	for n < len(p.list) && p.list[n].z == p.list[0].z {
		n++
	}
	if n < run || n == len(p.list) || p.list[0].digits < digits {
		return
	}
	held := n - 1 // the last of the run is the one that was measured
	p.warn("points-held", "nothing to do; a device that measures lower gives more",
		"%s below %s Hz have one and the same value, which the device held and did not measure; they were left out",
		count(held, "point"), strconv.FormatFloat(p.list[held].f, 'g', 4, 64))
	p.list = p.list[held:]
}
