package plot

import "math"

// Interval is one row of [Intervals].
type Interval struct {
	Name   string // "moving mass"
	Text   string // the value as printed: "+1.8 % (0.4 to 3.2)"
	Role   Role
	Value  Reading
	Limits *Limits // hatched beyond, in this row alone; nil: none
	// Verdict stands at the end of the row; "" for none.
	Verdict string
}

// Intervals shows values of one kind below each other on one scale: changes in
// percent, differences of a pair.
type Intervals struct {
	About
	X         Axis
	Reference float64 // value of the line through all rows: no change
	Rows      []Interval
}

func (v Intervals) check() error {
	if err := v.About.check(); err != nil {
		return err
	}
	if err := v.X.check("axis"); err != nil {
		return err
	}
	if err := columns("reference", 1, []float64{v.Reference}); err != nil {
		return err
	}
	for _, r := range v.Rows {
		if err := r.Value.check("interval " + r.Name); err != nil {
			return err
		}
		if r.Limits != nil {
			if err := r.Limits.check("interval " + r.Name); err != nil {
				return err
			}
		}
	}
	return nil
}

const rowHeight = 17.0 // px of one interval

func (v Intervals) layout(width float64, heading bool) *scene {
	s := &scene{width: width}
	y := s.heading(v.Title, heading)
	c := rowColumns(width, len(v.Rows), func(i int) (string, string, string) {
		return v.Rows[i].Name, v.Rows[i].Text, v.Rows[i].Verdict
	})
	half := 0.0 // of the widest number at the axis, which may reach over the track
	if c.stacked {
		half = 14
	}
	x := span{v.Reference, v.Reference}
	for _, r := range v.Rows {
		x.add(r.Value.Lo, r.Value.Hi)
		if r.Limits != nil {
			for _, l := range []float64{r.Limits.Lo, r.Limits.Hi} {
				if !math.IsInf(l, 0) {
					x.add(l)
				}
			}
		}
	}
	r := ruler{v.X.Log, span{}, c.x0 + half, c.x1 - half}
	r.v = v.X.fit(x, true, r.p1-r.p0)
	ticks := v.X.ticks(r)

	top := y
	type row struct {
		track box
		data  Interval
	}
	var all []row
	for _, d := range v.Rows {
		y = s.words(c, y, d.Name, d.Text, d.Verdict)
		all = append(all, row{box{r.p0, y, r.p1, y + rowHeight}, d})
		y += rowHeight + 5
	}
	var grid, zero pen
	for _, t := range ticks {
		if t.label == "" {
			continue
		}
		px := r.at(t.value)
		for _, a := range all {
			grid.segment(point{px, a.track.y0}, point{px, a.track.y1})
		}
		s.write("tick", "middle", point{px, y + 14}, t.label)
	}
	for _, a := range all {
		if l := a.data.Limits; l != nil {
			var hatch, tint, edge pen
			in := a.track
			if !math.IsInf(l.Lo, 0) && l.Lo > r.v.lo {
				in.x0 = r.at(l.Lo)
				hatch.rect(box{a.track.x0, a.track.y0, in.x0, a.track.y1})
				edge.segment(point{in.x0, a.track.y0}, point{in.x0, a.track.y1})
			}
			if !math.IsInf(l.Hi, 0) && l.Hi < r.v.hi {
				in.x1 = r.at(l.Hi)
				hatch.rect(box{in.x1, a.track.y0, a.track.x1, a.track.y1})
				edge.segment(point{in.x1, a.track.y0}, point{in.x1, a.track.y1})
			}
			tint.rect(in)
			s.draw("tint", 0, tint)
			s.draw("hatch", s.clip(a.track), hatch)
			s.draw("frame", 0, edge)
		}
	}
	s.draw("grid", 0, grid)
	if px := r.at(v.Reference); len(all) > 0 && !c.stacked {
		zero.segment(point{px, top}, point{px, y})
	} else {
		for _, a := range all {
			zero.segment(point{px, a.track.y0}, point{px, a.track.y1})
		}
	}
	s.draw("frame", 0, zero)
	for _, a := range all {
		s.reading(a.data.Value, a.data.Role, r.at, a.track, (a.track.y0+a.track.y1)/2)
	}
	y += 18
	s.write("axis", "end", point{r.p1 + half, y + 14}, v.X.Label)
	s.height = y + 22
	return s
}
