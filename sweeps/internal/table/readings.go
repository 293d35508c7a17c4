package table

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"conewright/ts/notice"
)

// reading is one way in which two columns beside the frequency may be meant.
type reading struct {
	form  form
	rad   bool // the phase is in radians
	minus bool // the phase or the imaginary part has the opposite sign
}

type form uint8

const (
	polar form = iota
	polarDecibels
	cartesian
	noForm // of no reading
)

var ohmDegrees = reading{form: polar}

// String returns the reading in the words of the columns option.
func (r reading) String() string {
	if r.form == cartesian {
		return strings.Replace("re[ohm] ?im[ohm]", "?", r.sign(), 1)
	}
	size, angle := "|Z|[ohm] ", "phase[deg]"
	if r.form == polarDecibels {
		size = "|Z|[dBohm] "
	}
	if r.rad {
		angle = "phase[rad]"
	}
	return size + r.sign() + angle
}

func (r reading) sign() string {
	if r.minus {
		return "-"
	}
	return ""
}

// readings are all ways that are tried.
var readings = [...]reading{
	{polar, false, false}, {polar, true, false}, {polar, false, true}, {polar, true, true},
	{polarDecibels, false, false}, {polarDecibels, true, false}, {polarDecibels, false, true}, {polarDecibels, true, true},
	{cartesian, false, false}, {cartesian, false, true},
}

// misfits say how badly two columns fit together in each reading: the rms
// difference between the phase in the table and the one that belongs to the
// magnitude, over the rms phase. It is nil for a table with too few points to
// tell.
type misfits map[reading]float64

// only returns the reading that fits well, and at least twice as well as any
// other; without one it returns a reading of noForm.
func (m misfits) only() reading {
	const limit = 0.25
	none := reading{form: noForm}
	best, second := math.Inf(1), math.Inf(1)
	found := none
	for _, r := range readings {
		switch v, ok := m[r]; {
		case !ok:
		case v < best:
			best, second, found = v, best, r
		case v < second:
			second = v
		}
	}
	if best > limit || best > second/2 {
		return none
	}
	return found
}

// complexColumns returns the two columns that make the complex impedance.
func (t *table) complexColumns() (a, b int, f form, ok bool) {
	if a, b = t.column(realPart), t.column(imagPart); a >= 0 && b >= 0 {
		return a, b, cartesian, true
	}
	a, b = t.column(magnitude), t.column(phase)
	return a, b, polar, a >= 0 && b >= 0
}

// meant returns the reading that the names and units of the columns stand for.
func (t *table) meant() reading {
	a, b, f, _ := t.complexColumns()
	r := reading{form: f, minus: t.cols[b].negate}
	if f == polar {
		r.rad = t.cols[b].unit.scale == 1
		if t.cols[a].unit.kind == decibelOhms {
			r.form = polarDecibels
		}
	}
	return r
}

// fitReadings computes the misfits of all readings of the two columns that make
// the complex impedance. A driver is a passive one-port, so its phase belongs to
// its magnitude, see minimumPhase. Scales of the frequency and of the magnitude
// do not matter here, so units need not be known.
func (t *table) fitReadings() misfits {
	const fewest = 15
	a, b, _, ok := t.complexColumns()
	if !ok {
		return nil
	}
	u, first, second := t.thinned(a, b)
	if len(u) < fewest {
		return nil
	}
	// Near the ends the phase depends on what lies beyond them.
	const margin, wide = 0.7, 2.5 // in ln f
	first0, last0 := 0, len(u)
	if u[len(u)-1]-u[0] > wide {
		for u[first0] < u[0]+margin {
			first0++
		}
		for u[last0-1] > u[len(u)-1]-margin {
			last0--
		}
	}
	out := misfits{}
	kernel := newPhaseKernel(u, u)
	logs, belongs := make([]float64, len(u)), make([]float64, len(u))
	for i, r := range readings {
		if i == 0 || r.form != readings[i-1].form {
			for k := range u {
				logs[k] = logMagnitude(r.form, first[k], second[k])
			}
			low, high := endSlopes(u, logs)
			belongs = kernel.phase(logs, low, high)
		}
		var off, all float64
		for k := first0; k < last0; k++ {
			angle := second[k]
			switch {
			case r.form == cartesian:
				angle = math.Atan2(second[k], first[k])
			case !r.rad:
				angle *= degree
			}
			if r.minus {
				angle = -angle
			}
			off += (angle - belongs[k]) * (angle - belongs[k])
			all += angle * angle
		}
		if v := math.Sqrt(off / all); v < math.Inf(1) {
			out[r] = v
		}
	}
	return out
}

// logMagnitude returns the natural logarithm of the magnitude.
func logMagnitude(f form, x, y float64) float64 {
	switch f {
	case cartesian:
		return math.Log(math.Hypot(x, y))
	case polarDecibels:
		return x * (math.Ln10 / 20)
	}
	return math.Log(x)
}

// thinned returns ln f and two columns at up to a hundred points that rise in
// frequency. Finer detail says nothing more.
func (t *table) thinned(a, b int) (u, first, second []float64) {
	const most = 100
	type triple struct{ u, x, y float64 }
	fi := t.column(frequency)
	all := make([]triple, 0, len(t.rows))
	for _, row := range t.rows {
		p := triple{math.Log(row.cells[fi].value), row.cells[a].value, row.cells[b].value}
		if math.Abs(p.u) < math.Inf(1) && !math.IsNaN(p.x) && !math.IsNaN(p.y) {
			all = append(all, p)
		}
	}
	if len(all) < 2 {
		return nil, nil, nil
	}
	slices.SortFunc(all, func(p, q triple) int { return cmp.Compare(p.u, q.u) })
	step := max((all[len(all)-1].u-all[0].u)/most, 1e-6)
	for _, p := range all {
		if n := len(u); n == 0 || p.u-u[n-1] >= step {
			u, first, second = append(u, p.u), append(first, p.x), append(second, p.y)
		}
	}
	return u, first, second
}

// checkReading refuses a table whose columns, taken as they are named, cannot
// belong together, while taken in another way they do.
func (t *table) checkReading(fits misfits) error {
	if fits == nil {
		return nil
	}
	const bad, better = 0.25, 3
	meant := t.meant()
	v, ok := fits[meant]
	best := fits.only()
	if best.form == noForm || ok && (v < bad || v < better*fits[best]) {
		best = fits.sibling(meant)
	}
	if best.form == noForm || best == meant {
		return nil
	}
	return notice.New("columns-mistaken", notice.Facts{"named": meant.String(), "fits": best.String()}).In(t.source)
}

// sibling returns the reading that differs from r in the sign or the unit of the
// phase alone and fits where r cannot. Among these a coarse fit is enough: a
// wrong sign has a misfit of 2, wrong units one of 1 or 57.
func (m misfits) sibling(r reading) reading {
	const fits, cannot = 0.5, 0.9
	found := reading{form: noForm}
	for _, s := range readings {
		v, ok := m[s]
		if s.form == r.form && ok && v < fits && m[r] > cannot {
			found = s
		}
	}
	return found
}
