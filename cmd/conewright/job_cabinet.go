package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/specsheet"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/boxed"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// cabinetSide is [benchOptions.side] of a sweep in a cabinet: of a driver in the book it is the last one there.
func (b *benchOptions) cabinetSide(files []loadFile) (sideFiles, error) {
	return b.anySide(files, book.Driver.LastInCabinet)
}

// over are the options where they are given, else what the book keeps of the box.
func (o boxOptions) over(kept *book.Cabinet) (boxOptions, error) {
	if kept == nil {
		return o, nil
	}
	if !o.closed && !o.vented {
		o.closed, o.vented = kept.Kind == string(boxed.Closed), kept.Kind == string(boxed.Vented)
	}
	for _, q := range []struct {
		option *quantityOption
		kept   string
	}{{&o.volume, kept.Volume}, {&o.tuning, kept.Tuning}} {
		if !q.option.given && q.kept != "" {
			if err := q.option.Set(q.kept); err != nil {
				return o, err
			}
		}
	}
	return o, nil
}

// otherThan says whether the options say something else than the book keeps of the box.
func (o boxOptions) otherThan(kept *book.Cabinet) bool {
	if kept == nil {
		return true
	}
	now, err := o.over(kept)
	return err != nil || string(now.kind()) != kept.Kind || now.volume.text() != kept.Volume || now.tuning.text() != kept.Tuning
}

// stageInCabinet is a stage in the cabinet with what is needed to compute it.
type stageInCabinet struct {
	ref   book.Ref
	files []loadFile
	bench *benchOptions
	box   boxOptions
	free  string            // the stage in free air whose driver it is held against; "" for none
	known *param.Parameters // of that driver
}

// inCabinetOf prepares a stage; more are files beside those that it has.
func inCabinetOf(b *book.Book, job int, d book.Driver, s book.Stage, bench *benchOptions, box boxOptions, more []loadFile) (in stageInCabinet, err error) {
	in = stageInCabinet{ref: book.Ref{Job: job, Side: d.Side, Stage: s.Name}, files: stageFiles(b, s, more), bench: bench}
	if in.box, err = box.over(s.Cabinet); err != nil {
		return in, err
	}
	free, ok := d.FreeFor(s.Name)
	if !ok {
		return in, nil
	}
	at := book.Ref{Job: job, Side: d.Side, Stage: free.Name}
	kept, err := saved.Read(free.Result.Fit, at.String())
	if err != nil {
		return in, wrongUse(fmt.Sprintf("conewright job recompute %s computes it anew", at), "what the book keeps of %s cannot be read: %v", at, err)
	}
	in.free, in.known = free.Name, &kept.Parameters
	return in, nil
}

// earlierInCabinet is the first stage in the cabinet, if it is not this one.
func earlierInCabinet(d book.Driver, stage string) (book.Stage, bool) {
	all := d.InCabinet()
	if len(all) == 0 || all[0].Name == stage {
		return book.Stage{}, false
	}
	return all[0], true
}

// foundInCabinet are the boxes of a driver, the last one being that of the stage.
type foundInCabinet struct {
	in      stageInCabinet
	sides   []report.Side
	inputs  []saved.Input
	boxes   *report.InCabinet
	verdict string
	report  *report.Report
}

// lookInCabinet fits a stage in the cabinet, and the first one of the driver if it is another, and compares the two. Only
// limits for the box are judged; limits is nil where there are none.
func lookInCabinet(b *book.Book, d book.Driver, in stageInCabinet, limits *verdict.Spec, sheet *report.SpecInput) (*foundInCabinet, error) {
	f := &foundInCabinet{in: in, boxes: &report.InCabinet{}}
	stages, labels := []stageInCabinet{in}, []string{""}
	if first, ok := earlierInCabinet(d, in.ref.Stage); ok {
		bench, err := noBench().at(b, first)
		if err != nil {
			return nil, err
		}
		before, err := inCabinetOf(b, in.ref.Job, d, first, bench, boxOptions{}.empty(), nil)
		if err != nil {
			return nil, err
		}
		stages, labels = []stageInCabinet{before, in}, []string{"before", "after"}
	}
	var seen inputs.Contents
	var curves []measured.Impedance
	for i, s := range stages {
		one, used, err := fitCabinet(repairSide{sideFiles{files: s.files, bench: s.bench}, labels[i]}, s.box.known(s.known), &seen, false)
		if err != nil {
			return nil, err
		}
		f.sides, curves = append(f.sides, one.side), append(curves, one.curve)
		f.boxes.Measured = append(f.boxes.Measured, one.box)
		f.inputs = append(f.inputs, used...)
	}
	last := f.boxes.Measured[len(stages)-1]
	var err error
	if len(stages) == 2 {
		if f.boxes.Compared, err = boxed.Compare([2]*boxed.Measured(f.boxes.Measured), [2]measured.Impedance(curves), boxed.BeforeAfter); err != nil {
			return nil, err
		}
	}
	if f.boxes.Level, err = levelIn(last, in.known); err != nil {
		return nil, err
	}
	job := report.Job{Version: version(), Inputs: f.inputs}
	if limits != nil {
		if f.boxes.Checked, err = ts.Check(last.Parameters, *limits); err != nil {
			return nil, err
		}
		f.verdict, job.Spec = f.boxes.Checked.Verdict.String(), sheet
	}
	f.report = report.Cabinet(job, f.sides, f.boxes)
	return f, nil
}

// empty are the options of a box of which nothing is said.
func (o boxOptions) empty() boxOptions {
	o.defineIn(newOptionGroups("").group(""))
	return o
}

// kept is what the book keeps of it.
func (f *foundInCabinet) kept() (*book.Cabinet, error) {
	var text bytes.Buffer
	if err := report.JSON(&text, f.report); err != nil {
		return nil, err
	}
	box := f.in.box
	return &book.Cabinet{Kind: string(box.kind()), Volume: box.volume.text(), Tuning: box.tuning.text(), Free: f.in.free,
		Made: now(), Version: version(), Verdict: f.verdict, Report: text.Bytes()}, nil
}

// text is the option as it was written; empty where it was not given.
func (o *quantityOption) text() string {
	if !o.given {
		return ""
	}
	return o.value.Text
}

// addInCabinet adds sweeps to a stage in the cabinet; d has the stage with its name, also where it is new.
func (a *addition) addInCabinet(ctx context.Context, c *console, b *book.Book, ref book.Ref, d book.Driver, stage book.Stage, bench *benchOptions, files []loadFile) error {
	if len(a.loads) > 0 {
		return wrongUse("leave the mass off, and give the volume of the cabinet with --volume", "a sweep in the cabinet has nothing on its cone")
	}
	added, err := newSweeps(files, a.repeat, cmp.Or(a.operator, userName()))
	if err != nil {
		return err
	}
	in, err := inCabinetOf(b, ref.Job, d, stage, bench, a.box, files)
	if err != nil {
		return err
	}
	sheet := a.driver.sheet
	if sheet.path == "" && d.Sheet != "" {
		sheet.shown = d.SheetName
		if sheet.path, err = b.RawFile(ctx, d.Sheet); err != nil {
			return err
		}
	}
	limits, err := sheet.of(specsheet.Box)
	if err != nil {
		return err
	}
	found, err := lookInCabinet(b, d, in, limits, sheet.input)
	if err != nil {
		return err
	}
	anew := book.Addition{Ref: ref, Sweeps: added, Known: len(stage.Sweeps)}
	if anew.Cabinet, err = found.kept(); err != nil {
		return err
	}
	if err := bench.into(&anew); err != nil {
		return err
	}
	if err := b.Add(ctx, anew); err != nil {
		return err
	}
	if err := sayInCabinet(c, ref, len(added), found); err != nil {
		return err
	}
	return a.sayOfDriver(ctx, c, b, ref)
}

// sayInCabinet says what the stage shows now.
func sayInCabinet(c *console, ref book.Ref, n int, f *foundInCabinet) error {
	last := f.boxes.Measured[len(f.boxes.Measured)-1]
	says := []string{fmt.Sprintf("%s added to %s", sweepsWords(n), ref)}
	if f.boxes.Compared != nil {
		labels := [2]string{"before", "after"}
		says = append(says, wording.BoxesHeadline(f.boxes.Compared, labels))
		says = append(says, wording.BoxesCompared(f.boxes.Compared, labels)...)
	}
	says = append(says, wording.Cabinets("", last)...)
	if f.in.free == "" {
		says = append(says, fmt.Sprintf("note: there is no sweep of the driver in free air to hold it against; add one: conewright job add job:%d/%s/as-received FILE", ref.Job, ref.Side))
	} else {
		says = append(says, fmt.Sprintf("Held against the driver in free air at the stage %s.", f.in.free))
	}
	if f.verdict != "" {
		says = append(says, "The box by its limits: "+verdictWords(f.verdict)+".")
	}
	for _, w := range f.sides[len(f.sides)-1].Noticed {
		says = append(says, "note: "+w.Message)
	}
	_, err := fmt.Fprintln(c.out, strings.Join(says, "\n"))
	return err
}
