package plot

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden files anew")

func draw(t *testing.T, f Figure, o Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSVG(&b, f, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	for name, f := range exampleFigures() {
		t.Run(name, func(t *testing.T) {
			got := draw(t, f, Options{ID: name, Standalone: true})
			path := filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if problem := differs(string(got), string(want)); problem != "" {
				os.WriteFile(path+".got", got, 0o644)
				t.Errorf("%s (see %s.got; -update accepts it)", problem, path)
			}
		})
	}
}

var numberPattern = regexp.MustCompile(`-?\d+(\.\d+)?`)

// differs compares two drawings: the same marks, with coordinates that may
// differ by one unit of the last digit, because processors may round a fused
// multiplication and addition differently.
func differs(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	if len(g) != len(w) {
		return fmt.Sprintf("%d lines instead of %d", len(g), len(w))
	}
	for i := range g {
		if g[i] == w[i] {
			continue
		}
		if numberPattern.ReplaceAllString(g[i], "#") != numberPattern.ReplaceAllString(w[i], "#") {
			return fmt.Sprintf("line %d differs", i+1)
		}
		a, b := numberPattern.FindAllString(g[i], -1), numberPattern.FindAllString(w[i], -1)
		for k := range a {
			x, _ := strconv.ParseFloat(a[k], 64)
			y, _ := strconv.ParseFloat(b[k], 64)
			if math.Abs(x-y) > 0.11 {
				return fmt.Sprintf("line %d has %v instead of %v", i+1, x, y)
			}
		}
	}
	return ""
}

func TestGoldenComparisonCanFail(t *testing.T) {
	if differs("M1 2\n", "M1 2.1\n") != "" || differs("M1 2\n", "M1 2.2\n") == "" || differs("M1 2\n", "L1 2\n") == "" || differs("a\n", "a\nb\n") == "" {
		t.Error("the comparison of golden files does not tell drawings apart")
	}
}

func TestSameBytesAgain(t *testing.T) {
	for name, f := range exampleFigures() {
		if !bytes.Equal(draw(t, f, Options{ID: name}), draw(t, f, Options{ID: name})) {
			t.Errorf("%s: two drawings of the same data differ", name)
		}
	}
}

// TestWellFormed reads every figure as XML and checks what a screen reader and
// a page with several figures need.
func TestWellFormed(t *testing.T) {
	for name, f := range exampleFigures() {
		for _, width := range []float64{720, 360} {
			for _, alone := range []bool{true, false} {
				svg := draw(t, f, Options{ID: name, Width: width, Standalone: alone})
				dec := xml.NewDecoder(bytes.NewReader(svg))
				ids := map[string]bool{}
				var title, desc bool
				for {
					token, err := dec.Token()
					if err == io.EOF {
						break
					}
					if err != nil {
						t.Fatalf("%s at %v: %v", name, width, err)
					}
					e, ok := token.(xml.StartElement)
					if !ok {
						continue
					}
					title = title || e.Name.Local == "title"
					desc = desc || e.Name.Local == "desc"
					for _, a := range e.Attr {
						if a.Name.Local == "id" {
							if ids[a.Value] {
								t.Errorf("%s: identifier %s is used twice", name, a.Value)
							}
							ids[a.Value] = true
							if !strings.HasPrefix(a.Value, name+"-") {
								t.Errorf("%s: identifier %s could collide with another figure", name, a.Value)
							}
						}
					}
				}
				if !title || !desc || !bytes.Contains(svg, []byte(`role="img"`)) {
					t.Errorf("%s: not readable aloud", name)
				}
				for _, ref := range regexp.MustCompile(`url\(#([^)]*)\)`).FindAllSubmatch(svg, -1) {
					if !ids[string(ref[1])] {
						t.Errorf("%s: %s points nowhere", name, ref[0])
					}
				}
				if bytes.Contains(svg, []byte("NaN")) || bytes.Contains(svg, []byte("Inf")) {
					t.Errorf("%s: a coordinate is no number", name)
				}
				if regexp.MustCompile(`https?://`).MatchString(strings.ReplaceAll(string(svg), "http://www.w3.org/2000/svg", "")) {
					t.Errorf("%s: it refers to the network", name)
				}
			}
		}
	}
}

// crowded returns what is wrong with the texts of a drawing: outside of it, or
// on top of each other.
func crowded(s *scene) []string {
	var problems []string
	var boxes []box
	var texts []string
	for _, m := range s.marks {
		if m.text == "" {
			continue
		}
		size := labelSize
		if m.class == "tick" {
			size = tickSize
		}
		b := textBox(m.at, m.align, m.lead+m.text, size)
		if m.class == "title" {
			continue // wrapped to the width by itself
		}
		if !b.within(box{-0.5, 0, s.width + 0.5, s.height}) {
			problems = append(problems, fmt.Sprintf("%q is cut off", m.text))
		}
		for i, other := range boxes {
			if b.overlaps(other) {
				problems = append(problems, fmt.Sprintf("%q lies on %q", m.text, texts[i]))
			}
		}
		boxes, texts = append(boxes, b), append(texts, m.text)
	}
	return problems
}

func TestTextsHaveRoom(t *testing.T) {
	for name, f := range exampleFigures() {
		for _, width := range []float64{1000, 720, 520, 360, 320} {
			for _, p := range crowded(f.layout(width, true)) {
				t.Errorf("%s at %v px: %s", name, width, p)
			}
		}
	}
}

// TestNamesInACrowd wants every name of a crowd of curves written, some of them
// on leaders.
func TestNamesInACrowd(t *testing.T) {
	for _, width := range []float64{720, 360} {
		c := exampleCrowd()
		s := c.layout(width, false)
		leaders, names := 0, 0
		for _, m := range s.marks {
			if m.class == "leader" {
				leaders++
			}
			if strings.HasPrefix(m.class, "name-") {
				names++
			}
		}
		if names != len(c.Panels[0].Series) {
			t.Errorf("%v px: %d of %d names are written beside their curves", width, names, len(c.Panels[0].Series))
		}
		if leaders == 0 {
			t.Errorf("%v px: no leader in a crowd", width)
		}
	}
}

func TestCrowdedSeesCrowding(t *testing.T) {
	s := &scene{width: 100, height: 50}
	s.write("word", "start", point{10, 20}, "one")
	s.write("word", "start", point{15, 22}, "two")
	s.write("word", "end", point{10, 45}, "cut off")
	if got := crowded(s); len(got) != 2 {
		t.Errorf("found %q", got)
	}
}

func labels(ticks []tick) []string {
	var out []string
	for _, t := range ticks {
		if t.label != "" {
			out = append(out, t.label)
		}
	}
	return out
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		name   string
		axis   Axis
		lo, hi float64
		pixels float64 // negative: upright
		want   string
	}{
		{"both ends are ticks", Axis{}, 0, 50, -160, "0 10 20 30 40 50"},
		{"ends a hair off", Axis{}, 1e-12, 50 - 1e-9, -160, "0 10 20 30 40 50"},
		{"below one", Axis{}, -0.5, 0.5, -80, "−0.5 0 0.5"},
		{"angles", Axis{Angle: true}, -60, 60, -130, "−60 −30 0 30 60"},
		{"angles, low panel", Axis{Angle: true}, -90, 90, -60, "−90 0 90"},
		{"whole numbers", Axis{Whole: true}, 0.8, 4.2, 600, "1 2 3 4"},
		{"frequency, wide", Axis{Log: true}, 10, 2000, 670, "10 20 50 100 200 500 1k 2k"},
		{"frequency, ends a hair off", Axis{Log: true}, 10.0000000001, 1999.9999999, 670, "10 20 50 100 200 500 1k 2k"},
		{"frequency, phone", Axis{Log: true}, 10, 20000, 190, "10 100 1k 10k"},
		{"frequency, one octave", Axis{Log: true}, 20, 41, 670, "20 22 24 26 28 30 32 34 36 38 40"},
		{"frequency, a decade", Axis{Log: true}, 10, 100, 670, "10 20 30 40 50 60 70 80 90 100"},
		{"upright log", Axis{Log: true}, 1, 100, -160, "1 2 5 10 20 50 100"},
		{"upright log, one decade among them", Axis{Log: true}, 0.0011, 0.09, -100, "0.003 0.01 0.03"},
		{"upright log, many decades", Axis{Log: true}, 1e-6, 1, -100, "1e-06 0.0001 0.01 1"},
	} {
		r := ruler{c.axis.Log, span{c.lo, c.hi}, 50, 50 + c.pixels}
		if got := strings.Join(labels(c.axis.ticks(r)), " "); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// TestTicksAnyRange checks what holds for every axis: ticks rise, lie inside,
// have room for their numbers, and there are at least two to read a scale from.
func TestTicksAnyRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Axis{Log: rapid.Bool().Draw(t, "log")}
		var v span
		if a.Log {
			v.lo = math.Pow(10, rapid.Float64Range(-2, 3).Draw(t, "decade"))
			v.hi = v.lo * math.Pow(10, rapid.Float64Range(0.02, 5).Draw(t, "decades"))
		} else {
			v.lo = rapid.Float64Range(-999, 999).Draw(t, "lo")
			v.hi = v.lo + math.Pow(10, rapid.Float64Range(-0.5, 4).Draw(t, "width"))
		}
		r := ruler{a.Log, v, 40, rapid.Float64Range(330, 900).Draw(t, "right")}
		upright := a.Log && rapid.Bool().Draw(t, "upright") // the range of a linear one ends at ticks
		if upright {
			r.p0, r.p1 = 400, 400-rapid.Float64Range(80, 300).Draw(t, "height")
		}
		ticks := a.ticks(r)
		named, end := 0, math.Inf(-1)
		for i, k := range ticks {
			if i > 0 && k.value <= ticks[i-1].value {
				t.Fatalf("tick %v after %v", k.value, ticks[i-1].value)
			}
			if x := r.at(k.value); x < min(r.p0, r.p1)-0.01 || x > max(r.p0, r.p1)+0.01 {
				t.Fatalf("tick %v of %v is outside", k.value, v)
			}
			if k.label == "" {
				continue
			}
			named++
			half := textWidth(k.label, tickSize) / 2
			if upright {
				half = tickSize / 2
			}
			if x := math.Abs(r.at(k.value) - r.p0); x-half < end {
				t.Fatalf("number %s touches the one before", k.label)
			} else {
				end = x + half
			}
		}
		if named < 2 {
			t.Fatalf("%v has %d numbers: %v", v, named, labels(ticks))
		}
	})
}

func TestRangeFromData(t *testing.T) {
	for _, c := range []struct {
		name   string
		axis   Axis
		data   []float64
		lo, hi float64
	}{
		{"nothing", Axis{}, nil, 0, 1},
		{"one point", Axis{}, []float64{20}, 19, 21},
		{"one point at zero", Axis{}, []float64{0}, -1, 1},
		{"round ends", Axis{Zero: true}, []float64{6.3, 46}, 0, 50},
		{"rounding that widens the step", Axis{Zero: true}, []float64{6.3, 82}, 0, 100},
		{"given", Axis{Lo: 3, Hi: 4}, []float64{0, 9}, 3, 4},
		{"log", Axis{Log: true}, []float64{8, 2000}, 8, 2000},
		{"log, one point", Axis{Log: true}, []float64{20}, 16, 25},
		{"log, nothing", Axis{Log: true}, nil, 10, 1000},
	} {
		s := noSpan()
		s.add(c.data...)
		got := c.axis.fit(s, true, 220)
		if math.Abs(got.lo-c.lo) > 1e-9 || math.Abs(got.hi-c.hi) > 1e-9 {
			t.Errorf("%s: %v to %v, want %v to %v", c.name, got.lo, got.hi, c.lo, c.hi)
		}
	}
}

func chartOf(s ...Series) Chart {
	return Chart{About: About{"t", "d"}, X: Axis{Log: true}, Panels: []Panel{{Series: s}}}
}

func TestThinData(t *testing.T) {
	for name, f := range map[string]Figure{
		"empty panel":   chartOf(),
		"empty series":  chartOf(Series{Name: "nothing", Line: true, Points: true}),
		"one point":     chartOf(Series{Name: "one", X: []float64{30}, Y: []float64{6}, YErr: []float64{1}, Line: true, Points: true}),
		"flat":          chartOf(Series{Name: "flat", X: []float64{10, 20}, Y: []float64{6, 6}, Line: true}),
		"no gauges":     Gauges{About: About{"t", "d"}},
		"no intervals":  Intervals{About: About{"t", "d"}},
		"exact gauge":   Gauges{About: About{"t", "d"}, Rows: []Gauge{{Name: "Sd", Now: Reading{3, 3, 3}, Limits: Limits{Lo: 3, Hi: math.Inf(1)}}}},
		"zero interval": Intervals{About: About{"t", "d"}, Rows: []Interval{{Name: "x"}}},
	} {
		svg := draw(t, f, Options{ID: "a"})
		if bytes.Contains(svg, []byte("NaN")) || bytes.Contains(svg, []byte("Inf")) {
			t.Errorf("%s: a coordinate is no number", name)
		}
	}
}

func TestRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	ok := Options{ID: "a"}
	good := Reading{1, 0, 2}
	for name, c := range map[string]struct {
		f Figure
		o Options
	}{
		"NaN in Y":             {chartOf(Series{X: []float64{1, 2}, Y: []float64{1, nan}}), ok},
		"infinite X":           {chartOf(Series{X: []float64{1, inf}, Y: []float64{1, 1}}), ok},
		"zero on a log axis":   {chartOf(Series{X: []float64{0, 1}, Y: []float64{1, 1}}), ok},
		"lengths differ":       {chartOf(Series{X: []float64{1, 2}, Y: []float64{1}}), ok},
		"no Y at all":          {chartOf(Series{X: []float64{1, 2}}), ok},
		"error bars too short": {chartOf(Series{X: []float64{1, 2}, Y: []float64{1, 2}, YErr: []float64{1}}), ok},
		"NaN error bar":        {chartOf(Series{X: []float64{1}, Y: []float64{1}, YErr: []float64{nan}}), ok},
		"band without edge":    {Chart{About: About{"t", "d"}, Panels: []Panel{{Bands: []Band{{X: []float64{1}, Lo: []float64{1}}}}}}, ok},
		"marker nowhere":       {Chart{About: About{"t", "d"}, Panels: []Panel{{Markers: []Marker{{X: nan}}}}}, ok},
		"rule nowhere":         {Chart{About: About{"t", "d"}, Panels: []Panel{{Rules: []Rule{{Y: inf}}}}}, ok},
		"limits crossed":       {Chart{About: About{"t", "d"}, Panels: []Panel{{XLimits: []Limits{{Lo: 2, Hi: 1}}}}}, ok},
		"axis range crossed":   {Chart{About: About{"t", "d"}, X: Axis{Lo: 2, Hi: 1}, Panels: []Panel{{}}}, ok},
		"log axis from zero":   {Chart{About: About{"t", "d"}, X: Axis{Log: true, Hi: 1}, Panels: []Panel{{}}}, ok},
		"no panel":             {Chart{About: About{"t", "d"}}, ok},
		"no title":             {Chart{About: About{"", "d"}, Panels: []Panel{{}}}, ok},
		"no description":       {Gauges{About: About{"t", ""}}, ok},
		"gauge without limit":  {Gauges{About: About{"t", "d"}, Rows: []Gauge{{Now: good, Limits: Limits{Lo: -inf, Hi: inf}}}}, ok},
		"gauge NaN":            {Gauges{About: About{"t", "d"}, Rows: []Gauge{{Now: Reading{1, nan, 2}, Limits: Limits{Hi: 1}}}}, ok},
		"gauge limits crossed": {Gauges{About: About{"t", "d"}, Rows: []Gauge{{Now: good, Limits: Limits{Lo: 2, Hi: 1}}}}, ok},
		"prior NaN":            {Gauges{About: About{"t", "d"}, Rows: []Gauge{{Now: good, Prior: &Reading{nan, 0, 2}, Limits: Limits{Hi: 1}}}}, ok},
		"value off interval":   {Intervals{About: About{"t", "d"}, Rows: []Interval{{Value: Reading{3, 0, 2}}}}, ok},
		"reference NaN":        {Intervals{About: About{"t", "d"}, Reference: nan}, ok},
		"bad identifier":       {exampleGauges(), Options{ID: `a"b`}},
		"no identifier":        {exampleGauges(), Options{}},
		"too narrow":           {exampleGauges(), Options{ID: "a", Width: 100}},
		"width NaN":            {exampleGauges(), Options{ID: "a", Width: nan}},
	} {
		var b bytes.Buffer
		err := WriteSVG(&b, c.f, c.o)
		var data *DataError
		if !errors.As(err, &data) {
			t.Errorf("%s: error %v", name, err)
		}
		if b.Len() > 0 {
			t.Errorf("%s: something was written all the same", name)
		}
	}
}

func TestHostileText(t *testing.T) {
	f := exampleGauges()
	f.Title, f.Desc = `<script>"&'`, "bell \a, cut \xff, ]]> end"
	nasty := "</text><script>alert(1)</script>"
	f.Rows[0].Name, f.Rows[1].Text, f.Rows[2].Verdict, f.Rows[3].LoText = nasty, nasty, nasty, nasty
	c := exampleSweeps()
	c.X.Label, c.Panels[0].Y.Label, c.Panels[0].Series[2].Name = nasty, nasty, nasty
	for _, figure := range []Figure{f, c} {
		for _, width := range []float64{720, 360} {
			dec := xml.NewDecoder(bytes.NewReader(draw(t, figure, Options{ID: "a", Width: width, Standalone: true})))
			for {
				token, err := dec.Token()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				if e, ok := token.(xml.StartElement); ok && e.Name.Local == "script" {
					t.Fatal("a script got in")
				}
			}
		}
	}
}

func TestNumbers(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.04: "0", 0.05: "0.1", -1.25: "-1.3", 12: "12", 719.96: "720"} {
		if got := string(appendNumber(nil, v)); got != want {
			t.Errorf("%v is written %s, want %s", v, got, want)
		}
	}
}

// TestContrast holds the inks against WCAG 2.1, success criterion 1.4.3: text
// needs 4.5 to 1. The formula of relative luminance is that of the same
// recommendation (from memory); black on white must give its 21 to 1.
func TestContrast(t *testing.T) {
	luminance := func(hex string) float64 {
		v, err := strconv.ParseUint(hex[1:], 16, 32)
		if err != nil || len(hex) != 7 {
			t.Fatalf("colour %q", hex)
		}
		sum := 0.0
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			c := float64(v>>(16-8*i)&255) / 255
			if c <= 0.03928 {
				c /= 12.92
			} else {
				c = math.Pow((c+0.055)/1.055, 2.4)
			}
			sum += weight * c
		}
		return sum
	}
	contrast := func(a, b string) float64 {
		x, y := luminance(a), luminance(b)
		return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
	}
	if c := contrast("#000000", "#ffffff"); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black on white is %v", c)
	}
	paper := colours[0]
	text := []string{"ink", "quiet", "before", "after", "edge"}
	for _, c := range colours {
		if !slices.Contains(text, c.name) {
			continue
		}
		for _, pair := range [][2]string{{c.light, paper.light}, {c.dark, paper.dark}} {
			if got := contrast(pair[0], pair[1]); got < 4.5 {
				t.Errorf("%s %s on %s: %.2f", c.name, pair[0], pair[1], got)
			}
		}
	}
}

// TestPrintStaysLight makes sure that dark colours are for screens alone.
func TestPrintStaysLight(t *testing.T) {
	for _, part := range strings.Split(CSS(), "@media")[1:] {
		if !strings.HasPrefix(part, " screen and (prefers-color-scheme:dark)") {
			t.Errorf("style for %.60q", part)
		}
	}
	if !strings.Contains(CSS(), "prefers-color-scheme:dark") {
		t.Error("no dark colours")
	}
}

func TestSimplifyKeepsTheShape(t *testing.T) {
	var points []point
	for i := 0; i <= 1000; i++ {
		x := float64(i) * 0.6
		points = append(points, point{x, 100 + 80*math.Sin(x/40)})
	}
	kept := simplify(points, 0.12)
	if len(kept) > 200 {
		t.Errorf("%d of %d points kept", len(kept), len(points))
	}
	for _, p := range points {
		near := math.Inf(1)
		for i := 1; i < len(kept); i++ {
			near = math.Min(near, offLine(p, kept[i-1], kept[i]))
		}
		if near > 0.12 {
			t.Fatalf("%v is %v px off the simplified curve", p, near)
		}
	}
}

func BenchmarkSweeps(b *testing.B) {
	f := exampleSweeps()
	for b.Loop() {
		if err := WriteSVG(io.Discard, f, Options{ID: "a"}); err != nil {
			b.Fatal(err)
		}
	}
}
