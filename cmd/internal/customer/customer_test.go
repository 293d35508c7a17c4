package customer

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"
	"conewright/ts/cabinet"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// set is a driver without uncertainty.
func set(fs float64) param.Parameters {
	p := param.Parameters{Coverage: 1.96}
	for id, v := range map[param.ID]float64{param.Re: 5.6, param.Fs: fs, param.Qms: 5, param.Qes: 0.42, param.Qts: 0.3875, param.Mms: 0.0425, param.Cms: 0.62e-3, param.Vas: 0.105} {
		p.IDs, p.Scaled, p.Origin = append(p.IDs, id), append(p.Scaled, id.Scale(v)), append(p.Origin, param.FromFit)
	}
	return p
}

// judged is the driver held against limits of Fs and of the total Q.
func judged(fs, qts verdict.Verdict) *verdict.Checked {
	worst := fs
	if qts == verdict.OutOfSpec || worst == verdict.InSpec {
		worst = qts
	}
	c := &verdict.Checked{Verdict: worst, Spec: verdict.Spec{Name: "Larch 25", Limits: []verdict.Limit{{ID: param.Fs, Lo: 28, Hi: 34}, {ID: param.Qts, Lo: 0.33, Hi: 0.46}}}}
	c.Checks = []verdict.Judged{{Limit: c.Spec.Limits[0], Verdict: fs}, {Limit: c.Spec.Limits[1], Verdict: qts}}
	return c
}

func TestVerdictInOneSentence(t *testing.T) {
	for want, c := range map[string]*verdict.Checked{
		"This driver is right: everything that was measured lies within the limits for “Larch 25”.":            judged(verdict.InSpec, verdict.InSpec),
		"This driver is not right yet: resonance lies outside the limits for “Larch 25”.":                      judged(verdict.OutOfSpec, verdict.InSpec),
		"This driver is not right yet: resonance and total Q lie outside the limits for “Larch 25”.":           judged(verdict.OutOfSpec, verdict.OutOfSpec),
		"It cannot be said yet whether this driver is right: total Q may lie within or outside the limits for": judged(verdict.InSpec, verdict.Undecided),
		"The driver was measured; there is no sheet of the maker":                                              nil,
	} {
		if got, _ := Verdict(c, false); !strings.HasPrefix(got, want) {
			t.Errorf("got %q, wanted %q", got, want)
		}
	}
	want := "This driver is right: everything that was measured of it in free air lies within the limits for “Larch 25”."
	if got, _ := Verdict(judged(verdict.InSpec, verdict.InSpec), true); got != want {
		t.Errorf("beside a cabinet it says %q", got)
	}
}

// sample is a sheet with so many drivers, as full as a usual one.
func sample(t *testing.T, drivers int) *Sheet {
	t.Helper()
	s := &Sheet{Workshop: Workshop{"Fernlight Repairs", []string{"3 Weir Street", "Oxmoor", "workshop@fernlight.example"}}, Title: "Stage woofers",
		Facts: []Line{{"customer", "Brindle Hall"}, {"", "12 Mill Lane"}, {"job", "2"}, {"technician", "Ilse Brandt"}, {"sheet of", "3 March 2026"}},
		Work:  "Foam surrounds replaced with rubber of the same size, coils centred, glue dried for two days. Both drivers run in for four hours at 20 Hz.",
		Made:  time.Date(2026, 3, 3, 10, 0, 0, 0, time.UTC)}
	before, now := set(26.7), set(31.1)
	c := judged(verdict.InSpec, verdict.InSpec)
	sheet := BySheet(&c.Spec, now)
	if sheet == nil {
		t.Fatal("the sheet says nothing of a driver in a cabinet")
	}
	box, err := In(cabinet.Cabinet{Volume: 0.06, Tuning: 38}, &before, now, sheet)
	if err != nil {
		t.Fatal(err)
	}
	x := []float64{10, 30, 100, 1000}
	picture := plot.Chart{About: plot.About{Title: "Impedance before and after", Desc: "d"}, X: plot.Axis{Label: "frequency, Hz", Log: true},
		Panels: []plot.Panel{{Height: 135, Y: plot.Axis{Label: "impedance, Ω"}, Series: []plot.Series{{Name: "before", Role: plot.Before, X: x, Y: []float64{7, 60, 6, 9}, Line: true}, {Name: "after", Role: plot.After, X: x, Y: []float64{7, 70, 6, 9}, Line: true}}}}}
	for i := range drivers {
		words, mark := Verdict(c, false)
		s.Parts = append(s.Parts, Part{Title: fmt.Sprintf("Larch 25, driver %d", i+1), Facts: []Line{{"serial", "0417"}, {"measured", "as received, 27 November 2026, 2 sweeps"}, {"", "new surround, 27 November 2026, 2 sweeps"}},
			Mark: mark, Verdict: words, Picture: picture, Values: Values(&before, now, c), Cabinet: box})
		for range 4 {
			s.Print = append(s.Print, Line{"left, as-received", "left-before-20g.wav, 20 g added, SHA-256 " + strings.Repeat("0123456789abcdef", 4)})
		}
	}
	s.Print = append(s.Print, Line{"limits", "larch.toml, SHA-256 " + strings.Repeat("0123456789abcdef", 4)}, Line{"program", "Conewright"})
	return s
}

// One page for one driver, two for a pair, and the same bytes every time.
func TestPDF(t *testing.T) {
	for drivers := 1; drivers <= 2; drivers++ {
		var a, b bytes.Buffer
		for _, w := range []*bytes.Buffer{&a, &b} {
			if err := WritePDF(w, sample(t, drivers), "A4"); err != nil {
				t.Fatal(err)
			}
		}
		if pages := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); pages != drivers {
			t.Errorf("%d drivers stand on %d pages", drivers, pages)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Error("the same sheet gives other bytes")
		}
		if fonts := bytes.Count(a.Bytes(), []byte("/FontFile2")); fonts != 2 {
			t.Errorf("%d fonts are embedded", fonts)
		}
	}
}

var textPlace = regexp.MustCompile(`BT [-\d.]+ ([-\d.]+) Td`)

// lowestText is how far above the lower edge of its page the lowest text begins, in points, and how many texts there are.
func lowestText(t *testing.T, pdf []byte) (y float64, texts int) {
	t.Helper()
	y = math.Inf(1)
	for _, part := range bytes.Split(pdf, []byte("stream\n"))[1:] {
		z, err := zlib.NewReader(bytes.NewReader(part))
		if err != nil {
			continue // the end of one
		}
		content, _ := io.ReadAll(z)
		for _, m := range textPlace.FindAllSubmatch(content, -1) {
			at, err := strconv.ParseFloat(string(m[1]), 64)
			if err != nil {
				t.Fatal(err)
			}
			y, texts = min(y, at), texts+1
		}
	}
	return y, texts
}

// Nothing is cut off: a sheet that needs more room has lower figures, and then more pages.
func TestPDFHasRoom(t *testing.T) {
	write := func(s *Sheet, paper string) []byte {
		var b bytes.Buffer
		if err := WritePDF(&b, s, paper); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	for lines, pages := range map[int]int{1: 2, 5: 2, 60: 4, 100: 6} {
		for _, paper := range Papers {
			s := sample(t, 2)
			s.Work = strings.Repeat("Surround replaced.\n", lines)
			pdf := write(s, paper)
			y, texts := lowestText(t, pdf)
			if y < margin/perPoint || texts < 100+2*lines {
				t.Errorf("%s, %d lines: the lowest of %d texts begins %.0f points above the edge", paper, lines, texts, y)
			}
			if got := bytes.Count(pdf, []byte("/Type /Page\n")); got > pages {
				t.Errorf("%s, %d lines: %d pages, at most %d wanted", paper, lines, got, pages)
			}
		}
	}
}

func TestHTML(t *testing.T) {
	var b bytes.Buffer
	s := sample(t, 2)
	s.Work = `<b>glue</b> & "care"`
	if err := WriteHTML(&b, s); err != nil {
		t.Fatal(err)
	}
	for text, times := range map[string]int{"<h1>Larch 25, driver 1</h1>": 1, "<h1>Larch 25, driver 2</h1>": 1, "Fernlight Repairs": 2, "&lt;b&gt;glue": 2, "SHA-256": 9} {
		if got := strings.Count(b.String(), text); got != times {
			t.Errorf("%q stands there %d times, wanted %d", text, got, times)
		}
	}
}

// A sheet that gives Fs, total Q and compliance: Vas goes with the compliance.
func TestBySheet(t *testing.T) {
	now := set(31)
	s := &verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 28, Hi: 34}, {ID: param.Qts, Lo: 0.3, Hi: 0.4}, {ID: param.Cms, Lo: 0.62e-3, Hi: 1.24e-3}}}
	d := BySheet(s, now)
	if d == nil || d.Fs != 31 || math.Abs(d.Qts()-0.35) > 1e-9 || math.Abs(d.Vas-0.105*1.5) > 1e-9 || d.Re != 5.6 {
		t.Errorf("%+v", d)
	}
	s.Limits[1].Hi = math.Inf(1)
	if d := BySheet(s, now); d != nil {
		t.Errorf("half a limit has no middle, and gave %+v", d)
	}
}

// Values show their verdicts, and nothing where nothing was measured.
func TestValues(t *testing.T) {
	before, now := set(26.7), set(36.5)
	table := Values(&before, now, judged(verdict.OutOfSpec, verdict.InSpec))
	var fs report.Row
	for _, r := range table.Rows {
		if r.Cells[0] == "Fs" {
			fs = r
		}
		if r.Cells[0] == "BL" {
			t.Error("BL is not known")
		}
	}
	if got := strings.Join(fs.Cells, "|"); got != "Fs|resonance|26.70|36.50|Hz|28 to 34|out of spec" || fs.Mark != report.Bad {
		t.Errorf("%s, mark %v", got, fs.Mark)
	}
}
