package plot

import (
	"fmt"
	"math"
)

// Reading is a value with its 95 % interval.
type Reading struct{ Value, Lo, Hi float64 }

// Gauge is one value against its limits.
type Gauge struct {
	Name  string // "Fs"
	Text  string // the value as printed: "36.6 Hz"
	Now   Reading
	Prior *Reading // the value before the repair; nil: none
	// Limits of the value; at least one side is finite.
	Limits         Limits
	LoText, HiText string // the limits as printed
	Verdict        string // "in spec"
}

// Gauges shows values of different kinds below each other, each on a scale of
// its own that puts the limits of all rows in one line. What lies outside is
// hatched. An interval that leaves the scale ends in an arrow.
type Gauges struct {
	About
	Rows []Gauge
}

func (g Gauges) check() error {
	if err := g.About.check(); err != nil {
		return err
	}
	for _, r := range g.Rows {
		readings := []Reading{r.Now}
		if r.Prior != nil {
			readings = append(readings, *r.Prior)
		}
		for _, v := range readings {
			if err := v.check("gauge " + r.Name); err != nil {
				return err
			}
		}
		if err := r.Limits.check("gauge " + r.Name); err != nil {
			return err
		}
		if math.IsInf(r.Limits.Lo, 0) && math.IsInf(r.Limits.Hi, 0) {
			return &DataError{"gauge " + r.Name, "it has no limit"}
		}
	}
	return nil
}

func (v Reading) check(part string) error {
	if err := columns(part, 3, []float64{v.Value, v.Lo, v.Hi}); err != nil {
		return err
	}
	if !(v.Lo <= v.Value && v.Value <= v.Hi) {
		return &DataError{part, fmt.Sprintf("the value %v is not inside its interval %v to %v", v.Value, v.Lo, v.Hi)}
	}
	return nil
}

func (l Limits) check(part string) error {
	if math.IsNaN(l.Lo) || math.IsNaN(l.Hi) || l.Lo >= l.Hi {
		return &DataError{part, fmt.Sprintf("%v to %v is not a range", l.Lo, l.Hi)}
	}
	return nil
}

// scale returns the mapping that puts the limits at -1 and +1.
func (g Gauge) scale() func(v float64) float64 {
	lo, hi := g.Limits.Lo, g.Limits.Hi
	if !math.IsInf(lo, 0) && !math.IsInf(hi, 0) {
		return func(v float64) float64 { return (2*v - lo - hi) / (hi - lo) }
	}
	limit, side := hi, 1.0
	if math.IsInf(hi, 0) {
		limit, side = lo, -1
	}
	unit := 0.1 * math.Abs(limit)
	for _, v := range []float64{g.Now.Lo, g.Now.Hi} {
		unit = math.Max(unit, math.Abs(v-limit)/1.5)
	}
	if unit == 0 {
		unit = 1
	}
	return func(v float64) float64 { return side + (v-limit)/unit }
}

const (
	trackHeight = 20.0
	gaugeReach  = 2.1 // ends of the track, in half-widths of the permitted range
	stackBelow  = 520 // px: on narrower figures the words stand above the track
)

func (g Gauges) layout(width float64, heading bool) *scene {
	s := &scene{width: width}
	y := s.heading(g.Title, heading)
	c := rowColumns(width, len(g.Rows), func(i int) (string, string, string) {
		return g.Rows[i].Name, g.Rows[i].Text, g.Rows[i].Verdict
	})
	for _, r := range g.Rows {
		y = s.words(c, y, r.Name, r.Text, r.Verdict)
		track := box{c.x0, y, c.x1, y + trackHeight}
		clip := s.clip(track)
		u := r.scale()
		middle := (c.x0 + c.x1) / 2
		reach := (c.x1 - c.x0) / 2 / gaugeReach
		at := func(v float64) float64 { return middle + reach*u(v) }

		in := track
		var hatch, tint, edge pen
		if !math.IsInf(r.Limits.Lo, 0) {
			in.x0 = at(r.Limits.Lo)
			hatch.rect(box{track.x0, track.y0, in.x0, track.y1})
			edge.segment(point{in.x0, track.y0 - 2}, point{in.x0, track.y1 + 2})
			s.write("tick", "middle", point{in.x0, track.y1 + 14}, r.LoText)
		}
		if !math.IsInf(r.Limits.Hi, 0) {
			in.x1 = at(r.Limits.Hi)
			hatch.rect(box{in.x1, track.y0, track.x1, track.y1})
			edge.segment(point{in.x1, track.y0 - 2}, point{in.x1, track.y1 + 2})
			s.write("tick", "middle", point{in.x1, track.y1 + 14}, r.HiText)
		}
		tint.rect(in)
		s.draw("tint", 0, tint)
		s.draw("hatch", clip, hatch)
		s.draw("frame", 0, edge)
		mid := track.y0 + trackHeight/2
		if r.Prior != nil {
			s.reading(*r.Prior, Before, at, track, mid-5)
			mid += 4
		}
		s.reading(r.Now, After, at, track, mid)
		y = track.y1 + 24
	}
	s.height = y
	return s
}

// reading draws a value with its interval at the height y of a track. What
// leaves the track becomes an arrow at its end.
func (s *scene) reading(v Reading, role Role, at func(float64) float64, track box, y float64) {
	lo, hi := at(v.Lo), at(v.Hi)
	name := roleNames[role]
	arrow := func(x, towards float64) {
		var p pen
		p.move(point{x, y})
		p.line(point{x - 7*towards, y - 4.5})
		p.line(point{x - 7*towards, y + 4.5})
		p.close()
		s.draw("mark-"+name, 0, p)
	}
	var beam, mark pen
	a, b := math.Max(lo, track.x0), math.Min(hi, track.x1)
	if a < b {
		beam.segment(point{a, y}, point{b, y})
		s.draw("beam-"+name, 0, beam)
	}
	if lo < track.x0 {
		arrow(track.x0, -1)
	}
	if hi > track.x1 {
		arrow(track.x1, 1)
	}
	if x := at(v.Value); x >= track.x0 && x <= track.x1 {
		if role == Before {
			mark.rect(box{x - 3.8, y - 3.8, x + 3.8, y + 3.8})
		} else {
			mark.diamond(point{x, y}, 5.5)
		}
		s.draw("mark-"+name, 0, mark)
	}
}

// rows is how the words of gauges and intervals are set around their tracks.
type rows struct {
	stacked    bool    // words above the track
	x0, x1     float64 // the track
	text, last float64 // where the value and the verdict begin, when not stacked
}

func rowColumns(width float64, n int, words func(i int) (name, text, last string)) rows {
	var name, text, last float64
	for i := 0; i < n; i++ {
		a, b, c := words(i)
		name = math.Max(name, textWidth(a, labelSize*1.06)) // bold is wider
		text = math.Max(text, textWidth(b, labelSize))
		last = math.Max(last, textWidth(c, labelSize))
	}
	x0 := name + 12 + text + 16
	x1 := width - last - 16
	if last == 0 {
		x1 = width - rightMargin
	}
	if width < stackBelow || x1-x0 < 0.4*width {
		return rows{stacked: true, x0: 2, x1: width - 2}
	}
	return rows{x0: x0, x1: x1, text: name + 12, last: x1 + 14}
}

// words writes the words of one row and returns where its track begins.
func (s *scene) words(c rows, y float64, name, text, last string) float64 {
	if c.stacked {
		s.marks = append(s.marks, mark{class: "word", align: "start", at: point{c.x0, y + 13}, lead: name, text: text})
		if textWidth(name, labelSize*1.06)+textWidth(text, labelSize)+textWidth(last, labelSize)+24 > c.x1-c.x0 {
			y += 16 // the verdict has a line of its own
		}
		s.write("word", "end", point{c.x1, y + 13}, last)
		return y + 20
	}
	s.write("strong", "start", point{0, y + 15}, name)
	s.write("word", "start", point{c.text, y + 15}, text)
	s.write("word", "start", point{c.last, y + 15}, last)
	return y + 2
}
