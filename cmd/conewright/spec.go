package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/specsheet"
	"conewright/ts/param"
	"conewright/ts/process"
	"conewright/ts/verdict"

	"github.com/spf13/pflag"
)

var specCommand = command{
	name:     "spec",
	synopsis: "new|from-book",
	summary:  "spec sheets from paper values or from healthy units",
	about: `Writes a spec sheet: from the values of a printed data sheet with the tolerances that are usual
for them, or from healthy units of the same type that are in the book.`,
	examples: `
conewright spec new --name "Larch 25" --fs 31Hz --qts 0.38 --re 5.6ohm -o larch.toml
conewright spec from-book --type "Larch 25" -o larch.toml`,
	verbs: []command{specNewCommand, specFromBookCommand},
}

// paperValue is a value of a printed data sheet and the part that drivers of the type are
// usually off by. Re and Fs: printed on ten and several data sheets (read); the others are
// common practice.
type paperValue struct {
	id        param.ID
	option    string
	tolerance float64
	lo, hi    float64 // what is sensible, SI
	about     string
}

var paperValues = []paperValue{
	{param.Re, "re", 0.05, 0.1, 2000, "resistance of the coil"},
	{param.Fs, "fs", 0.15, 1, 2000, "resonance in free air"},
	{param.Qms, "qms", 0.25, 0.01, 200, "mechanical Q"},
	{param.Qes, "qes", 0.20, 0.01, 200, "electrical Q"},
	{param.Qts, "qts", 0.20, 0.01, 200, "total Q"},
	{param.Mms, "mms", 0.10, 1e-4, 5, "moving mass with air"},
	{param.Cms, "cms", 0.25, 1e-6, 0.1, "compliance"},
	{param.BL, "bl", 0.07, 0.1, 100, "force factor"},
	{param.Vas, "vas", 0.30, 1e-5, 10, "equivalent volume; cubic feet as ft3"},
	{param.L1k, "le", 0.20, 1e-6, 0.1, "inductance, taken as the one at 1 kHz"},
}

var specNewCommand = command{
	name: "spec new", synopsis: "[options]", summary: "a sheet from paper values with the usual tolerances",
	about: `Writes a spec sheet from the values of a printed data sheet. A value takes the tolerance that is
usual for it unless it has its own: --fs 31Hz+-10%. The nominal impedance stands for Re where
the sheet has no Re. The sensitivity is noted and not judged: printed ones lie one or two
decibels below what the other values give.`,
	examples: `conewright spec new --name "Larch 25" --fs 31Hz --qts 0.38+-10% --mms 42.5g --nominal 8ohm --sensitivity 91dB -o larch.toml`,
	setup: func(g *optionGroups) action {
		var out outputOptions
		var paper paperOptions
		paper.define(g.group("Values"))
		out.defineFile(g.group("Output"), "write the sheet to this `FILE` instead of the screen")
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("give values as options: --fs 31Hz", "it is not clear what %s is", args[0])
			}
			s := paper.sheet()
			if len(s.limits) == 0 {
				return done, wrongUse(`conewright spec new --name "Larch 25" --fs 31Hz --qts 0.38`, "a sheet needs at least one value")
			}
			return done, s.write(c, &out)
		}
	},
}

// paperOptions are the values of a printed data sheet as they are typed.
type paperOptions struct {
	name                 string
	values               []quantityOption // of paperValues
	nominal, sensitivity quantityOption
}

func (p *paperOptions) define(fs *pflag.FlagSet) {
	p.values = make([]quantityOption, len(paperValues))
	p.nominal = quantityOption{kind: quantity.Resistance, lo: 1, hi: 2000}
	p.sensitivity = quantityOption{kind: quantity.Decibels, lo: 50, hi: 130}
	fs.StringVar(&p.name, "name", "", "`NAME` of the driver")
	for i, v := range paperValues {
		p.values[i] = quantityOption{kind: quantity.Of(v.id), lo: v.lo, hi: v.hi}
		quantityVar(fs, &p.values[i], v.option, "", fmt.Sprintf("%s; usual tolerance %.0f %%", v.about, 100*v.tolerance))
	}
	quantityVar(fs, &p.nominal, "nominal", "", "nominal impedance")
	quantityVar(fs, &p.sensitivity, "sensitivity", "", "level at 1 m for 1 W or 2.83 V")
}

// sheet is the sheet of these values; it has no limits where there is no value.
func (p *paperOptions) sheet() *sheetText {
	s := newSheetText(p.name, "paper values, tolerances as usual for them")
	for i, v := range paperValues {
		if p.values[i].given {
			s.nominal(v, p.values[i].value)
		}
	}
	if p.nominal.given && !p.values[0].given {
		// IEC 60268-5: the impedance is nowhere below 80 % of its nominal value;
		// where Re lies below that is common practice.
		s.limit(param.Re, 0.60*p.nominal.value.SI, 0.95*p.nominal.value.SI, "from a nominal impedance of "+p.nominal.value.Text)
	}
	if p.sensitivity.given {
		s.notes = append(s.notes, "Sensitivity "+p.sensitivity.value.Text+" as printed; not judged.")
	}
	return s
}

// sheetText is a spec sheet while it is written.
type sheetText struct {
	name, source string
	notes        []string
	limits       []string
}

func newSheetText(name, source string) *sheetText { return &sheetText{name: name, source: source} }

// nominal adds a value with its own or its usual tolerance.
func (s *sheetText) nominal(p paperValue, v quantity.Value) {
	tolerance := p.tolerance
	if v.Stated && v.SI != 0 {
		tolerance = v.Tolerance / v.SI
	}
	s.limits = append(s.limits, fmt.Sprintf("%-3s = { nominal = %q, tolerance = %q }", p.id, benchNumber(p.id, v.SI, 6), strconv.FormatFloat(100*tolerance, 'g', 4, 64)+" %"))
}

// limit adds a smallest and a largest value (SI).
func (s *sheetText) limit(id param.ID, lo, hi float64, why string) {
	line := fmt.Sprintf("%-3s = { min = %q, max = %q }", id, benchNumber(id, lo, 4), benchNumber(id, hi, 4))
	if why != "" {
		line += "    # " + why
	}
	s.limits = append(s.limits, line)
}

// benchNumber writes a value in the unit of the screen.
func benchNumber(id param.ID, si float64, digits int) string {
	u := quantity.Screen(id)
	return strings.TrimSpace(strconv.FormatFloat(si/u.Factor, 'g', digits, 64) + " " + u.Name)
}

// text is the sheet, which is read once before: what is written can be read.
func (s *sheetText) text() (string, error) {
	var b strings.Builder
	for _, n := range s.notes {
		fmt.Fprintf(&b, "# %s\n", n)
	}
	fmt.Fprintf(&b, "name = %q\nsource = %q\nmounting = \"free-air\"\ntemperature = \"20 C\"\n\n[limits]\n%s\n", s.name, s.source, strings.Join(s.limits, "\n"))
	_, err := specsheet.Parse([]byte(b.String()), "the new sheet")
	return b.String(), err
}

// write writes the sheet.
func (s *sheetText) write(c *console, out *outputOptions) error {
	sheet, err := s.text()
	if err != nil {
		return err
	}
	if err := out.finish(); err != nil {
		return err
	}
	return out.writeAs(c, func(w io.Writer) error {
		_, err := io.WriteString(w, sheet)
		return err
	})
}

var specFromBookCommand = command{
	name: "spec from-book", synopsis: "--type NAME [options]", summary: "a sheet from healthy units in the book",
	about: `Writes a spec sheet from the units of a type that are in the book: limits that hold the wanted
share of all units of that type with the wanted confidence, whatever units these happen to be.
Few units give wide limits, as they must. The last complete stage of each driver counts, also
of one that came back in another job under its serial number, unless it is out of spec by the
sheet that it has. What the measurement scatters is in the limits.`,
	examples: `
conewright spec from-book --type "Larch 25" -o larch.toml
conewright spec from-book --type "Larch 25" --job job:3 --share 90% --confidence 90%`,
	setup: func(g *optionGroups) action {
		var out outputOptions
		var o bookOption
		var kind, job string
		share := quantityOption{kind: quantity.Percent, lo: 0.5, hi: 0.9999}
		confidence := share
		fs := g.group("Units")
		fs.StringVar(&kind, "type", "", "`NAME` of the type")
		fs.StringVar(&job, "job", "", "only units of this `JOB`, such as job:3")
		quantityVar(fs, &share, "share", "95%", "part of all units that the limits hold")
		quantityVar(fs, &confidence, "confidence", "95%", "with which they do")
		o.define(fs)
		out.defineFile(g.group("Output"), "write the sheet to this `FILE` instead of the screen")
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 || kind == "" {
				return done, wrongUse(`conewright spec from-book --type "Larch 25"`, "the type of the units is needed, as an option")
			}
			which := book.Which{Type: kind, Last: true}
			if job != "" {
				ref, err := book.ParseRef(job)
				if err != nil {
					return done, err
				}
				which.Job = ref.Job
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				s, err := healthySheet(ctx, b, which, share.value.SI, confidence.value.SI)
				if err != nil {
					return err
				}
				return s.write(c, &out)
			})
		}
	},
}

// fewestHealthy is below what limits would say nothing: those of two units would be
// thirty standard deviations wide.
const fewestHealthy = 3

// judged are the quantities of a sheet from healthy units.
var judged = []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.Mms, param.Cms, param.BL}

// healthySheet makes limits from units. Their logarithms are taken as normal: values are
// positive, and a stiff unit is as likely as a soft one by the same factor.
func healthySheet(ctx context.Context, b *book.Book, which book.Which, share, confidence float64) (*sheetText, error) {
	logs, units, out := map[param.ID][]float64{}, 0, 0
	err := b.EachUnit(ctx, which, func(u book.Unit) error {
		if u.Verdict == verdict.OutOfSpec.String() {
			out++
			return nil
		}
		units++
		for id, v := range u.Values {
			logs[id] = append(logs[id], math.Log(v.Value))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	without := ""
	if out > 0 {
		without = fmt.Sprintf(" without %d out of spec", out)
	}
	if units < fewestHealthy {
		return nil, wrongUse("add more healthy units to the book; five give limits five standard deviations wide, twenty less than three",
			"limits need at least %d healthy units of the type %s, and the book has %d%s", fewestHealthy, which.Type, units, without)
	}
	s := newSheetText(which.Type, fmt.Sprintf("%d healthy units in the book%s; the limits hold %g %% of all units with a confidence of %g %%", units, without, 100*share, 100*confidence))
	for _, id := range judged {
		if len(logs[id]) < fewestHealthy {
			continue
		}
		of, err := process.UnitsOf(logs[id])
		if err != nil {
			return nil, err
		}
		limits, err := of.Tolerance(process.BothSides, share, confidence)
		if err != nil {
			return nil, err
		}
		why := ""
		if n := len(logs[id]); n != units {
			why = fmt.Sprintf("from %d units", n)
		}
		s.limit(id, math.Exp(limits.Lo), math.Exp(limits.Hi), why)
	}
	return s, nil
}
