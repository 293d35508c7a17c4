package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"conewright/cmd/internal/page"
	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

//go:embed sheet.html
var sheetSource string

var sheet = template.Must(template.New("sheet").Funcs(template.FuncMap{
	"neat": neat, "sentence": sentence, "load": loadWords, "mark": markClass, "sign": markSign, "lay": layTable,
}).Parse(sheetSource))

// WriteHTML writes the report as one file that needs nothing else: no network,
// no script, no other file. It reads on a screen, on a phone and on paper.
// Nothing is written when the report cannot be rendered.
func WriteHTML(w io.Writer, r *Report) error {
	view := struct {
		*Report
		Mark                   Mark
		Answer, Change, Ground []template.HTML // figures by their place
		Early, Late            []Table         // before and after the figures of Change
		Settings, Glossary     []labelled
		Limits                 string
	}{
		Report: r, Mark: markOf(r.Verdict), Settings: append(benches(r), models(r.Sides)...), Glossary: glossary(r),
	}
	for _, t := range r.Tables {
		if t.Early {
			view.Early = append(view.Early, t)
		} else {
			view.Late = append(view.Late, t)
		}
	}
	if r.Spec != nil {
		view.Limits = specWords(*r.Spec)
	}
	drawn, f := 0, figuresOf(r)
	for _, place := range []struct {
		from []plot.Figure
		to   *[]template.HTML
	}{{f.answer, &view.Answer}, {f.change, &view.Change}, {f.ground, &view.Ground}} {
		for _, f := range place.from {
			drawn++
			h, err := page.Figure(f, fmt.Sprintf("f%d", drawn), key(f))
			if err != nil {
				return fmt.Errorf("drawing figure %d of the report: %w", drawn, err)
			}
			*place.to = append(*place.to, h)
		}
	}
	var body bytes.Buffer
	if err := sheet.Execute(&body, view); err != nil {
		return fmt.Errorf("rendering the report: %w", err)
	}
	p := page.Page{Kind: kindWords(r), Title: neat(r.Title), Body: template.HTML(body.String())}
	if !r.Made.IsZero() {
		p.Date = r.Made.Format("2 January 2006")
	}
	return p.Write(w)
}

// Figures draws the figures of a report that come with its answer, for a page that has
// styles of its own.
func Figures(r *Report) ([]template.HTML, error) {
	f := figuresOf(r)
	drawn := []template.HTML{}
	for i, f := range slices.Concat(f.answer, f.change) {
		h, err := page.Figure(f, fmt.Sprintf("a%d", i), key(f))
		if err != nil {
			return nil, fmt.Errorf("drawing figure %d of the answer: %w", i+1, err)
		}
		drawn = append(drawn, h)
	}
	return drawn, nil
}

// key explains the marks of a figure.
func key(f plot.Figure) string {
	switch f := f.(type) {
	case plot.Gauges:
		for _, row := range f.Rows {
			if row.Prior != nil {
				return "Filled: now. Open: before. Bar: 95 % interval. Hatched: outside the limits."
			}
		}
		return "Bar: 95 % interval. Hatched: outside the limits."
	case plot.Chart:
		if !f.X.Whole { // only the units of a lot are counted
			break
		}
		bars := "At the right: how wide the 95 % interval of one unit is. Open: beyond the limits."
		switch first := f.Panels[0]; {
		case f.X.Label == GroupColumn:
			bars = ""
		case slices.ContainsFunc(first.Series, func(s plot.Series) bool { return len(s.X) > 1 && s.YErr != nil }):
			bars = "Bar: 95 % interval. Open: beyond the limits."
		}
		if len(f.Panels[0].Rules) > 1 {
			bars += " Low charts: ranges. Dotted: control limits. Large: not steady."
		}
		return strings.TrimSpace(bars)
	case plot.Intervals:
		for _, row := range f.Rows {
			if row.Limits != nil {
				return "Bar: 95 % interval. Hatched: beyond the limits."
			}
		}
		return "Bar: 95 % interval. Upright line: no change."
	}
	return ""
}

// laidTable is a table ready for the page.
type laidTable struct {
	Title, Note string
	Heads       []laidCell
	Rows        []laidRow
}

type laidRow struct {
	Class string
	Cells []laidCell
}

type laidCell struct {
	Text  string
	Pad   string // invisible digits that bring decimal points below one another
	Class string
	// Head and Unit are what a row needs beside the text when it becomes a card.
	Head, Unit string
}

func layTable(t Table) laidTable {
	out := laidTable{Title: neat(t.Title), Note: neat(t.Note)}
	for _, r := range t.Rows {
		out.Rows = append(out.Rows, laidRow{Class: markClass(r.Mark), Cells: make([]laidCell, len(t.Columns))})
	}
	for i, c := range t.Columns {
		class := columnClass(t, i)
		out.Heads = append(out.Heads, laidCell{Text: neat(c.Head), Class: class})
		padded := make([]string, len(t.Rows))
		for k, r := range t.Rows {
			padded[k] = r.Cells[i]
		}
		if c.Align == Point {
			alignPoints(padded)
		}
		unit := i // of a number is in the next column without a head
		for c.Align == Point && unit < len(t.Columns) && t.Columns[unit].Align == Point {
			unit++
		}
		for k, r := range t.Rows {
			pad := strings.Repeat("\u2007", len(padded[k])-len(r.Cells[i])) // as wide as a digit
			if pad != "" && !strings.Contains(r.Cells[i], ".") {
				pad = "\u2008" + strings.TrimPrefix(pad, "\u2007") // as wide as a point
			}
			cell := laidCell{Text: neat(r.Cells[i]), Pad: pad, Class: class, Head: neat(c.Head)}
			if unit > i && unit < len(t.Columns) && columnClass(t, unit) == "unit" && r.Cells[i] != "" {
				cell.Unit = neat(r.Cells[unit])
			}
			out.Rows[k].Cells[i] = cell
		}
	}
	return out
}

// Wide says whether the rows of a dense table are too long to stand three times beside each other on
// paper.
func (t Table) Wide() bool {
	const mostColumns, longestName = 8, 10
	return len(t.Columns) > mostColumns || slices.ContainsFunc(t.Rows, func(r Row) bool { return utf8.RuneCountInString(r.Cells[0]) > longestName })
}

// columnClass is how a column is set: a number, the unit of the number before
// it, or more of the name in the first column.
func columnClass(t Table, i int) string {
	c := t.Columns[i]
	switch {
	case c.Align != Left:
		return "right"
	case t.Dense && (c.Head == sumHead || i > 0 && t.Columns[i-1].Head == sumHead):
		return "screen"
	case i == 0 || c.Head != "":
		return ""
	case t.Columns[i-1].Align == Point && only(t, i, unitOf):
		return "unit"
	case only(t, i, wording.Name):
		return "name"
	}
	return ""
}

// only says whether a column holds nothing but entries of the table of
// quantities.
func only(t Table, i int, entry func(param.ID) string) bool {
	for _, r := range t.Rows {
		if r.Cells[i] != "" && !slices.ContainsFunc(param.All(), func(id param.ID) bool { return entry(id) == r.Cells[i] }) {
			return false
		}
	}
	return true
}

// labelled is one line of the record.
type labelled struct{ Label, Text string }

// benches lists the settings of the bench, for each side where they differ.
func benches(r *Report) []labelled {
	var out []labelled
	add := func(side string, settings saved.Settings) {
		for _, b := range settings {
			out = append(out, labelled{strings.TrimSpace(b.Name + " " + side), neat(b.Value)})
		}
	}
	if len(r.Bench) > 0 {
		add("", r.Bench)
		return out
	}
	for _, s := range r.Sides {
		add(s.Label, s.Bench)
	}
	return out
}

// models says for each side which model stands behind the values.
func models(sides []Side) []labelled {
	var out []labelled
	for _, s := range sides {
		if s.Fitted == nil {
			continue
		}
		m, q := s.Fitted.Model, s.Fitted.Quality
		text := fmt.Sprintf("coil %s%s, %d points from %.3g to %.4g Hz, residual %.2g %% rms", wording.Plain(m.Coil), suspension(m), q.Points, q.BandHz[0], q.BandHz[1], q.ResidualRMSPercent)
		if q.Outliers > 0 {
			text += fmt.Sprintf(", %d points given less weight", q.Outliers)
		}
		out = append(out, labelled{strings.TrimSpace("model " + s.Label), text})
	}
	return out
}

// specWords says what the limits are and where they come from.
func specWords(s verdict.Spec) string {
	words := quoted(s.Name)
	if s.Source != "" {
		words += ", from " + s.Source
	}
	words += ", mounting " + s.Mounting.String()
	if s.Temperature > 0 {
		words += fmt.Sprintf(", %.3g °C", s.Temperature-273.15)
	}
	if s.Confidence > 0 {
		words += fmt.Sprintf(", decided at %.3g %% confidence", 100*s.Confidence)
	}
	return words
}

// kindWords names the kind of report after its schema.
func kindWords(r *Report) string {
	switch strings.Split(r.Schema+"//", "/")[1] {
	case "fit":
		return "Measurement sheet"
	case "check":
		return "Check against the spec sheet"
	case "compare":
		return "Repair sheet: before and after"
	case "lesson":
		return "Mass line sheet"
	case "ring":
		return "Mass ring sheet"
	case "pair":
		return "Pair sheet"
	case "part":
		return "Parts of a network"
	case "batch-summary":
		return "Batch sheet"
	case "cabinet":
		return "Cabinet sheet"
	}
	return "Sheet"
}

func markClass(m Mark) string {
	return [...]string{"", "good", "bad", "open"}[m]
}

// markSign is the mark of a row where there is no colour.
func markSign(m Mark) string {
	return [...]string{"", "✓", "✗", "?"}[m]
}

var (
	unitOhm   = regexp.MustCompile(`(^|\d )ohm\b`)
	headOhm   = regexp.MustCompile(`^(\w+) ohm$`) // "Re ohm", the head of a column
	minusSign = regexp.MustCompile(`(^|[\s(])-(\d)`)
	unitBlank = regexp.MustCompile(`(\d) (%|Ω|Hz|kHz|g|kg|mm/N|kg/s|T·m|mH|µF|cm²|L|V|K|°C)($|[\s.,;:)])`)
	thinUnits = strings.NewReplacer("cm2", "cm²", "uF", "µF", "T m", "T·m")
)

// sentence begins a text with a capital letter, unless its first word is a
// symbol such as "eta0".
func sentence(s string) string {
	first, _, _ := strings.Cut(s, " ")
	for _, r := range first {
		if !unicode.IsLower(r) && r != ',' && r != ':' {
			return neat(s)
		}
	}
	if s == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(s)
	return neat(string(unicode.ToUpper(r)) + s[n:])
}

// neat sets units and minus signs as a printer would; the terminal keeps to
// plain characters.
func neat(s string) string {
	s = unitOhm.ReplaceAllString(s, "${1}Ω")
	s = headOhm.ReplaceAllString(s, "${1} Ω")
	s = minusSign.ReplaceAllString(s, "${1}−${2}")
	s = thinUnits.Replace(s)
	return unitBlank.ReplaceAllString(s, "${1}\u00a0${2}${3}") // a number keeps its unit on its line
}
