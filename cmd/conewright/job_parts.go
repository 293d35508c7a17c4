package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/network"
)

// over are the known things and the kind of part where they are given, else those with which a part in the book was measured; what
// that one should be is not taken over.
func (k partKnown) over(b *book.Book, kept book.Part) (partKnown, map[string]string, error) {
	shown := map[string]string{}
	path := func(hash, name string) (string, error) {
		if hash == "" {
			return "", nil
		}
		path, err := b.RawFile(context.Background(), hash)
		shown[path] = name
		return path, err
	}
	var err error
	if k.openFile, err = path(kept.Open, "open.wav"); err != nil {
		return k, nil, err
	}
	if k.shortFile, err = path(kept.Short, "short.wav"); err != nil {
		return k, nil, err
	}
	if kept.Load != "" {
		file, err := path(kept.Load, "load.wav")
		if err != nil {
			return k, nil, err
		}
		if err := k.load.Set(kept.LoadValue + "=" + file); err != nil {
			return k, nil, err
		}
	}
	return k, shown, nil
}

// anyKnown says whether any known thing is named.
func (k *partKnown) anyKnown() bool {
	return k.openFile != "" || k.shortFile != "" || k.load.path != ""
}

// given says whether anything is said of a part.
func (k *partKnown) given() bool { return k.anyKnown() || k.nominal != "" || k.tolerance.given }

// setKind reads the kind of a part; empty: not stated.
func (k *partKnown) setKind(word string) error {
	k.kind = noKind
	if word == "" {
		return nil
	}
	if err := (wordOption[network.Kind]{&k.kind, partKinds}).Set(word); err != nil {
		return wrongUse("of a part, --kind is capacitor, coil or resistor", "%q is no kind of part", word)
	}
	return nil
}

// empty are the options of a part of which nothing is said.
func (k partKnown) empty() partKnown {
	g := newOptionGroups("").group("")
	k.defineIn(g, g)
	return k
}

// addParts adds parts of the network to a job.
func (a *addition) addParts(ctx context.Context, c *console, b *book.Book, ref book.Ref, stage book.Stage, bench *benchOptions, paths []string) error {
	switch {
	case len(a.loads) > 0:
		return wrongUse("name the recordings of the parts as FILE", "a part has no cone for a mass or a box")
	case a.driver.given():
		return wrongUse(fmt.Sprintf("conewright job set job:%d/%s --type ...", ref.Job, ref.Side), "type, serial and sheet are those of the driver, not of a part")
	}
	known := a.parts
	if err := known.setKind(a.repeat); err != nil {
		return err
	}
	p := &partOptions{partKnown: known, bench: *bench, shown: map[string]string{}}
	var reused string
	if last := len(stage.Parts) - 1; last >= 0 && !known.anyKnown() {
		var err error
		if p.partKnown, p.shown, err = known.over(b, stage.Parts[last]); err != nil {
			return err
		}
		if p.anyKnown() {
			reused = fmt.Sprintf("note: the known things are those of %s; leads and settings must be the same as then", stage.Parts[last].Label())
		}
	}
	for _, path := range paths {
		p.shown[path] = filepath.Base(path)
	}
	if err := p.prepare(); err != nil {
		p.close()
		return err
	}
	defer p.close()
	var says []string
	var parts []book.NewPart
	for _, path := range paths {
		one, err := p.measureForBook(path, "")
		if err != nil {
			return err
		}
		one.part.Operator, one.part.Added = cmp.Or(a.operator, userName()), now()
		says = append(says, fmt.Sprintf("%s added to %s: %s", one.part.Label(), ref, one.says))
		if i := slices.IndexFunc(stage.Parts, func(q book.Part) bool { return q.SHA256 == one.part.SHA256 }); i >= 0 {
			says = append(says, fmt.Sprintf("note: this recording was there already, as %s held against %s; it is judged anew", stage.Parts[i].Label(), cmp.Or(stage.Parts[i].Nominal, "nothing")))
		}
		parts = append(parts, one.kept())
	}
	anew := book.Addition{Ref: ref, Parts: parts}
	var err error
	if err := bench.into(&anew); err != nil {
		return err
	}
	if err := b.Add(ctx, anew); err != nil {
		return err
	}
	for _, w := range p.notes {
		says = append(says, "note: "+w)
	}
	if reused != "" {
		says = append(says, reused)
	}
	_, err = fmt.Fprintln(c.out, strings.Join(says, "\n"))
	return err
}

// partForBook is a part that was measured, with what the book keeps of it.
type partForBook struct {
	part  book.Part
	side  report.PartSide
	files []book.File
	says  string
}

func (p partForBook) kept() book.NewPart { return book.NewPart{Part: p.part, Files: p.files} }

// measureForBook measures one part; name is what it is called in place of its file, empty: as that.
func (p *partOptions) measureForBook(path, name string) (partForBook, error) {
	known := len(p.inputs)
	one, err := p.measure(path, "")
	job := report.Job{Version: version(), Inputs: slices.Clone(p.inputs), All: true}
	p.inputs = p.inputs[:known] // the next part has nothing to do with this one
	if err != nil {
		return partForBook{}, err
	}
	r := report.Part(job, one, p.settings(), p.wanted)
	var text bytes.Buffer
	if err := report.JSON(&text, r); err != nil {
		return partForBook{}, err
	}
	for _, w := range r.Warnings {
		if !slices.Contains(p.notes, w.Message) {
			p.notes = append(p.notes, w.Message)
		}
	}
	out := partForBook{side: one, part: book.Part{SHA256: one.Input.SHA256, Name: cmp.Or(name, filepath.Base(path)), Nominal: p.nominal, Made: now(), Version: version(), Report: text.Bytes()}}
	out.files = []book.File{{Path: path, SHA256: one.Input.SHA256}}
	for _, in := range job.Inputs {
		var keep *string
		var from string
		switch in.Side {
		case "open":
			keep, from = &out.part.Open, p.openFile
		case "short":
			keep, from = &out.part.Short, p.shortFile
		case "load":
			keep, from = &out.part.Load, p.load.path
			out.part.LoadValue, _, _ = strings.Cut(p.load.text, "=")
		default:
			continue
		}
		*keep = in.SHA256
		out.files = append(out.files, book.File{Path: from, SHA256: in.SHA256})
	}
	if p.kind != noKind {
		out.part.Kind = p.kind.String()
	}
	if p.nominal != "" {
		out.part.Tolerance = p.tolerance.value.Text
	}
	if r.Judged {
		out.part.Verdict = r.Verdict.String()
	}
	out.says = wording.Part(one.Found)
	switch {
	case p.wanted.Other(one.Found.Kind):
		out.says = verdictWords(out.part.Verdict) + ": " + wording.OtherPart(one.Found, p.wanted)
	case r.Judged:
		out.says = verdictWords(out.part.Verdict) + ": " + out.says
	}
	return out, nil
}

// partsAnew computes the parts of a stage from their raw files, as they replace what the book has.
func partsAnew(b *book.Book, at book.Ref, s book.Stage, bench *benchOptions) (anew book.Addition, err error) {
	own, err := bench.at(b, s)
	if err != nil {
		return anew, err
	}
	anew = book.Addition{Ref: at}
	if err := own.into(&anew); err != nil {
		return anew, err
	}
	var p *partOptions
	for i, q := range s.Parts {
		if i == 0 || !q.SameKnown(s.Parts[i-1]) {
			if p, err = partsLike(b, q, own); err != nil {
				return anew, fmt.Errorf("%s: %w", q.Label(), err)
			}
			defer p.close()
		}
		one, err := p.anew(b, q)
		if err != nil {
			return anew, fmt.Errorf("%s: %w", q.Label(), err)
		}
		anew.Parts = append(anew.Parts, book.NewPart{Part: one})
	}
	return anew, nil
}

// partsLike reads the known things of a part in the book, for it and others that were measured with the same; the caller closes them.
func partsLike(b *book.Book, q book.Part, bench *benchOptions) (*partOptions, error) {
	known, shown, err := partKnown{}.empty().over(b, q)
	if err != nil {
		return nil, err
	}
	p := &partOptions{partKnown: known, bench: *bench, shown: shown}
	if err := p.prepare(); err != nil {
		p.close()
		return nil, err
	}
	return p, nil
}

// anew computes one part from its raw file.
func (p *partOptions) anew(b *book.Book, q book.Part) (book.Part, error) {
	said := partKnown{}.empty()
	p.nominal, p.tolerance = q.Nominal, said.tolerance
	if q.Tolerance != "" {
		if err := p.tolerance.Set(q.Tolerance); err != nil {
			return book.Part{}, err
		}
	}
	if err := p.setKind(q.Kind); err != nil {
		return book.Part{}, err
	}
	if err := p.limits(); err != nil {
		return book.Part{}, err
	}
	path, err := b.RawFile(context.Background(), q.SHA256)
	if err != nil {
		return book.Part{}, err
	}
	p.shown[path] = q.Name
	one, err := p.measureForBook(path, q.Name)
	one.part.Operator, one.part.Added = q.Operator, q.Added
	return one.part, err
}

// partsTable lists the parts of a loudspeaker.
func partsTable(d book.Driver) (report.Table, error) {
	t := report.Table{Title: d.Side + ": parts of the network", Columns: []report.Column{{Head: "part"}, {Head: "added"}, {Head: "what"}, {Head: "value", Align: report.Point}, {Head: ""},
		{Head: "loss", Align: report.Point}, {Head: ""}, {Head: "should be"}, {Head: "verdict"}}}
	for _, p := range d.Parts() {
		kept, err := report.ReadPart(p.Report)
		if err != nil {
			return t, err
		}
		t.Rows = append(t.Rows, report.Row{Cells: append(append([]string{p.Label(), dateOf(p.Added)}, kept.Cells()...), shouldBe(p), verdictWords(p.Verdict))})
	}
	return t, nil
}

// shouldBe is what a part should be; empty where it was not said.
func shouldBe(p book.Part) string {
	if p.Nominal == "" {
		return ""
	}
	return p.Nominal + ", " + p.Tolerance
}
