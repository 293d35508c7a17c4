package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/customer"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/settings"
	"conewright/cmd/internal/specsheet"
	"conewright/ts"
	"conewright/ts/cabinet"
	"conewright/ts/change"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

var jobSheetCommand = command{
	name: "job sheet", synopsis: "JOB[/DRIVER] --pdf FILE|--html FILE [options]", summary: "the sheet for the customer, one page a driver",
	about: `Writes the sheet that the customer takes home: what was done, whether the driver is right again,
in one sentence, the picture before and after, and the values. With the volume of the cabinet
(and its tuning, if it has a vent) it says what the change means there. Name and address of the
workshop come from workshop.toml in the folder of the book, or from --workshop.`,
	examples: `
conewright job sheet job:1 --pdf hall.pdf
conewright job sheet job:1/left --pdf left.pdf --html left.html --box-volume 60L --box-tuning 38Hz --paper Letter`,
	setup: func(g *optionGroups) action {
		var s sheetJob
		s.define(g)
		return s.run
	},
}

// sheetJob is one run of the command.
type sheetJob struct {
	book           bookOption
	pdf, html      string
	paper          string
	force          bool
	workshop       string
	technician     string
	volume, tuning quantityOption
}

func (s *sheetJob) define(g *optionGroups) {
	fs := g.group("Output")
	fs.StringVar(&s.pdf, "pdf", "", "write the sheet to this PDF `FILE`")
	fs.StringVar(&s.html, "html", "", "write the sheet to this HTML `FILE`")
	fs.StringVar(&s.paper, "paper", customer.Papers[0], "size of the paper: `"+strings.Join(customer.Papers, "|")+"`")
	fs.BoolVar(&s.force, "force", false, "replace files that exist")
	about := g.group("Sheet")
	about.StringVar(&s.workshop, "workshop", "", "TOML `FILE` with name, address, contact and technician")
	about.StringVar(&s.technician, "technician", "", "`NAME` of the technician, in place of the one in that file")
	s.volume = quantityOption{kind: quantity.Volume, lo: 1e-4, hi: 5}
	s.tuning = quantityOption{kind: quantity.Frequency, lo: 5, hi: 200}
	quantityVar(about, &s.volume, "box-volume", "", "inside the cabinet that the driver goes into")
	quantityVar(about, &s.tuning, "box-tuning", "", "of its vent; without it the cabinet is closed")
	s.book.define(g.group("Book"))
}

func (s *sheetJob) run(c *console, args []string) (answer, error) {
	ref, err := oneRef(args, driverPart, "conewright job sheet job:1 --pdf hall.pdf")
	if err != nil {
		return done, err
	}
	switch {
	case s.pdf == "" && s.html == "":
		return done, wrongUse(fmt.Sprintf("conewright job sheet %s --pdf hall.pdf", ref), "it is not said where to write the sheet")
	case !slices.Contains(customer.Papers, s.paper):
		return done, wrongUse("write A4 or Letter", "%q is not a size of paper", s.paper)
	case s.tuning.given && !s.volume.given:
		return done, wrongUse("add --box-volume", "the tuning of a cabinet says nothing without its volume")
	}
	for _, path := range []string{s.pdf, s.html} {
		if path == "" {
			continue
		}
		if err := checkTarget(path, s.force); err != nil {
			return done, err
		}
	}
	return done, s.book.with(false, func(ctx context.Context, b *book.Book) error {
		job, err := b.Job(ctx, ref.Job)
		if err != nil {
			return err
		}
		sheet, err := s.build(b, job, ref)
		if err != nil {
			return err
		}
		if s.pdf != "" {
			if err := writeFile(s.pdf, s.force, func(w io.WriteSeeker) error { return customer.WritePDF(w, sheet, s.paper) }); err != nil {
				return err
			}
		}
		if s.html != "" {
			return writeFile(s.html, s.force, func(w io.WriteSeeker) error { return customer.WriteHTML(w, sheet) })
		}
		return nil
	})
}

// build makes the sheet of a job, or of one driver of it.
func (s *sheetJob) build(b *book.Book, job book.Job, ref book.Ref) (*customer.Sheet, error) {
	shop, technician, err := s.readWorkshop(b)
	if err != nil {
		return nil, err
	}
	sheet := &customer.Sheet{Workshop: shop, Title: job.Title, Work: job.Work, Made: now()}
	sheet.Facts = factLines("customer", job.Customer, "", job.Contact, "job", fmt.Sprintf("%d, begun %s", job.Number, job.Opened.Local().Format("2 January 2006")),
		"technician", technician, "sheet of", sheet.Made.Format("2 January 2006"))
	for _, d := range job.Drivers {
		if ref.Side != "" && d.Side != ref.Side {
			continue
		}
		part, print, err := s.part(b, job, d)
		if err != nil {
			return nil, fmt.Errorf("job:%d/%s: %w", job.Number, d.Side, err)
		}
		sheet.Parts = append(sheet.Parts, part)
		for _, line := range print {
			if !slices.Contains(sheet.Print, line) { // two drivers mostly have one sheet
				sheet.Print = append(sheet.Print, line)
			}
		}
	}
	if len(sheet.Parts) == 0 {
		return nil, missingRef(ref)
	}
	sheet.Print = append(sheet.Print, customer.Line{Label: "program", Text: "Conewright " + version()})
	return sheet, nil
}

// factLines pairs labels with texts and leaves out empty texts.
func factLines(pairs ...string) []customer.Line {
	var list []customer.Line
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			list = append(list, customer.Line{Label: pairs[i], Text: pairs[i+1]})
		}
	}
	return list
}

// workshopFile is where the workshop is described, in the folder of the book.
const workshopFile = "workshop.toml"

// readWorkshop reads who makes the sheet; without a file nobody is named.
func (s *sheetJob) readWorkshop(b *book.Book) (customer.Workshop, string, error) {
	path := s.workshop
	if path == "" {
		path = filepath.Join(b.FolderOf(), workshopFile)
		if _, err := os.Stat(path); b.FolderOf() == "" || err != nil {
			return customer.Workshop{}, s.technician, nil
		}
	}
	entries, _, err := settings.ReadFile(path)
	if err != nil {
		return customer.Workshop{}, "", err
	}
	keys := []string{"name", "address", "contact", "technician"}
	text := map[string]string{}
	for _, e := range entries {
		if !slices.Contains(keys, e.Name()) {
			return customer.Workshop{}, "", e.Keys[0].Errorf("known here: "+strings.Join(keys, ", "), "there is no key %q for a workshop", e.Name())
		}
		text[e.Name()] = e.Text
	}
	shop := customer.Workshop{Name: text["name"]}
	for _, key := range []string{"address", "contact"} {
		if text[key] != "" {
			shop.Address = append(shop.Address, strings.Split(text[key], "\n")...)
		}
	}
	return shop, cmp.Or(s.technician, text["technician"]), nil
}

// part is the page of one driver with its small print.
func (s *sheetJob) part(b *book.Book, job book.Job, d book.Driver) (customer.Part, []customer.Line, error) {
	from, _ := d.Before()
	others, othersPrint, err := s.others(b, job, d)
	if err != nil {
		return customer.Part{}, nil, err
	}
	to, ok := d.After()
	if !ok && len(others) > 0 {
		return customer.Part{Title: cmp.Or(d.Type, job.Title) + ", " + d.Side, Facts: driverFacts(d), Others: others,
			Verdict: "The driver was not measured by itself; what was measured stands below."}, othersPrint, nil
	}
	if !ok {
		return customer.Part{}, nil, wrongUse("add a sweep of the whole driver: conewright job add job:12/left/run-in FILE", "there is no stage with the whole driver")
	}
	var spec specOption
	if d.Sheet != "" {
		var err error
		if spec.path, err = b.RawFile(context.Background(), d.Sheet); err != nil {
			return customer.Part{}, nil, err
		}
		spec.shown = d.SheetName
	}
	limits, err := spec.of(specsheet.Driver)
	if err != nil {
		return customer.Part{}, nil, err
	}
	after, inputs, err := s.fit(b, to, "after")
	if err != nil {
		return customer.Part{}, nil, err
	}
	part := customer.Part{Title: cmp.Or(d.Type, job.Title) + ", " + d.Side, Facts: driverFacts(d), Others: others}
	r := &report.Report{Sides: []report.Side{after}}
	var before *param.Parameters
	if from.Name != to.Name {
		was, earlier, err := s.fit(b, from, "before")
		if err != nil {
			return customer.Part{}, nil, err
		}
		r.Sides = []report.Side{was, after}
		report.SeparateBenches(r.Sides)
		inputs = append(earlier, inputs...)
		before = &r.Sides[0].Parameters
		after = r.Sides[1]
	}
	if r.Checked, err = judgeSides(r.Sides, limits); err != nil {
		return customer.Part{}, nil, err
	}
	part.Verdict, part.Mark = customer.Verdict(r.Checked, len(others) > 0)
	part.Picture = customer.Picture(r)
	part.Values = customer.Values(before, after.Parameters, r.Checked)
	if s.volume.given {
		box := cabinet.Cabinet{Volume: s.volume.value.SI, Tuning: s.tuning.value.SI}
		if part.Cabinet, err = customer.In(box, before, after.Parameters, customer.BySheet(limits, after.Parameters)); err != nil {
			return customer.Part{}, nil, err
		}
	}
	return part, append(smallPrint(d, inputs, from, to, spec.input), othersPrint...), nil
}

// others are the sections about cabinet and network, with their small print.
func (s *sheetJob) others(b *book.Book, job book.Job, d book.Driver) (list []customer.Section, print []customer.Line, err error) {
	if last, ok := d.LastInCabinet(); ok {
		bench, err := noBench().at(b, last)
		if err != nil {
			return nil, nil, err
		}
		in, err := inCabinetOf(b, job.Number, d, last, bench, boxOptions{}.empty(), nil)
		if err != nil {
			return nil, nil, err
		}
		limits, sheet, err := boxLimits(context.Background(), b, d)
		if err != nil {
			return nil, nil, err
		}
		found, err := lookInCabinet(b, d, in, limits, sheet)
		if err != nil {
			return nil, nil, err
		}
		list = append(list, customer.InItsCabinet(found.boxes))
		for _, stage := range d.InCabinet() {
			for _, w := range stage.Sweeps {
				print = append(print, customer.Line{Label: d.Side + ", " + stage.Name, Text: fmt.Sprintf("%s, SHA-256 %s", w.Name, w.SHA256)})
			}
		}
	}
	if len(d.Parts()) == 0 {
		return list, print, nil
	}
	var rows []report.Row
	for _, p := range d.Parts() {
		kept, err := report.ReadPart(p.Report)
		if err != nil {
			return nil, nil, err
		}
		rows = append(rows, report.Row{Mark: markOfWord(p.Verdict), Cells: append(append([]string{p.Label()}, kept.Cells()...), shouldBe(p), verdictWords(p.Verdict))})
		for _, f := range []struct{ name, hash string }{{"open.wav", p.Open}, {"short.wav", p.Short}, {"load.wav, " + p.LoadValue, p.Load}, {p.Name, p.SHA256}} {
			line := customer.Line{Label: d.Side + ", " + book.Parts, Text: fmt.Sprintf("%s, SHA-256 %s", f.name, f.hash)}
			if f.hash != "" && !slices.Contains(print, line) { // known things are those of many parts
				print = append(print, line)
			}
		}
	}
	return append(list, customer.Network(rows)), print, nil
}

// markOfWord is the mark of a verdict that the book keeps; empty: there is none.
func markOfWord(kept string) report.Mark {
	for _, v := range []verdict.Verdict{verdict.InSpec, verdict.OutOfSpec, verdict.Undecided} {
		if v.String() == kept {
			return report.MarkOf(v)
		}
	}
	return report.NoMark
}

// judgeSides holds the driver as it is now against its limits, nil for none.
func judgeSides(sides []report.Side, limits *verdict.Spec) (*verdict.Checked, error) {
	if limits == nil {
		return nil, nil
	}
	if len(sides) == 1 {
		return ts.Check(sides[0].Parameters, *limits)
	}
	compared, err := ts.Compare(sides[0].Parameters, sides[1].Parameters, change.Options{Spec: limits, Friction: report.FrictionOf(sides[0], sides[1])})
	if err != nil {
		return nil, err
	}
	return compared.Checked, nil
}

// fit reads and fits a stage from its raw files.
func (s *sheetJob) fit(b *book.Book, stage book.Stage, label string) (report.Side, []saved.Input, error) {
	bench, err := noBench().at(b, stage)
	if err != nil {
		return report.Side{}, nil, err
	}
	return fitSide(stageFiles(b, stage, nil), bench, label, nil)
}

// driverFacts are the serial number and the stages of a driver.
func driverFacts(d book.Driver) []customer.Line {
	facts := factLines("serial", d.Serial)
	for i, s := range d.Stages {
		label := ""
		if i == 0 {
			label = "measured"
		}
		what := sweepsWords(len(s.Sweeps))
		if len(s.Parts) > 0 {
			what = fmt.Sprintf("%d measured", len(s.Parts))
		}
		facts = append(facts, customer.Line{Label: label, Text: fmt.Sprintf("%s, %s, %s", strings.ReplaceAll(s.Name, "-", " "), s.Last().Local().Format("2 January 2006"), what)})
	}
	return facts
}

func sweepsWords(n int) string {
	if n == 1 {
		return "1 sweep"
	}
	return fmt.Sprintf("%d sweeps", n)
}

// smallPrint names the files that stand behind a page.
func smallPrint(d book.Driver, inputs []saved.Input, from, to book.Stage, sheet *report.SpecInput) []customer.Line {
	var list []customer.Line
	for _, in := range inputs {
		stage := to.Name
		if in.Side == "before" {
			stage = from.Name
		}
		list = append(list, customer.Line{Label: d.Side + ", " + stage, Text: fmt.Sprintf("%s, %s, SHA-256 %s", in.Path, report.LoadWords(in.Load), in.SHA256)})
	}
	if sheet != nil {
		list = append(list, customer.Line{Label: "limits", Text: fmt.Sprintf("%s, SHA-256 %s", sheet.Path, sheet.SHA256)})
	}
	return list
}
