package main

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/notice"
	"conewright/ts/verdict"
)

// Part reads what was typed of a part or of a known thing.
func (w *workshop) Part(p benchjob.Part) error {
	if p.Role == benchjob.Known {
		_, _, err := knownResistor(p.Ohm)
		return err
	}
	_, err := partTyped(p)
	return err
}

// partTyped are the options of a part as it was typed, without the known things.
func partTyped(p benchjob.Part) (partKnown, error) {
	k := partKnown{}.empty()
	if p.Tolerance != "" {
		if err := k.tolerance.Set(p.Tolerance); err != nil {
			return k, &benchpage.FieldError{Field: "tolerance", Err: err}
		}
	}
	if err := k.setKind(p.Kind); err != nil {
		return k, &benchpage.FieldError{Field: "kind", Err: err}
	}
	k.nominal = p.Nominal
	if err := (&partOptions{partKnown: k}).limits(); err != nil {
		return k, &benchpage.FieldError{Field: "nominal", Err: err}
	}
	return k, nil
}

// knownThings are the options of the known things of a job, the last recording of each.
func knownThings(dir string, j benchjob.Job, k partKnown) (partKnown, error) {
	for role, into := range map[benchjob.Role]*string{benchjob.OpenEnds: &k.openFile, benchjob.JoinedEnds: &k.shortFile} {
		if s, ok := j.KnownThing(role); ok {
			*into = filepath.Join(dir, s.File)
		}
	}
	if s, ok := j.KnownThing(benchjob.Known); ok {
		if err := k.load.Set(s.Part.Ohm + "=" + filepath.Join(dir, s.File)); err != nil {
			return k, err
		}
	}
	return k, nil
}

// eachPart measures the parts of a job on a bench, one after the other, with the known things of the job.
func eachPart(dir string, j benchjob.Job, bench *benchOptions, do func(p *partOptions, s benchjob.Sweep, path string) error) error {
	known, err := knownThings(dir, j, partKnown{}.empty())
	if err != nil {
		return err
	}
	p := &partOptions{partKnown: known, bench: *bench, shown: map[string]string{}}
	for _, path := range []string{p.openFile, p.shortFile, p.load.path} {
		p.shown[path] = filepath.Base(path)
	}
	defer p.close()
	if err := p.prepare(); err != nil {
		return err
	}
	for _, s := range j.UsedParts() {
		typed, err := partTyped(s.Part)
		if err != nil {
			return err
		}
		p.nominal, p.tolerance, p.kind = typed.nominal, typed.tolerance, typed.kind
		if err := p.limits(); err != nil {
			return err
		}
		path := filepath.Join(dir, s.File)
		p.shown[path] = s.File
		if err := do(p, s, path); err != nil {
			return err
		}
	}
	return nil
}

// measuredParts are the parts of a job as they were measured, and which of them are pairs.
type measuredParts struct {
	parts  []partForBook
	names  []string
	drawer report.Drawer
	with   *partOptions // nil: there is no part
}

// measureParts measures the parts of a job; done is told of each, also of one that cannot be measured.
func (w *workshop) measureParts(dir string, j benchjob.Job, done func(s benchjob.Sweep, one partForBook, err error)) (m measuredParts, err error) {
	if len(j.UsedParts()) == 0 {
		return m, nil
	}
	bench, err := w.options(j.Typed)
	if err != nil {
		return m, err
	}
	err = eachPart(dir, j, bench, func(p *partOptions, s benchjob.Sweep, path string) error {
		m.with = p
		one, err := p.measureForBook(path, s.File)
		if err == nil {
			m.parts, m.names = append(m.parts, one), append(m.names, s.Part.Name)
		}
		done(s, one, err)
		return nil
	})
	if err != nil {
		return m, err
	}
	m.with.within.value.SI = usualWithin
	return m, m.with.match(m.sides(), &m.drawer)
}

func (m measuredParts) sides() []report.PartSide {
	var list []report.PartSide
	for _, one := range m.parts {
		list = append(list, one.side)
	}
	return list
}

// pairs says which parts are pairs.
func (m measuredParts) pairs() []string {
	var list []string
	for _, q := range m.drawer.Pairs {
		c := q.Paired.Deciding()
		list = append(list, fmt.Sprintf("%s and %s are a pair: the second is %.2f %% of the first (95 %%: %.2f to %.2f), and may differ by %.3g %%.", m.names[q.A], m.names[q.B], 100+c.Percent, 100+c.Low, 100+c.High, 100*usualWithin))
	}
	return list
}

// Parts says what the recordings of parts say, and which of them are pairs.
func (w *workshop) Parts(dir string, j benchjob.Job) (found benchpage.PartsFound, err error) {
	m, err := w.measureParts(dir, j, func(s benchjob.Sweep, one partForBook, err error) {
		line := benchpage.PartLine{Name: s.Part.Name, Should: s.Part.Nominal}
		if err != nil { // this one only
			message, hint := wording.Error(err)
			line.Verdict, line.Mark = message+"; "+hint, "open"
			found.Lines = append(found.Lines, line)
			return
		}
		line.Should = shouldBe(one.part)
		line.What, line.Value, line.Loss = report.PartWords(one.side.Found)
		line.Verdict = verdictWords(one.part.Verdict)
		line.Mark = [...]string{report.NoMark: "", report.Good: "good", report.Bad: "bad", report.Open: "open"}[markOfWord(one.part.Verdict)]
		found.Lines = append(found.Lines, line)
	})
	if err == nil && m.with != nil {
		found.Notes, found.Pairs = m.with.notes, m.pairs()
	}
	return found, err
}

// PartsAnswer says what all parts say, as a sheet.
func (w *workshop) PartsAnswer(dir string, j benchjob.Job) (*report.Report, string, error) {
	var commands, says, bad []string
	m, err := w.measureParts(dir, j, func(s benchjob.Sweep, one partForBook, err error) {
		if err != nil {
			message, hint := wording.Error(err)
			says = append(says, s.Part.Name+": "+message+"; "+hint+".")
			return
		}
		says = append(says, s.Part.Name+": "+one.says)
		if one.part.Verdict != "" && one.part.Verdict != verdict.InSpec.String() {
			bad = append(bad, s.Part.Name)
		}
		commands = append(commands, partCommandOf(j, s)+w.benchWords(j))
	})
	if err != nil {
		return nil, "", err
	}
	if m.with == nil {
		return nil, "", notice.New("job-parts-first", nil)
	}
	used := slices.Clone(m.with.inputs) // the known things
	for _, side := range m.sides() {
		used = append(used, side.Input)
	}
	r := report.PartBatch(report.Job{Version: version(), Inputs: used}, m.sides(), m.drawer, m.with.settings(), wording.Wanted{})
	r.Body = append(append(says, m.pairs()...), r.Body...)
	r.Headline = "ALL PARTS THAT WERE JUDGED ARE IN SPEC"
	switch {
	case len(bad) > 0:
		r.Headline = "NOT IN SPEC: " + wording.List(bad)
	case !r.Judged:
		r.Headline = "Measured; no nominal value to judge by"
	}
	return r, strings.Join(commands, " && "), nil
}

// partCommandOf is what gives the same of one part on the command line, in the folder of the job.
func partCommandOf(j benchjob.Job, s benchjob.Sweep) string {
	text := "conewright part " + quoted(s.File)
	for _, role := range []benchjob.Role{benchjob.OpenEnds, benchjob.JoinedEnds, benchjob.Known} {
		known, ok := j.KnownThing(role)
		switch {
		case !ok:
		case role == benchjob.Known:
			text += " --load " + quoted(known.Part.Ohm+"="+known.File)
		default:
			text += " --" + string(role) + " " + quoted(known.File)
		}
	}
	for _, o := range [][2]string{{"--nominal", s.Part.Nominal}, {"--tolerance", s.Part.Tolerance}, {"--kind", s.Part.Kind}} {
		if o[1] != "" {
			text += " " + o[0] + " " + quoted(o[1])
		}
	}
	return text
}

// usualWithin is how much the two of a pair may differ where it is not said.
const usualWithin = 0.02

// virtualPart puts a part, or a known thing, onto the virtual bench: by its name an old capacitor, a coil or a resistor, else a new
// capacitor.
func (w *workshop) virtualPart(p benchjob.Part) demoPart {
	name := strings.ToLower(p.Name)
	file := "c1-new.wav"
	switch {
	case p.Role != benchjob.OnePart:
		file = string(p.Role) + ".wav"
	case strings.Contains(name, "old"):
		file = "c1-old.wav"
	case strings.HasPrefix(name, "l"):
		file = "l1-left.wav"
	case strings.HasPrefix(name, "r"):
		file = "r1.wav"
	case w.swept%2 == 0:
		file = "c1-new-b.wav"
	}
	i := slices.IndexFunc(drawerParts, func(d demoPart) bool { return d.file == file })
	return drawerParts[i]
}

// addPageParts adds the parts of a folder of the page that the driver in the book does not have, or has with another nominal value, and
// returns how many. The bench of the first addition holds for all.
func (w *workshop) addPageParts(ctx context.Context, b *book.Book, ref book.Ref, dir string, j benchjob.Job, have book.Driver) (int, error) {
	if len(j.UsedParts()) == 0 {
		return 0, nil
	}
	bench, err := w.options(j.Typed)
	if s, ok := have.Stage(book.Parts); ok {
		bench, err = noBench().at(b, s)
	}
	if err != nil {
		return 0, err
	}
	add := book.Addition{Ref: ref}
	add.Ref.Stage = book.Parts
	err = eachPart(dir, j, bench, func(p *partOptions, s benchjob.Sweep, path string) error {
		one, err := p.measureForBook(path, s.File)
		if err != nil {
			return fmt.Errorf("%s: %w", s.File, err)
		}
		one.part.Operator, one.part.Added, one.part.Name = userName(), now(), s.Part.Name+filepath.Ext(s.File)
		if !slices.ContainsFunc(have.Parts(), func(q book.Part) bool {
			return q.SHA256 == one.part.SHA256 && q.Nominal == one.part.Nominal && q.Tolerance == one.part.Tolerance && q.Kind == one.part.Kind && q.SameKnown(one.part)
		}) {
			add.Parts = append(add.Parts, one.kept())
		}
		return nil
	})
	if err != nil || len(add.Parts) == 0 {
		return 0, err
	}
	if err := bench.into(&add); err != nil {
		return 0, err
	}
	return len(add.Parts), b.Add(ctx, add)
}

// partsWords counts parts.
func partsWords(n int) string {
	return fmt.Sprintf("%d %s", n, cmp.Or(map[int]string{1: "part"}[n], "parts"))
}
