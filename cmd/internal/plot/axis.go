package plot

import (
	"math"
	"strconv"
	"strings"
)

// Axis describes one axis. The zero value is linear and takes its range from
// the data.
type Axis struct {
	Label string // with the unit: "impedance, Ω"
	Log   bool
	// Lo and Hi are the ends of the range; both zero: from the data.
	Lo, Hi float64
	// Zero keeps zero in a range that is taken from the data.
	Zero bool
	// Angle puts ticks at 15, 30, 45 or 90 degrees instead of decimal steps.
	Angle bool
	// Whole allows ticks at whole numbers only.
	Whole bool
}

func (a Axis) check(part string) error {
	for _, v := range []float64{a.Lo, a.Hi} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return &DataError{part, "its range is not finite"}
		}
	}
	if (a.Lo != 0 || a.Hi != 0) && !(a.Lo < a.Hi) {
		return &DataError{part, "its range is empty"}
	}
	if a.Log && a.Hi != 0 && !(a.Lo > 0) {
		return &DataError{part, "its range must be positive, because it is logarithmic"}
	}
	return nil
}

// span collects the range of data.
type span struct{ lo, hi float64 }

func noSpan() span { return span{math.Inf(1), math.Inf(-1)} }

func (s *span) add(values ...float64) {
	for _, v := range values {
		s.lo = math.Min(s.lo, v)
		s.hi = math.Max(s.hi, v)
	}
}

func (s span) empty() bool { return s.lo > s.hi }

// fit returns the range to draw for data in s: wide enough to see a single
// point, with a little air, and for a linear axis ending on round numbers when
// round is set.
func (a Axis) fit(s span, round bool, pixels float64) span {
	if a.Lo < a.Hi {
		return span{a.Lo, a.Hi}
	}
	if a.Log {
		if s.empty() {
			return span{10, 1000}
		}
		if s.hi < s.lo*1.05 {
			return span{s.lo / 1.25, s.hi * 1.25}
		}
		return s
	}
	if s.empty() {
		return span{0, 1}
	}
	if a.Zero {
		s.add(0)
	}
	if d := s.hi - s.lo; d <= 1e-9*math.Max(math.Abs(s.lo), math.Abs(s.hi)) {
		half := math.Max(math.Abs(s.lo)*0.05, 1e-12)
		if s.lo == 0 {
			half = 1
		}
		s = span{s.lo - half, s.hi + half}
	} else {
		air := 0.04 * d
		if !(a.Zero && s.lo == 0) {
			s.lo -= air
		}
		if !(a.Zero && s.hi == 0) {
			s.hi += air
		}
	}
	if round {
		// Rounding widens the range, which may call for a wider step.
		data, step := s, 0.0
		for next := a.step(s, pixels, upright); next > step; next = a.step(s, pixels, upright) {
			step = next
			s.lo = step * math.Floor(data.lo/step+1e-9)
			s.hi = step * math.Ceil(data.hi/step-1e-9)
		}
	}
	return s
}

// upright is the least distance in pixels between numbers that stand above each
// other.
const upright = 28.0

// step returns the distance of labelled ticks on a linear axis, at least apart
// pixels from each other.
func (a Axis) step(s span, pixels, apart float64) float64 {
	least := (s.hi - s.lo) / math.Max(2, pixels/apart)
	if a.Angle {
		for _, step := range []float64{15, 30, 45, 90, 180} {
			if step >= least {
				return step
			}
		}
	}
	p := math.Pow(10, math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*p >= least*(1-1e-9) && !(a.Whole && m*p < 1) {
			return m * p
		}
	}
	return math.Max(10*p, 1)
}

// ruler maps values to pixels.
type ruler struct {
	log    bool
	v      span
	p0, p1 float64 // pixels of v.lo and v.hi
}

func (r ruler) at(v float64) float64 {
	lo, hi := r.v.lo, r.v.hi
	if r.log {
		lo, hi, v = math.Log(lo), math.Log(hi), math.Log(v)
	}
	return r.p0 + (v-lo)/(hi-lo)*(r.p1-r.p0)
}

func (r ruler) holds(v float64) bool { return v >= r.v.lo && v <= r.v.hi }

// tick is a line of the grid; one without label is a minor one.
type tick struct {
	value float64
	label string
}

// ticks returns the grid of an axis along r, labelled ticks with the room that
// their text needs.
func (a Axis) ticks(r ruler) []tick {
	if a.Log {
		return logTicks(r)
	}
	return a.linearTicks(r)
}

// linearTicks returns ticks in decimal steps, or in steps of degrees, as densely
// as their numbers allow.
func (a Axis) linearTicks(r ruler) []tick {
	pixels := math.Abs(r.p1 - r.p0)
	if r.p1 < r.p0 {
		for apart := upright; apart > tickSize; apart /= 1.2 {
			if out := stepTicks(a.step(r.v, pixels, apart), r.v); len(out) > 1 {
				return out
			}
		}
		return stepTicks(a.step(r.v, pixels, tickSize), r.v)
	}
	// Numbers beside each other need room for the longest of them. Where that
	// leaves fewer than two they may stand closer.
	for _, gap := range []float64{14, 4} {
		for apart := 40.0; apart < pixels; apart *= 1.1 {
			out := stepTicks(a.step(r.v, pixels, apart), r.v)
			if len(out) < 2 {
				break
			}
			if labelsFit(out, r, gap) {
				return out
			}
		}
	}
	return stepTicks(a.step(r.v, pixels, pixels/2), r.v)
}

// labelsFit says whether the labels of ticks keep a gap between each other.
func labelsFit(ticks []tick, r ruler, gap float64) bool {
	end := math.Inf(-1) // of the label before
	for _, t := range ticks {
		if t.label == "" {
			continue
		}
		half := textWidth(t.label, tickSize) / 2
		if r.p1 < r.p0 { // upright: the numbers stand above each other
			half = tickSize / 2
		}
		x := math.Abs(r.at(t.value) - r.p0)
		if x-half < end+gap {
			return false
		}
		end = x + half
	}
	return true
}

func stepTicks(step float64, s span) []tick {
	var out []tick
	// A tick on the very edge belongs to the axis even when rounding has put
	// it a hair outside.
	k0 := int(math.Ceil(s.lo/step - 1e-6))
	k1 := int(math.Floor(s.hi/step + 1e-6))
	for k := k0; k <= k1; k++ {
		out = append(out, tick{float64(k) * step, tickLabel(float64(k)*step, step)})
	}
	return out
}

// tickLabel writes a value with as many decimals as the step needs.
func tickLabel(v, step float64) string {
	if v == 0 {
		return "0"
	}
	if step >= 1e6 || step < 1e-5 {
		return minus(strconv.FormatFloat(v, 'g', 6, 64))
	}
	decimals := int(math.Max(0, -math.Floor(math.Log10(step)+1e-9)))
	return minus(strconv.FormatFloat(v, 'f', decimals, 64))
}

func minus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// logTicks labels a logarithmic axis as densely as the text allows: every whole
// multiple of a decade, else 1-2-5, else decades alone, with their 3 where there is one decade only, or every
// second or third of them where there are many. All multiples stay as
// minor lines. An axis shorter than that gets linear ticks.
func logTicks(r ruler) []tick {
	lo, hi := r.v.lo*(1-1e-9), r.v.hi*(1+1e-9)
	first, last := math.Floor(math.Log10(lo)), math.Ceil(math.Log10(hi))
	var all []tick
	digit := map[float64]int{}
	for e := first; e <= last; e++ {
		for d := 1; d <= 9; d++ {
			v := float64(d) * math.Pow(10, e)
			if v >= lo && v <= hi {
				all = append(all, tick{value: v})
				digit[v] = d
			}
		}
	}
	if len(all) < 5 && hi < 10*lo {
		return Axis{}.linearTicks(r)
	}
	for _, keep := range []struct {
		digits  string
		decades int
	}{{"123456789", 1}, {"125", 1}, {"1", 1}, {"13", 1}, {"1", 2}, {"1", 3}} {
		labels := 0
		for i := range all {
			all[i].label = ""
			v := all[i].value
			if strings.Contains(keep.digits, strconv.Itoa(digit[v])) && int(math.Round(math.Log10(v/float64(digit[v]))))%keep.decades == 0 {
				all[i].label = logLabel(v)
				labels++
			}
		}
		if labels > 1 && labelsFit(all, r, 7) {
			return all
		}
	}
	return Axis{}.linearTicks(r)
}

func logLabel(v float64) string {
	prefix := ""
	switch {
	case v > 0.9999e6:
		v, prefix = v/1e6, "M"
	case v > 0.9999e3:
		v, prefix = v/1e3, "k"
	}
	return strconv.FormatFloat(v, 'g', 3, 64) + prefix
}
