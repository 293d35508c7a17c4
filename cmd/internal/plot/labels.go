package plot

import (
	"math"
	"strings"
)

// textWidth estimates the width of a text in pixels. Without the font only an
// upper estimate is possible: the figures are those of a wide sans serif, so a
// narrower one leaves a little more room.
func textWidth(s string, size float64) float64 {
	em := 0.0
	for _, r := range s {
		switch {
		case strings.ContainsRune("il.,:;'|!()[]tfjI \u00a0", r):
			em += 0.37
		case strings.ContainsRune("mwMW%", r):
			em += 0.96
		case r >= 'A' && r <= 'Z' || r == 'Ω' || r == '−' || r == '±':
			em += 0.74
		default:
			em += 0.63
		}
	}
	return em * size
}

const (
	ascent  = 9.5 // px of a label above its base line
	descent = 3.5 // px below
)

// textBox returns the room a label takes.
func textBox(at point, align, text string, size float64) box {
	w := textWidth(text, size)
	x := at.x
	switch align {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	return box{x, at.y - ascent, x + w, at.y + descent}
}

// wrap breaks a text into lines no wider than width.
func wrap(text string, size, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if next := strings.TrimSpace(line + " " + word); line == "" || textWidth(next, size) <= width {
			line = next
		} else {
			lines = append(lines, line)
			line = word
		}
	}
	return append(lines, line)
}

// placer finds room for names inside a frame.
type placer struct {
	frame box
	taken []box        // names that already have their place
	ink   []inked      // what is drawn
	named map[int]bool // owners that carry a name: the only ones to be confused with
}

// inked is a drawn place and the curve it belongs to.
type inked struct {
	point
	owner int
}

// draw notes a curve as obstacle, every few pixels of it.
func (p *placer) draw(owner int, points []point, joined bool) {
	if !joined {
		points = thin(points, 4)
	} else {
		points = simplify(points, 1)
	}
	for i, q := range points {
		if i > 0 && joined {
			a := points[i-1]
			n := int(math.Hypot(q.x-a.x, q.y-a.y) / 4)
			for k := 1; k <= n; k++ {
				t := float64(k) / float64(n+1)
				p.ink = append(p.ink, inked{point{a.x + t*(q.x-a.x), a.y + t*(q.y-a.y)}, owner})
			}
		}
		p.ink = append(p.ink, inked{q, owner})
	}
}

// spot is a place for a name. With a leader, a thin line joins it to its curve.
type spot struct {
	at     point
	align  string
	leader []point // nil, or the two ends
	cost   float64
}

// nearby are the offsets of a name from the point it belongs to.
var nearby = []spot{
	{at: point{7, 4}, align: "start"}, {at: point{-7, 4}, align: "end"},
	{at: point{0, -7 - descent}, align: "middle"}, {at: point{0, 7 + ascent}, align: "middle"},
	{at: point{7, -7}, align: "start"}, {at: point{7, 7 + ascent}, align: "start"},
	{at: point{-7, -7}, align: "end"}, {at: point{-7, 7 + ascent}, align: "end"},
	{at: point{21, 4}, align: "start"}, {at: point{-21, 4}, align: "end"},
}

// farther are the offsets of a name on a leader.
var farther = func() (out []spot) {
	for _, dy := range []float64{-20, -36, -52, -68, 24, 40, 56} {
		for _, dx := range []float64{0, -14, 14, -34, 34, -60, 60} {
			align := "middle"
			if dx < 0 {
				align = "end"
			} else if dx > 0 {
				align = "start"
			}
			out = append(out, spot{at: point{dx, dy}, align: align})
		}
	}
	return out
}()

// leaderFrom is the cost from which a name is better put farther away, on a
// leader.
const leaderFrom = 4.0

// place finds the spot for a name near one of the anchors: inside the frame,
// clear of other names, off the curves, and nearer to its own curve than to any
// other. Where curves crowd it puts the name farther away, on a leader. It
// reports false when there is no room.
func (p *placer) place(owner int, text string, anchors []point) (spot, bool) {
	best, ok := p.search(owner, text, anchors, nearby, false, math.Inf(1))
	if p.named[owner] && best.cost > leaderFrom {
		if s, found := p.search(owner, text, anchors, farther, true, best.cost); found {
			best, ok = s, true
		}
	}
	if ok {
		p.taken = append(p.taken, textBox(best.at, best.align, text, labelSize))
		if best.leader != nil {
			p.draw(nobody, best.leader, true)
		}
	}
	return best, ok
}

// search finds the cheapest spot below a cost; it looks no further into a spot
// that is dearer already.
func (p *placer) search(owner int, text string, anchors []point, offsets []spot, leader bool, below float64) (best spot, ok bool) {
	best.cost = below
	for i, a := range anchors {
		crowd := p.crowd(owner, a)
		for k, s := range offsets {
			s.at = point{a.x + s.at.x, a.y + s.at.y}
			b := textBox(s.at, s.align, text, labelSize)
			if !b.within(p.frame.grow(-3)) || p.hits(b.grow(2)) {
				continue
			}
			s.cost = crowd + 0.02*float64(k) + 0.3*float64(i)/float64(len(anchors))
			if s.cost >= best.cost {
				continue
			}
			if leader {
				end := b.nearest(a)
				s.leader = []point{a, end}
				if s.cost += 0.5 + 1.5*p.covered(b.grow(4)); s.cost < best.cost {
					s.cost += 2 * p.crossed(owner, a, end)
				}
			} else if s.cost += p.covered(b.grow(2.5)); s.cost < best.cost {
				s.cost += p.confusion(owner, b)
			}
			if s.cost < best.cost {
				best, ok = s, true
			}
		}
	}
	return best, ok
}

func (p *placer) hits(b box) bool {
	for _, t := range p.taken {
		if t.overlaps(b) {
			return true
		}
	}
	return false
}

// crowd is the cost of a place where another curve runs close by: a name there
// would be read as that of both.
func (p *placer) crowd(owner int, a point) float64 {
	clear := math.Inf(1)
	for _, i := range p.ink {
		if i.owner != owner && p.named[i.owner] {
			clear = math.Min(clear, math.Hypot(i.x-a.x, i.y-a.y))
		}
	}
	return 8 * math.Exp(-clear/8)
}

// covered counts what is drawn inside a box.
func (p *placer) covered(b box) float64 {
	n := 0.0
	for _, i := range p.ink {
		if b.contains(i.point) {
			n++
		}
	}
	return n
}

// crossed counts what a leader from a to b would cross, and how much of its own
// curve it would run along.
func (p *placer) crossed(owner int, a, b point) float64 {
	n := 0.0
	for _, i := range p.ink {
		if i.owner == owner && math.Hypot(i.x-a.x, i.y-a.y) < 9 {
			continue // where it starts
		}
		if offLine(i.point, a, b) < 2.5 {
			n++
		}
	}
	for k := 0.0; k <= 1; k += 0.05 {
		for _, t := range p.taken {
			if t.grow(2).contains(point{a.x + k*(b.x-a.x), a.y + k*(b.y-a.y)}) {
				n += 5 // never through another name
			}
		}
	}
	return n
}

// confusion is the cost of a name in the box b when another curve is as near
// to it as its own.
func (p *placer) confusion(owner int, b box) float64 {
	if !p.named[owner] {
		return 0
	}
	near, other := math.Inf(1), math.Inf(1)
	for _, i := range p.ink {
		switch {
		case i.owner == owner:
			near = math.Min(near, b.distance(i.point))
		case p.named[i.owner]:
			other = math.Min(other, b.distance(i.point))
		}
	}
	return math.Min(12, 5*math.Exp((near-other)/6))
}
