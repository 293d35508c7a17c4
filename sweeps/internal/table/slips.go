package table

import (
	"cmp"
	"math"
	"slices"

	"conewright/ts/notice"
)

// What a driver's sweep can be, as far as units go. A resonance lies between 5 Hz and 5 kHz,
// a coil has 0.5 to 100 ohm (the impedance at its lowest is near that), and no sweep of an
// audio interface goes above 24 kHz. Common practice.
const (
	leastFs, mostFs = 5.0, 5000.0 // Hz
	leastRe, mostRe = 0.5, 100.0  // ohm
	mostAudio       = 24.5e3      // Hz
)

// checkSlips asks about a unit that the header gives and that the values belie, where
// another one makes them those of a driver. What the user said himself is believed.
func (t *table) checkSlips() error {
	if t.headed == 0 {
		return nil
	}
	f, size, ok := t.curve()
	if !ok {
		return nil
	}
	fi, mi := t.column(frequency), t.column(magnitude)
	top := resonance(size)
	lowest := slices.Min(size)
	likely := func(i int, name, of string, value float64) error {
		other := slices.Clone(t.cols)
		other[i].unit, _ = lookUnit(name)
		if i != fi && mi < 0 { // both parts are in one unit
			other[t.column(imagPart)].unit = other[i].unit
		}
		a, b, _ := t.bothWays(other)
		return t.at(t.headed, notice.New("column-slip", notice.Facts{"column": i + 1, "of": of, "value": value, "line": a.line, "complex": a.complex,
			"first": a.columns, "frequency": a.f, "size": a.size, "phase": a.phase,
			"second": b.columns, "otherFrequency": b.f, "otherSize": b.size, "otherPhase": b.phase}))
	}
	within := func(x, lo, hi float64) bool { return lo <= x && x <= hi }
	unit := t.cols[fi].unit
	if top >= 0 {
		for name, scale := range map[string]float64{"Hz": 1, "kHz": 1e3} {
			as := f[top] / unit.scale * scale
			if !within(f[top], leastFs, mostFs) && within(as, leastFs, mostFs) {
				return likely(fi, name, "peak", f[top])
			}
		}
	}
	const turn = 2 * math.Pi
	ends := [2]float64{slices.Min(f), slices.Max(f)}
	if unit.scale == 1 && (within(ends[1], 60e3, turn*mostAudio) || round(ends[0]/turn) && round(ends[1]/turn) && !round(ends[0]) && !round(ends[1])) {
		return likely(fi, "rad/s", "end", ends[1])
	}
	zi := mi
	if mi < 0 {
		zi = t.column(realPart)
	}
	if t.cols[zi].unit.kind != ohms {
		return nil
	}
	switch scale := t.cols[zi].unit.scale; {
	case lowest > mostRe && scale != 1e-3 && within(lowest/scale*1e-3, leastRe, mostRe):
		return likely(zi, "mohm", "lowest", lowest)
	case lowest < leastRe && scale != 1e3 && within(lowest/scale*1e3, leastRe, mostRe) && slices.Max(size) < leastRe:
		return likely(zi, "kohm", "lowest", lowest)
	case mi >= 0 && slices.Max(size) < 1 && lowest > 0.01:
		return t.at(t.headed, notice.New("column-ratio", notice.Facts{"column": mi + 1, "lowest": lowest, "highest": slices.Max(size)}))
	case mi >= 0 && t.column(phase) < 0 && t.cols[mi].unit.scale == 1 && top >= 0 && decibelSized(lowest, size[top]):
		return likely(mi, "dBohm", "ratio", size[top]/lowest)
	}
	return nil
}

// decibelSized says whether magnitudes whose lowest is lo and whose peak is top are more
// likely dB of ohm than ohm: their lowest is that of a coil of 2.7 to 20 ohm in dB, and more
// than nearly all coils have in ohm, and the peak is lower beside it than those of drivers.
func decibelSized(lo, top float64) bool {
	const least, most, ratio = 8.6, 26, 4
	return lo > least && lo < most && top < ratio*lo
}

// round says whether a number is one that people enter for the end of a sweep: of one or
// two digits.
func round(x float64) bool {
	const close = 2e-4
	unit := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Abs(x/unit-math.Round(x/unit)) < close*x/unit
}

// curve is frequency (Hz) and size of the impedance (ohm) of the rows that have both, by
// rising frequency; false where the table holds voltages or less than a curve.
func (t *table) curve() (f, size []float64, ok bool) {
	const fewest, octaves = 7, 2
	use := t.curveColumns()
	if use == nil {
		return nil, nil, false
	}
	type point struct{ f, z float64 }
	all := make([]point, 0, len(t.rows))
	_, err := t.eachRow(use, func(_ tableRow, _ int, v rowValues) error {
		p := point{v[frequency], v[magnitude]}
		if use[1] == realPart {
			p.z = math.Hypot(v[realPart], v[imagPart])
		}
		if p.f > 0 && p.z > 0 {
			all = append(all, p)
		}
		return nil
	})
	if err != nil || len(all) < fewest { // what is wrong is said where the rows are read
		return nil, nil, false
	}
	slices.SortStableFunc(all, func(a, b point) int { return cmp.Compare(a.f, b.f) })
	f, size = make([]float64, len(all)), make([]float64, len(all))
	for i, p := range all {
		f[i], size[i] = p.f, p.z
	}
	return f, size, f[len(f)-1] > f[0]*math.Exp2(octaves)
}

// resonance is the index of the point that stands highest above what lies lowest on either
// side of it, -1 if none stands out by a tenth.
func resonance(size []float64) int {
	const least = 1.1
	n := len(size)
	after := make([]float64, n) // the lowest from here on
	low := math.Inf(1)
	for i := n - 1; i >= 0; i-- {
		low = min(low, size[i])
		after[i] = low
	}
	top, best := -1, least
	low = math.Inf(1)
	for i, v := range size {
		low = min(low, v)
		if above := v / max(low, after[i]); above > best {
			top, best = i, above
		}
	}
	return top
}

// meaning is what a row means under an assignment of the columns.
type meaning struct {
	columns string  // in the words of the columns option
	line    int     // of the row
	f, size float64 // Hz, ohm
	complex bool    // there is a phase
	phase   float64 // rad
}

// bothWays are the meanings of a row in the middle of the table as its columns are taken
// and as other has them; false where the columns are no impedance.
func (t *table) bothWays(other []column) (a, b meaning, ok bool) {
	as := *t
	as.cols = other
	a, ok = t.middle()
	b, okToo := as.middle()
	return a, b, ok && okToo
}

// middle is the meaning of a row in the middle of the table; columns without a unit have
// the one of the trade.
func (t *table) middle() (meaning, bool) {
	as := *t
	as.cols = t.withUsualUnits()
	use := as.curveColumns()
	if use == nil {
		return meaning{}, false
	}
	m := meaning{columns: as.example()}
	at := 0
	_, err := as.eachRow(use, func(row tableRow, _ int, v rowValues) error {
		if at++; at > 1 && row.line > (t.rows[0].line+t.rows[len(t.rows)-1].line+1)/2 {
			return nil
		}
		m.line, m.f, m.size, m.phase = row.line, v[frequency], v[magnitude], v[phase]
		if use[1] == realPart {
			m.size, m.phase = math.Hypot(v[realPart], v[imagPart]), math.Atan2(v[imagPart], v[realPart])
		}
		m.complex = len(use) == 3
		return nil
	})
	return m, err == nil && m.line > 0
}

// curveColumns are the columns that make an impedance, nil for none.
func (t *table) curveColumns() []role {
	switch has := t.has(); {
	case !has[frequency]:
		return nil
	case has[realPart] && has[imagPart]:
		return []role{frequency, realPart, imagPart}
	case has[magnitude] && has[phase]:
		return []role{frequency, magnitude, phase}
	case has[magnitude]:
		return []role{frequency, magnitude}
	}
	return nil
}

// withUsualUnits gives columns that have none the unit of the trade.
func (t *table) withUsualUnits() []column {
	out := slices.Clone(t.cols)
	for i, c := range out {
		if c.unit.kind == noUnit && usualUnits[c.role] != "" {
			out[i].unit, _ = lookUnit(usualUnits[c.role])
		}
	}
	return out
}

// otherReading is the other way in which the column i, whose unit is not given, may be
// meant; in a table without names it is the one in which magnitude and phase belong together.
func (t *table) otherReading(i int, clear reading) []column {
	out := slices.Clone(t.cols)
	set := func(i int, r role, unit string, negate bool) {
		out[i].role, out[i].negate = r, negate
		out[i].unit, _ = lookUnit(unit)
	}
	r := t.cols[i].role
	mi, pi := t.column(magnitude), t.column(phase)
	lo, hi := t.valueRange(i)
	size := "dBohm"
	switch {
	case hi > 3000:
		size = "mohm"
	case lo < 0.1 || r == realPart || r == imagPart:
		size = "kohm"
	}
	switch {
	case t.unnamed && pi >= 0 && r != frequency && clear.form == cartesian, t.unnamed && r == phase && clear.form == noForm:
		set(mi, realPart, "ohm", false)
		set(pi, imagPart, "ohm", clear.minus)
	case t.unnamed && pi >= 0 && r != frequency && clear.form != noForm:
		set(mi, magnitude, map[form]string{polar: "ohm", polarDecibels: "dBohm"}[clear.form], false)
		set(pi, phase, map[bool]string{false: "deg", true: "rad"}[clear.rad], clear.minus)
	case r == frequency:
		set(i, r, "kHz", false)
	case r == phase:
		set(i, r, "rad", false)
	case r == magnitude || r == realPart || r == imagPart:
		set(i, r, size, false)
	default:
		return nil
	}
	return out
}
