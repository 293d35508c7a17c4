package plot

import (
	"bytes"
	"slices"
	"testing"
)

// recorder is a canvas that remembers what was painted.
type recorder struct {
	texts []string
	paths int
	inks  []Ink
}

func (r *recorder) Path(path []Stroke, ink Ink, clip *Frame) {
	r.paths++
	r.inks = append(r.inks, ink)
}

func (r *recorder) Text(x, y float64, align, text string, size float64, bold bool, colour RGB) {
	r.texts = append(r.texts, text)
}

// Another canvas gets every shape and every text of the drawing, in the same height.
func TestPaintIsTheSameDrawing(t *testing.T) {
	for name, f := range exampleFigures() {
		for _, width := range []float64{720, 346} { // on narrow paper names stand before their texts
			samePainted(t, name, f, width)
		}
	}
}

func samePainted(t *testing.T, name string, f Figure, width float64) {
	t.Helper()
	var svg bytes.Buffer
	if err := WriteSVG(&svg, f, Options{ID: "a", Width: width}); err != nil {
		t.Fatal(err)
	}
	var r recorder
	height, err := Paint(&r, f, width)
	if err != nil {
		t.Fatal(err)
	}
	if want := f.layout(width, false).height; height != want {
		t.Errorf("%s: height %v, wanted %v", name, height, want)
	}
	texts := bytes.Count(svg.Bytes(), []byte("<text")) + bytes.Count(svg.Bytes(), []byte("<tspan")) // a lead is a text of its own
	if len(r.texts) != texts {
		t.Errorf("%s: %d texts, wanted %d", name, len(r.texts), texts)
	}
	shapes := bytes.Count(svg.Bytes(), []byte("<path d=")) - bytes.Count(svg.Bytes(), []byte("<clipPath")) - bytes.Count(svg.Bytes(), []byte(`<path d="M0 0V7"`))
	if r.paths != shapes {
		t.Errorf("%s: %d shapes, wanted %d", name, r.paths, shapes)
	}
}

func TestStrokesOfAPath(t *testing.T) {
	var p pen
	p.segment(point{1, 2.55}, point{-3, 4})
	p.dot(point{5, 6})
	p.close()
	want := []Stroke{{'M', 1, 2.6}, {'L', -3, 4}, {'M', 5, 6}, {'L', 5.01, 6}, {'Z', 0, 0}}
	if got := strokes(string(p)); !slices.Equal(got, want) {
		t.Errorf("%v, wanted %v", got, want)
	}
}

func TestInkOfALook(t *testing.T) {
	before, cloud := inkOf("line-before"), inkOf("cloud-after")
	if !slices.Equal(before.Dash, []float64{7, 4}) || before.Fill != nil || *before.Stroke != (RGB{0x9c, 0x42, 0x10}) {
		t.Errorf("%+v", before)
	}
	if !cloud.Round || cloud.Opacity != 0.4 || cloud.Dash != nil {
		t.Errorf("%+v", cloud)
	}
}
