package report

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/fitted"
	"conewright/ts/verdict"
)

var updateHTML = flag.Bool("update-html", false, "write the golden HTML files anew")

func render(t *testing.T, r *Report) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteHTML(&b, r); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestHTMLGolden(t *testing.T) {
	for name, r := range sampleReports(4) {
		t.Run(name, func(t *testing.T) {
			// The style sheet is looked at in a browser and not kept nine times.
			got := styleBlock.ReplaceAllString(render(t, r), "<style></style>")
			path := filepath.Join("testdata", "html", name+".html")
			if *updateHTML {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if problem := pageDiffers(got, string(want)); problem != "" {
				os.WriteFile(path+".got", []byte(got), 0o644)
				t.Errorf("%s (see %s.got; -update-html accepts it)", problem, path)
			}
		})
	}
}

var styleBlock = regexp.MustCompile(`(?s)<style>.*?</style>`)

var coordinate = regexp.MustCompile(`-?\d+(\.\d+)?`)

// pageDiffers compares pages. Words must agree to the letter; coordinates of a
// drawing may differ by one unit of their last digit, because processors may
// round a fused multiplication and addition differently.
func pageDiffers(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] == w[i] {
			continue
		}
		a, b := coordinate.FindAllString(g[i], -1), coordinate.FindAllString(w[i], -1)
		if !strings.HasPrefix(g[i], "<path") || coordinate.ReplaceAllString(g[i], "#") != coordinate.ReplaceAllString(w[i], "#") {
			return fmt.Sprintf("line %d differs: %.80q", i+1, g[i])
		}
		for k := range a {
			x, _ := strconv.ParseFloat(a[k], 64)
			y, _ := strconv.ParseFloat(b[k], 64)
			if math.Abs(x-y) > 0.11 {
				return fmt.Sprintf("line %d has %v instead of %v", i+1, x, y)
			}
		}
	}
	if len(g) != len(w) {
		return fmt.Sprintf("%d lines instead of %d", len(g), len(w))
	}
	return ""
}

func TestPageComparisonCanFail(t *testing.T) {
	if pageDiffers("<path d=\"M1 2\"", "<path d=\"M1 2.1\"") != "" {
		t.Error("a difference by rounding is reported")
	}
	for _, other := range []string{"<path d=\"M1 2.2\"", "<path d=\"L1 2\"", "<path d=\"M1 2\"\n"} {
		if pageDiffers("<path d=\"M1 2\"", other) == "" {
			t.Errorf("%q passes", other)
		}
	}
	if pageDiffers("<p>36.6 Hz", "<p>36.7 Hz") == "" {
		t.Error("another number in the words passes")
	}
}

// TestHTMLNeedsNothingElse looks for anything that would ask for the network or
// run a program.
func TestHTMLNeedsNothingElse(t *testing.T) {
	foreign := regexp.MustCompile(`(?i)<script|<link[^>]+href="[^d]|\ssrc=|@import|url\([^#]|\son[a-z]+=|https?://`)
	for name, r := range sampleReports(4) {
		page := strings.ReplaceAll(render(t, r), `xmlns="http://www.w3.org/2000/svg"`, "")
		if got := foreign.FindString(page); got != "" {
			t.Errorf("%s holds %q", name, got)
		}
		ids := map[string]bool{}
		for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(page, -1) {
			if ids[m[1]] {
				t.Errorf("%s: identifier %s is used twice", name, m[1])
			}
			ids[m[1]] = true
		}
	}
	if foreign.FindString(`<img src="x">`) == "" || foreign.FindString(`<a onclick="x">`) == "" {
		t.Error("the check finds nothing at all")
	}
}

func TestHTMLEscapes(t *testing.T) {
	nasty := `<script>alert("1")</script>&"'` + "\x00\xff"
	r := sampleCompare(4, true)
	r.Title, r.Headline, r.Version = nasty, nasty, nasty
	r.Body, r.Cautions = []string{nasty}, []string{nasty}
	r.Next = []wording.Step{{Do: nasty, Gain: nasty}}
	r.Warnings = []wording.Said{{Message: nasty, Hint: nasty}}
	r.Inputs[0].Path, r.Inputs[0].SHA256 = nasty, nasty
	r.Bench = saved.Settings{{Name: nasty, Value: nasty}}
	r.Spec.Name, r.Spec.Source = nasty, nasty
	r.Sides[0].Label = nasty
	r.Sides[0].Bench = saved.Settings{{Name: nasty, Value: nasty}}
	r.Tables[0].Title, r.Tables[0].Note = nasty, nasty
	r.Tables[0].Columns[0].Head, r.Tables[0].Rows[0].Cells[0] = nasty, nasty
	page := render(t, r)
	if strings.Contains(page, "<script") {
		t.Error("text of the user became a program")
	}
	if strings.Contains(page, "\x00") || !strings.Contains(page, "&lt;script&gt;") {
		t.Error("text of the user is gone or raw")
	}
}

// TestHTMLOddValues renders reports with holes in them: a page may say less
// then, but there must be one.
func TestHTMLOddValues(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, spoil := range map[string]func(r *Report){
		"NaN in a sweep":       func(r *Report) { r.Sides[0].Curves[0].Measured[3] = complex(nan, 0) },
		"no fit to the points": func(r *Report) { r.Sides[0].Curves[0].Fitted = nil },
		"infinite change":      func(r *Report) { r.Compared.Changes[0].High = inf },
		"NaN change":           func(r *Report) { r.Compared.Changes[1].Ratio = nan },
		"huge interval":        func(r *Report) { r.Compared.Changes[2].Low, r.Compared.Changes[2].High = 1e-9, 1e9 },
		"no changes":           func(r *Report) { r.Compared.Changes = nil },
		"value not known":      func(r *Report) { r.Checked.Checks[1] = verdict.Judged{Limit: r.Checked.Checks[1].Limit} },
		"no limit":             func(r *Report) { r.Checked.Checks[0].Limit.Lo, r.Checked.Checks[0].Limit.Hi = -inf, inf },
		"limits in one point":  func(r *Report) { r.Checked.Checks[0].Limit.Lo = r.Checked.Checks[0].Limit.Hi },
		"Fs limits in a point": func(r *Report) { r.Checked.Checks[1].Limit.Lo = r.Checked.Checks[1].Limit.Hi },
		"value NaN":            func(r *Report) { r.Checked.Checks[0].Estimate.Value = nan },
		"before NaN":           func(r *Report) { r.Compared.Before.Scaled[0], r.Compared.Before.Scaled[1] = nan, nan },
		"interval infinite":    func(r *Report) { r.Checked.Checks[0].Estimate.High = inf },
		"limits far away":      func(r *Report) { r.Checked.Checks[1].Limit.Lo, r.Checked.Checks[1].Limit.Hi = 1e-3, 1e6 },
		"negative lower limit": func(r *Report) { r.Checked.Checks[1].Limit.Lo = -5 },
		"nothing but a title":  func(r *Report) { *r = Report{Title: "empty"} },
		"one point":            func(r *Report) { oneOf(&r.Sides[0].Curves[0].Curve); oneOf(&r.Sides[1].Curves[0].Curve) },
		"Fs outside of sweep":  func(r *Report) { r.Sides[0].Parameters.Scaled[1] = 20 },
	} {
		r := sampleCompare(4, true)
		spoil(r)
		var b bytes.Buffer
		if err := WriteHTML(&b, r); err != nil {
			t.Errorf("%s: %v", name, err)
		} else if s := b.String(); regexp.MustCompile("NaN|Inf").FindString(s) != "" {
			t.Errorf("%s: the page shows a number that is none: %.60q", name, s[regexp.MustCompile("NaN|Inf").FindStringIndex(s)[0]-30:])
		}
	}
}

func oneOf(c *fitted.Curve) {
	c.Freq, c.Measured, c.Fitted = c.Freq[:1], c.Measured[:1], c.Fitted[:1]
}

func TestHTMLSaysWhen(t *testing.T) {
	r := sampleFit(4)
	if strings.Contains(render(t, r), "<span>1 January") {
		t.Error("a date from nowhere")
	}
	r.Made = time.Date(2026, 3, 5, 0, 0, 0, 0, time.UTC)
	if !strings.Contains(render(t, r), "5 March 2026") {
		t.Error("the date is missing")
	}
}

func TestNeat(t *testing.T) {
	for in, want := range map[string]string{
		"ohm": "Ω", "5.6 ohm": "5.6\u00a0Ω", "ohmmeter": "ohmmeter", "Re ohm": "Re Ω", "an ohm meter": "an ohm meter",
		"-31 %": "−31\u00a0%", "(-3 to -1)": "(−3 to −1)", "driver-first": "driver-first", "2026-03-05": "2026-03-05", "36.6 Hz, above": "36.6\u00a0Hz, above", "6 healthy units": "6 healthy units", "5 grams": "5 grams",
		"539 cm2": "539\u00a0cm²", "8.0 T m": "8.0\u00a0T·m",
	} {
		if got := neat(in); got != want {
			t.Errorf("neat(%q) = %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{
		"repeat the sweep": "Repeat the sweep", "eta0 is low": "eta0 is low", "Fs is low": "Fs is low", "": "", "äußere Sicke": "Äußere Sicke",
	} {
		if got := sentence(in); got != want {
			t.Errorf("sentence(%q) = %q, want %q", in, got, want)
		}
	}
}

// TestPointsBelowOneAnother checks that padded numbers have as many places
// behind the point, seen or not.
func TestPointsBelowOneAnother(t *testing.T) {
	laid := layTable(Table{Columns: []Column{{"", Left}, {"value", Point}, {"", Left}, {"", Left}},
		Rows: []Row{{Cells: []string{"a", "5.610", "ohm", "coil resistance"}}, {Cells: []string{"b", "36.7", "Hz", ""}}, {Cells: []string{"c", "120", "g", ""}}, {Cells: []string{"d", "", "", ""}}}})
	want := []laidCell{{"5.610", "", "right", "value", "Ω"}, {"36.7", "\u2007\u2007", "right", "value", "Hz"}, {"120", "\u2008\u2007\u2007\u2007", "right", "value", "g"}, {"", "", "right", "value", ""}}
	for i, w := range want {
		if got := laid.Rows[i].Cells[1]; got != w {
			t.Errorf("row %d: %+q, want %+q", i+1, got, w)
		}
	}
	remark := layTable(Table{Columns: []Column{{"", Left}, {"value", Point}, {"", Left}}, Rows: []Row{{Cells: []string{"a", "36.9", "Fs high"}}}})
	if c := remark.Rows[0].Cells; c[2].Class != "" || c[1].Unit != "" {
		t.Errorf("a remark is taken for a unit: %+v", c)
	}
	if c := laid.Rows[0].Cells; c[2].Class != "unit" || c[3].Class != "name" {
		t.Errorf("classes %q and %q", c[2].Class, c[3].Class)
	}
}
