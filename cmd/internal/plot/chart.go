package plot

import "math"

const (
	panelHeight = 220.0
	titleRow    = 20.0 // px for one line of the heading
	labelRow    = 25.0 // px for the axis title above a panel
	tightRow    = 4.0  // px above a panel without a title
	tickRow     = 20.0 // px for the numbers below a panel
	panelGap    = 8.0
	rightMargin = 18.0
)

func (c Chart) layout(width float64, heading bool) *scene {
	s := &scene{width: width}
	y := s.heading(c.Title, heading)

	xs := noSpan()
	ys := make([]span, len(c.Panels))
	for i, p := range c.Panels {
		ys[i] = noSpan()
		p.extent(&xs, &ys[i])
	}

	// The widest number at any Y axis decides where all frames begin.
	left := 0.0
	rulers := make([]ruler, len(c.Panels))
	for i, p := range c.Panels {
		h := p.height()
		rulers[i] = ruler{p.Y.Log, p.Y.fit(ys[i], true, h), h, 0}
		for _, t := range p.Y.ticks(rulers[i]) {
			left = math.Max(left, textWidth(t.label, tickSize))
		}
	}
	left += 9
	rx := ruler{c.X.Log, span{}, left, width - rightMargin}
	rx.v = c.X.fit(xs, false, rx.p1-rx.p0)

	var unplaced []Series // names that found no room in their panel
	for i, p := range c.Panels {
		label := labelRow
		if p.Y.Label == "" { // it belongs to the panel above
			label = tightRow
		}
		frame := box{left, y + label, width - rightMargin, y + label + p.height()}
		ry := rulers[i]
		ry.p0, ry.p1 = frame.y1, frame.y0
		s.write("axis", "start", point{0, frame.y0 - 11}, p.Y.Label)
		unplaced = append(unplaced, s.panel(p, c.X, frame, rx, ry)...)
		y = frame.y1 + panelGap
	}
	y -= panelGap
	for _, t := range c.X.ticks(rx) {
		s.write("tick", "middle", point{rx.at(t.value), y + 17.5}, t.label)
	}
	y += tickRow
	s.write("axis", "end", point{width - rightMargin, y + 15}, c.X.Label)
	y += 22
	y = s.key(unplaced, left, y)
	s.height = y
	return s
}

// heading draws the title of a standalone file and returns where to go on.
func (s *scene) heading(title string, wanted bool) float64 {
	y := 4.0
	if wanted {
		for _, line := range wrap(title, titleSize, s.width-rightMargin) {
			y += titleRow
			s.write("title", "start", point{0, y - 6}, line)
		}
	}
	return y
}

// key lists names with a sample of their line.
func (s *scene) key(names []Series, left, y float64) float64 {
	x := left
	for _, n := range names {
		w := 34 + textWidth(n.Name, labelSize) + 18
		if x > left && x+w > s.width {
			x, y = left, y+18
		}
		var line, dot pen
		if n.Line {
			line.segment(point{x, y + 8}, point{x + 28, y + 8})
		}
		if n.Points {
			dot.dot(point{x + 14, y + 8})
		}
		s.draw("line-"+roleNames[n.Role], 0, line)
		s.draw("dots-"+roleNames[n.Role], 0, dot)
		s.write("word", "start", point{x + 34, y + 12}, n.Name)
		x += w
	}
	if len(names) > 0 {
		y += 20
	}
	return y
}

func (p Panel) height() float64 {
	if p.Height > 0 {
		return p.Height
	}
	return panelHeight
}

// extent adds everything that must be visible to the ranges of both axes. Limits
// on X need not be: a sweep is not stretched to reach them.
func (p Panel) extent(x, y *span) {
	for _, s := range p.Series {
		for i := range s.X {
			ex, ey := 0.0, 0.0
			if s.XErr != nil {
				ex = s.XErr[i]
			}
			if s.YErr != nil {
				ey = s.YErr[i]
			}
			x.add(s.X[i]-ex, s.X[i]+ex)
			y.add(s.Y[i]-ey, s.Y[i]+ey)
		}
	}
	for _, b := range p.Bands {
		x.add(b.X...)
		y.add(b.Lo...)
		y.add(b.Hi...)
	}
	for _, m := range p.Markers {
		x.add(m.X)
		y.add(m.Y)
	}
	for _, r := range p.Rules {
		y.add(r.Y)
	}
	addFinite := func(s *span, values ...float64) {
		for _, v := range values {
			if !math.IsInf(v, 0) {
				s.add(v)
			}
		}
	}
	for _, l := range p.YLimits {
		addFinite(y, l.Lo, l.Hi)
	}
}

// nobody owns the lines that carry no curve: limits and rules.
const nobody = 1 << 30

// panel draws one panel and returns the series whose names found no room.
func (s *scene) panel(p Panel, x Axis, frame box, rx, ry ruler) []Series {
	clip := s.clip(frame)
	at := func(vx, vy float64) point { return point{rx.at(vx), ry.at(vy)} }

	s.xLimits(p.XLimits, frame, rx)
	s.grid(x.ticks(rx), p.Y.ticks(ry), frame, rx, ry)
	s.yLimits(p.YLimits, frame, ry, clip)

	names := &placer{frame: frame, named: map[int]bool{}}
	for i, c := range p.Series {
		names.named[i] = c.Name != ""
	}
	for _, b := range p.Bands {
		var area pen
		for i := range b.X {
			if q := at(b.X[i], b.Hi[i]); i == 0 {
				area.move(q)
			} else {
				area.line(q)
			}
		}
		for i := len(b.X) - 1; i >= 0; i-- {
			area.line(at(b.X[i], b.Lo[i]))
		}
		if len(b.X) > 0 {
			area.close()
		}
		s.draw("band-"+roleNames[b.Role], clip, area)
	}
	for _, r := range p.Rules {
		var line pen
		y := ry.at(r.Y)
		line.segment(point{frame.x0, y}, point{frame.x1, y})
		class := "line-" + roleNames[r.Role]
		if r.Role == Plain {
			class = "zero"
		}
		s.draw(class, clip, line)
		names.draw(nobody, []point{{frame.x0, y}, {frame.x1, y}}, true)
	}
	for _, l := range p.YLimits {
		_, ends := l.within(ry)
		for _, v := range ends {
			names.draw(nobody, []point{{frame.x0, ry.at(v)}, {frame.x1, ry.at(v)}}, true)
		}
	}
	for _, l := range p.XLimits {
		_, ends := l.within(rx)
		for _, v := range ends {
			names.draw(nobody, []point{{rx.at(v), frame.y0}, {rx.at(v), frame.y1}}, true)
		}
	}
	for i, c := range p.Series {
		s.curve(c, at, clip, rx, ry, names, i)
	}
	s.markers(p, at, frame, clip, names)

	var frameLine pen
	frameLine.rect(frame)
	s.draw("frame", 0, frameLine)
	for _, t := range p.Y.ticks(ry) {
		s.write("tick", "end", point{frame.x0 - 6, ry.at(t.value) + 4}, t.label)
	}
	return s.names(p, at, frame, rx, ry, names)
}

func (s *scene) grid(xt, yt []tick, frame box, rx, ry ruler) {
	var minor, major pen
	for _, t := range xt {
		x := rx.at(t.value)
		if x < frame.x0+0.5 || x > frame.x1-0.5 {
			continue // the frame is drawn there
		}
		p := &major
		if t.label == "" {
			p = &minor
		}
		p.segment(point{x, frame.y0}, point{x, frame.y1})
	}
	for _, t := range yt {
		y := ry.at(t.value)
		if y < frame.y0+0.5 || y > frame.y1-0.5 {
			continue
		}
		p := &major
		if t.label == "" {
			p = &minor
		}
		p.segment(point{frame.x0, y}, point{frame.x1, y})
	}
	s.draw("minor", 0, minor)
	s.draw("grid", 0, major)
}

// within returns the part of the limits that an axis shows, and the ends that
// lie on it.
func (l Limits) within(r ruler) (in span, ends []float64) {
	in = span{math.Max(l.Lo, r.v.lo), math.Min(l.Hi, r.v.hi)}
	for _, v := range []float64{l.Lo, l.Hi} {
		if r.holds(v) {
			ends = append(ends, v)
		}
	}
	return in, ends
}

func (s *scene) xLimits(limits []Limits, frame box, rx ruler) {
	for _, l := range limits {
		var tint, edge pen
		in, ends := l.within(rx)
		if in.lo < in.hi {
			tint.rect(box{rx.at(in.lo), frame.y0, rx.at(in.hi), frame.y1})
		}
		for _, v := range ends {
			edge.segment(point{rx.at(v), frame.y0}, point{rx.at(v), frame.y1})
		}
		s.draw("tint", 0, tint)
		s.draw("edge", 0, edge)
	}
}

func (s *scene) yLimits(limits []Limits, frame box, ry ruler, clip int) {
	for _, l := range limits {
		var hatch, edge pen
		if !math.IsInf(l.Hi, 0) && ry.at(l.Hi) > frame.y0 {
			hatch.rect(box{frame.x0, frame.y0, frame.x1, ry.at(l.Hi)})
			edge.segment(point{frame.x0, ry.at(l.Hi)}, point{frame.x1, ry.at(l.Hi)})
		}
		if !math.IsInf(l.Lo, 0) && ry.at(l.Lo) < frame.y1 {
			hatch.rect(box{frame.x0, ry.at(l.Lo), frame.x1, frame.y1})
			edge.segment(point{frame.x0, ry.at(l.Lo)}, point{frame.x1, ry.at(l.Lo)})
		}
		s.draw("hatch", clip, hatch)
		s.draw("edge", clip, edge)
	}
}

// hiddenBar is the length in pixels up to which a dot covers its error bar, and
// the ends of the bar would only look like another dot.
const hiddenBar = 5

// bar draws an error bar from a to b with ends that reach so far to both sides.
func (p *pen) bar(a, b, end point) {
	if math.Hypot(b.x-a.x, b.y-a.y) < hiddenBar {
		return
	}
	p.segment(a, b)
	for _, q := range []point{a, b} {
		p.segment(point{q.x - end.x, q.y - end.y}, point{q.x + end.x, q.y + end.y})
	}
}

// curve draws one series and notes it as obstacle for names.
func (s *scene) curve(c Series, at func(x, y float64) point, clip int, rx, ry ruler, names *placer, owner int) {
	points := make([]point, len(c.X))
	for i := range c.X {
		points[i] = at(c.X[i], c.Y[i])
	}
	role := roleNames[c.Role]
	if c.YErr != nil || c.XErr != nil {
		var bars pen
		for i := range c.X {
			if c.YErr != nil {
				a, b := at(c.X[i], c.Y[i]-c.YErr[i]), at(c.X[i], c.Y[i]+c.YErr[i])
				bars.bar(a, b, point{4, 0})
			}
			if c.XErr != nil {
				a, b := at(c.X[i]-c.XErr[i], c.Y[i]), at(c.X[i]+c.XErr[i], c.Y[i])
				bars.bar(a, b, point{0, 4})
			}
		}
		s.draw("bar-"+role, clip, bars)
	}
	if c.Points {
		class, cell := "dots-", 1.0
		if len(points) > 60 {
			class, cell = "cloud-", 2.0
		}
		var dots pen
		for _, q := range thin(points, cell) {
			dots.dot(q)
		}
		s.draw(class+role, clip, dots)
	}
	if c.Line {
		var line pen
		line.polyline(points)
		s.draw("line-"+role, clip, line)
	}
	names.draw(owner, points, c.Line)
}

func (s *scene) markers(p Panel, at func(x, y float64) point, frame box, clip int, names *placer) {
	for i, m := range p.Markers {
		q := at(m.X, m.Y)
		role := roleNames[m.Role]
		var drop, shape pen
		if m.Drop {
			drop.segment(q, point{q.x, frame.y1})
		}
		shape.diamond(q, 5)
		s.draw("leader", clip, drop)
		s.draw("mark-"+role, clip, shape)
		names.draw(-1-i, []point{q}, false)
	}
}

// names writes the names of markers, limits, rules and curves, in that order.
func (s *scene) names(p Panel, at func(x, y float64) point, frame box, rx, ry ruler, names *placer) []Series {
	write := func(owner int, role, text string, anchors []point) bool {
		if text == "" {
			return true
		}
		spot, ok := names.place(owner, text, anchors)
		if ok {
			if spot.leader != nil {
				var p pen
				p.segment(spot.leader[0], spot.leader[1])
				s.draw("leader", 0, p)
			}
			s.write("name-"+role, spot.align, spot.at, text)
		}
		return ok
	}
	var unplaced []Series
	for i, m := range p.Markers {
		if !write(-1-i, roleNames[m.Role], m.Name, []point{at(m.X, m.Y)}) {
			unplaced = append(unplaced, Series{Name: m.Name, Role: m.Role, Points: true})
		}
	}
	for _, l := range p.XLimits {
		_, ends := l.within(rx)
		if len(ends) == 0 {
			continue // the sweep shows nothing of them
		}
		var anchors []point
		for y := frame.y0 + 8; y < frame.y1; y += 16 {
			for k := len(ends) - 1; k >= 0; k-- {
				anchors = append(anchors, point{rx.at(ends[k]), y})
			}
		}
		if !write(nobody, "edge", l.Name, anchors) {
			unplaced = append(unplaced, Series{Name: l.Name, Role: Aside})
		}
	}
	across := func(v float64) (anchors []point) {
		for x := frame.x1 - 12; x > frame.x0; x -= 24 {
			anchors = append(anchors, point{x, ry.at(v)})
		}
		return anchors
	}
	for _, l := range p.YLimits {
		v := l.Hi
		if math.IsInf(v, 0) {
			v = l.Lo
		}
		if !math.IsInf(v, 0) {
			write(nobody, "edge", l.Name, across(v))
		}
	}
	for _, r := range p.Rules {
		write(nobody, roleNames[r.Role], r.Name, across(r.Y))
	}
	for i, c := range p.Series {
		var anchors []point
		for _, k := range names.ink {
			if k.owner == i && frame.contains(k.point) {
				anchors = append(anchors, k.point)
			}
		}
		if n := len(anchors)/40 + 1; n > 1 { // enough to choose from
			var few []point
			for k := 0; k < len(anchors); k += n {
				few = append(few, anchors[k])
			}
			anchors = few
		}
		if !write(i, roleNames[c.Role], c.Name, anchors) {
			unplaced = append(unplaced, c)
		}
	}
	return unplaced
}
