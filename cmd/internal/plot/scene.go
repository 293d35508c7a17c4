package plot

import "math"

// point is a place in the drawing, in pixels from the upper left corner.
type point struct{ x, y float64 }

// box is a rectangle with x0 <= x1 and y0 <= y1, in pixels.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) grow(by float64) box { return box{b.x0 - by, b.y0 - by, b.x1 + by, b.y1 + by} }

func (b box) overlaps(c box) bool {
	return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1
}

func (b box) within(c box) bool {
	return b.x0 >= c.x0 && b.x1 <= c.x1 && b.y0 >= c.y0 && b.y1 <= c.y1
}

func (b box) contains(p point) bool {
	return p.x >= b.x0 && p.x <= b.x1 && p.y >= b.y0 && p.y <= b.y1
}

func (b box) distance(p point) float64 {
	return math.Hypot(math.Max(0, math.Max(b.x0-p.x, p.x-b.x1)), math.Max(0, math.Max(b.y0-p.y, p.y-b.y1)))
}

// nearest returns the point of the box that is nearest to p.
func (b box) nearest(p point) point {
	return point{math.Max(b.x0, math.Min(p.x, b.x1)), math.Max(b.y0, math.Min(p.y, b.y1))}
}

// scene is a finished drawing: shapes and texts in the order of painting.
type scene struct {
	width, height float64
	clips         []box
	marks         []mark
}

// mark is one shape or one text.
type mark struct {
	class string // key of the table in style.go
	path  string // path data; "" for a text
	lead  string // bold words before the text
	text  string
	at    point  // of a text: its base line
	align string // "start", "middle" or "end"
	clip  int    // index into clips plus one; 0: not clipped
}

func (s *scene) clip(b box) int {
	s.clips = append(s.clips, b)
	return len(s.clips)
}

func (s *scene) draw(class string, clip int, p pen) {
	if len(p) > 0 {
		s.marks = append(s.marks, mark{class: class, clip: clip, path: string(p)})
	}
}

func (s *scene) write(class, align string, at point, text string) {
	if text != "" {
		s.marks = append(s.marks, mark{class: class, align: align, at: at, text: text})
	}
}

// pen collects path data.
type pen []byte

func (p *pen) move(q point) { *p = appendPoint(append(*p, 'M'), q) }
func (p *pen) line(q point) { *p = appendPoint(append(*p, 'L'), q) }
func (p *pen) close()       { *p = append(*p, 'Z') }

// dot is a line of no length, which its round or square end makes visible.
func (p *pen) dot(q point) {
	p.move(q)
	*p = append(*p, "h0"...)
}

func (p *pen) segment(a, b point) {
	p.move(a)
	p.line(b)
}

func (p *pen) rect(b box) {
	p.move(point{b.x0, b.y0})
	p.line(point{b.x1, b.y0})
	p.line(point{b.x1, b.y1})
	p.line(point{b.x0, b.y1})
	p.close()
}

func (p *pen) diamond(c point, r float64) {
	p.move(point{c.x, c.y - r})
	p.line(point{c.x + r, c.y})
	p.line(point{c.x, c.y + r})
	p.line(point{c.x - r, c.y})
	p.close()
}

// polyline draws through all points, leaving out those that the eye would not
// miss.
func (p *pen) polyline(points []point) {
	for i, q := range simplify(points, 0.12) {
		if i == 0 {
			p.move(q)
		} else {
			p.line(q)
		}
	}
}

// simplify drops points that lie closer than tolerance pixels to the line
// through those that are kept (Ramer, Douglas and Peucker).
func simplify(points []point, tolerance float64) []point {
	n := len(points)
	if n < 3 {
		return points
	}
	keep := make([]bool, n)
	keep[0], keep[n-1] = true, true
	for todo := [][2]int{{0, n - 1}}; len(todo) > 0; {
		a, b := todo[len(todo)-1][0], todo[len(todo)-1][1]
		todo = todo[:len(todo)-1]
		far, at := tolerance, -1
		for i := a + 1; i < b; i++ {
			if d := offLine(points[i], points[a], points[b]); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, [2]int{a, at}, [2]int{at, b})
		}
	}
	var out []point
	for i, k := range keep {
		if k {
			out = append(out, points[i])
		}
	}
	return out
}

// offLine returns the distance of p from the segment a-b.
func offLine(p, a, b point) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	if dx == 0 && dy == 0 {
		return math.Hypot(p.x-a.x, p.y-a.y)
	}
	t := ((p.x-a.x)*dx + (p.y-a.y)*dy) / (dx*dx + dy*dy)
	t = math.Max(0, math.Min(1, t))
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}

// thin drops points that would be drawn on top of an earlier one.
func thin(points []point, cell float64) []point {
	seen := map[[2]int]bool{}
	var out []point
	for _, p := range points {
		k := [2]int{int(math.Floor(p.x / cell)), int(math.Floor(p.y / cell))}
		if !seen[k] {
			seen[k] = true
			out = append(out, p)
		}
	}
	return out
}
