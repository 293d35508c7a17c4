package table

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/sweeps/bench"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// points are the rows of a table as impedances or, before solve is called,
// as ratios of two voltages; at first in the order of the file.
type points struct {
	source        string
	magnitudeOnly bool
	list          []point
	errors        []string // names of the systematic errors, see point.effects
	warnings      []notice.Notice
	// solve turns the cleaned list into impedances where the rows alone did
	// not; nil otherwise.
	solve func(*points) error
}

type point struct {
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
	var used []int // columns
	for i, c := range t.cols {
		if slices.Contains(use, c.role) {
			used = append(used, i)
		}
	}
rows:
	for _, row := range t.rows {
		var v rowValues
		digits := 0
		for _, i := range used {
			c := &t.cols[i]
			switch cell := row.cells[i]; {
			case !cell.ok:
				return 0, t.at(row.line, notice.New("cell-no-number", notice.Facts{"text": shorten(cell.text), "holds": c.role.String()}))
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
func (c *column) si(v float64) float64 {
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
	for i := range len(s) {
		switch c := s[i]; {
		case c == 'e' || c == 'E':
			return n
		case c >= '1' && c <= '9' || c == '0' && n > 0:
			n++
		}
	}
	return n
}

// points turns the rows into impedances, without those that lack a value.
func (t *table) points(b bench.Bench) (*points, error) {
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

func (t *table) impedances(use []role, withNoise, magnitudeOnly bool, z func(rowValues) complex128) (*points, error) {
	out := &points{source: t.source, magnitudeOnly: magnitudeOnly}
	relative := false
	if withNoise {
		use = append(use, noise)
		relative = t.cols[t.column(noise)].unit.kind == percent
	}
	out.list = make([]point, 0, len(t.rows))
	atZero := 0
	missing, err := t.eachRow(use, func(row tableRow, digits int, v rowValues) error {
		line := row.line
		if skip, err := t.checkFrequency(line, v[frequency]); skip || err != nil {
			atZero++
			return err
		}
		if slices.Contains(use, magnitude) && v[magnitude] <= 0 {
			return t.at(line, notice.New("table-magnitude", notice.Facts{"magnitude": v[magnitude]}))
		}
		p := point{line: line, f: v[frequency], z: z(v), sigma: v[noise], digits: digits}
		if relative {
			p.sigma *= cmplx.Abs(p.z)
		}
		if withNoise && !(p.sigma > 0) {
			return t.at(line, notice.New("table-noise", notice.Facts{"noise": p.sigma}))
		}
		if cmplx.IsInf(p.z) || cmplx.IsNaN(p.z) || math.IsInf(p.sigma, 0) {
			return t.at(line, notice.New("table-too-large", nil))
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
		return false, t.at(line, notice.New("table-frequency", notice.Facts{"frequency": f}))
	}
	return f == 0, nil
}

// column returns the index of the column with a role that is there.
func (t *table) column(r role) int {
	return slices.IndexFunc(t.cols, func(c column) bool { return c.role == r })
}

func (p *points) leftOut(missing, atZero int) {
	if missing > 0 {
		p.warn(notice.New("points-missing", notice.Facts{"points": missing}))
	}
	if atZero > 0 {
		p.warn(notice.New("point-at-zero", notice.Facts{"points": atZero}))
	}
}

func (p *points) warn(n *notice.Notice) { p.warnings = append(p.warnings, *n) }

// impedance sorts the points, averages repeated ones, drops the run at the low
// end that some devices hold constant, and makes a sweep of the rest.
func (p *points) impedance() (measured.Impedance, error) {
	const fewest = 3
	if err := p.sort(); err != nil {
		return measured.Impedance{}, err
	}
	p.merge()
	p.dropHeld()
	if n := len(p.list); n < fewest {
		return measured.Impedance{}, notice.New("table-few-points", notice.Facts{"points": n, "least": fewest}).In(p.source)
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
		if cmplx.IsInf(pt.z) || cmplx.IsNaN(pt.z) || math.IsInf(pt.sigma, 0) {
			return measured.Impedance{}, notice.New("table-too-large", nil).At(p.source, pt.line)
		}
		freq[i], z[i] = pt.f, pt.z
		if pt.sigma > 0 {
			sigma = append(sigma, pt.sigma)
		}
	}
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		return measured.Impedance{}, err
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
	out.Warnings = p.warnings
	return out, nil
}

// sort brings the points into rising order. A table that runs downwards is as
// good as one that runs upwards; any other order is told.
func (p *points) sort() error {
	byFreq := func(a, b point) int { return cmp.Compare(a.f, b.f) }
	if slices.IsSortedFunc(p.list, byFreq) {
		return nil
	}
	if slices.IsSortedFunc(p.list, func(a, b point) int { return byFreq(b, a) }) {
		slices.Reverse(p.list)
		return nil
	}
	if line := p.secondSweep(); line > 0 {
		return notice.New("table-second-sweep", nil).At(p.source, line)
	}
	slices.SortStableFunc(p.list, byFreq)
	p.warn(notice.New("points-unsorted", nil))
	return nil
}

// secondSweep returns the line at which the frequencies start over with other
// values for most of those that were there, or 0. Two sweeps in one table may
// be two conditions, and must not be averaged.
func (p *points) secondSweep() int {
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
func (p *points) merge() {
	out := p.list[:0]
	for i := 0; i < len(p.list); {
		q := p.list[i]
		sum, sigma, same := q.z, q.sigma, true
		q.effects = slices.Clone(q.effects)
		j := i + 1
		for ; j < len(p.list) && p.list[j].f == q.f; j++ {
			same = same && p.list[j].z == q.z
			sum += p.list[j].z
			sigma = math.Hypot(sigma, p.list[j].sigma)
			for k := range q.effects {
				q.effects[k] += p.list[j].effects[k]
			}
		}
		for k := range q.effects {
			q.effects[k] /= complex(float64(j-i), 0)
		}
		if n := float64(j - i); !same {
			q.z = sum / complex(n, 0)
			q.sigma = sigma / n
		}
		out = append(out, q)
		i = j
	}
	if merged := len(p.list) - len(out); merged > 0 {
		p.warn(notice.New("points-repeated", notice.Facts{"points": merged}))
	}
	p.list = out
}

// dropHeld leaves out points at the low end that a device did not measure but
// filled with its lowest true value. Few digits can make true points equal, so
// the run must be written with at least five.
//
// Source: seen in measured files; common practice.
func (p *points) dropHeld() {
	const run, digits = 3, 5
	n := 0
	for n < len(p.list) && p.list[n].z == p.list[0].z {
		n++
	}
	if n < run || n == len(p.list) || p.list[0].digits < digits {
		return
	}
	held := n - 1 // the last of the run is the one that was measured
	p.warn(notice.New("points-held", notice.Facts{"points": held, "below": p.list[held].f}))
	p.list = p.list[held:]
}
