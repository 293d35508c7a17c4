package plot

import (
	"math"
	"sort"
	"strings"
)

func sortedClasses() []string {
	out := make([]string, 0, len(looks))
	for class := range looks {
		out = append(out, class)
	}
	sort.Strings(out)
	return out
}

// textWidth estimates the width of a text in pixels. Without the font only an
// upper estimate is possible: the figures are those of a wide sans serif, so a
// narrower one leaves a little more room.
func textWidth(s string, size float64) float64 {
	em := 0.0
	for _, r := range s {
		switch {
		case strings.ContainsRune("il.,:;'|!()[]tfjI ", r):
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
	taken []box   // names that already have their place
	ink   []inked // what is drawn
}

// inked is a drawn place and the curve it belongs to.
type inked struct {
	point
	owner int
}

// draw notes a curve as obstacle, every few pixels of it.
func (p *placer) draw(owner int, points []point, joined bool) {
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

// place finds the spot for a name near one of the anchors: inside the frame,
// clear of other names, off the curves, and nearer to its own curve than to any
// other. It reports false when there is none.
func (p *placer) place(owner int, text string, anchors []point) (at point, align string, ok bool) {
	const gap = 7.0
	type spot struct {
		dx, dy float64
		align  string
	}
	spots := []spot{
		{gap, 4, "start"}, {-gap, 4, "end"}, {0, -gap - descent, "middle"}, {0, gap + ascent, "middle"},
		{gap, -gap, "start"}, {gap, gap + ascent, "start"}, {-gap, -gap, "end"}, {-gap, gap + ascent, "end"},
		{3 * gap, 4, "start"}, {-3 * gap, 4, "end"},
	}
	best := math.Inf(1)
	for i, a := range anchors {
		for k, s := range spots {
			c := point{a.x + s.dx, a.y + s.dy}
			b := textBox(c, s.align, text, labelSize)
			if !b.within(p.frame.grow(-3)) || p.hits(b.grow(2)) {
				continue
			}
			cost := p.cost(owner, b) + 0.02*float64(k) + 0.3*float64(i)/float64(len(anchors))
			if cost < best {
				best, at, align, ok = cost, c, s.align, true
			}
		}
	}
	if ok {
		p.taken = append(p.taken, textBox(at, align, text, labelSize))
	}
	return at, align, ok
}

func (p *placer) hits(b box) bool {
	for _, t := range p.taken {
		if t.overlaps(b) {
			return true
		}
	}
	return false
}

func (p *placer) cost(owner int, b box) float64 {
	cost := 0.0
	near, nearOther := math.Inf(1), math.Inf(1)
	around := b.grow(2.5)
	for _, i := range p.ink {
		if around.contains(i.point) {
			cost++
		}
		d := b.distance(i.point)
		if i.owner == owner {
			near = math.Min(near, d)
		} else {
			nearOther = math.Min(nearOther, d)
		}
	}
	if nearOther < 1.5*near+4 && !math.IsInf(near, 1) {
		cost += 4
	}
	return cost
}
