package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/settings"
	"conewright/ts/notice"
	"conewright/ts/repeat"

	"github.com/spf13/pflag"
)

// sideFiles are the files of one driver in one condition, and the bench at which they
// were measured.
type sideFiles struct {
	files []loadFile
	bench *benchOptions
	// Of a driver from the book.
	ref       book.Ref
	sheet     book.File // the spec sheet that it is held against; empty: none
	sheetName string
}

// pick chooses the stage that is meant where none is named.
type pick func(book.Driver) (book.Stage, bool)

// isRef says whether the files are a reference to the book.
func isRef(files []loadFile) bool {
	return slices.ContainsFunc(files, func(f loadFile) bool { return book.IsRef(f.path) })
}

// side returns the files as they are or, if they are a reference to the book, those of the
// stage with the bench of the stage; bench options of the command line come before it. The
// options must be finished.
func (b *benchOptions) side(files []loadFile, choose pick) (sideFiles, error) {
	found, err := b.anySide(files, choose)
	if err == nil && book.IsInCabinet(found.ref.Stage) {
		return found, inCabinetNotFree(found.ref)
	}
	return found, err
}

// inCabinetNotFree is the error for a stage in the cabinet in the place of one in free air.
func inCabinetNotFree(ref book.Ref) error {
	return wrongUse(fmt.Sprintf("conewright cabinet %s --driver job:%d/%s", ref, ref.Job, ref.Side), "at %s the driver is in its cabinet, and this is about a driver in free air", ref)
}

// anySide is [benchOptions.side] for stages in the cabinet too.
func (b *benchOptions) anySide(files []loadFile, choose pick) (sideFiles, error) {
	if !isRef(files) {
		return sideFiles{files: files, bench: b}, nil
	}
	if len(files) > 1 {
		return sideFiles{}, wrongUse("name it alone, or name files; conewright job add puts more sweeps into a job", "%s stands for all sweeps of its stage", files[0].path)
	}
	ref, err := book.ParseRef(files[0].path)
	if err != nil {
		return sideFiles{}, err
	}
	kept, job, err := b.lookUp(ref.Job)
	if err != nil {
		return sideFiles{}, err
	}
	defer kept.Close()
	return b.sideOf(kept, job, ref, choose)
}

// lookUp opens the book and reads a job; the caller closes the book.
func (b *benchOptions) lookUp(number int) (*book.Book, book.Job, error) {
	kept, err := openBook(b.book, true)
	if err != nil {
		return nil, book.Job{}, err
	}
	job, err := kept.Job(context.Background(), number)
	if err != nil {
		kept.Close()
		return nil, book.Job{}, err
	}
	return kept, job, nil
}

// sideOf is a stage of a driver as files.
func (b *benchOptions) sideOf(kept *book.Book, job book.Job, ref book.Ref, choose pick) (sideFiles, error) {
	if ref.Side == "" {
		if len(job.Drivers) != 1 {
			return sideFiles{}, notice.New("book-which-driver", notice.Facts{"ref": ref.String(), "drivers": len(job.Drivers)})
		}
		ref.Side = job.Drivers[0].Side
	}
	d, ok := job.Driver(ref.Side)
	if !ok {
		return sideFiles{}, missingRef(ref)
	}
	s, ok := d.Stage(ref.Stage)
	if ref.Stage == "" {
		s, ok = choose(d)
	}
	if len(s.Parts) > 0 {
		return sideFiles{}, wrongUse(fmt.Sprintf("conewright job show job:%d lists them", ref.Job), "%s has parts of the network and no sweep of a driver", ref)
	}
	if !ok || len(s.Sweeps) == 0 {
		return sideFiles{}, missingRef(ref)
	}
	ref.Stage = s.Name
	own, err := b.at(kept, s)
	if err != nil {
		return sideFiles{}, err
	}
	found := sideFiles{files: stageFiles(kept, s, nil), bench: own, ref: ref}
	if d.Sheet != "" {
		found.sheet = book.File{SHA256: d.Sheet}
		found.sheetName = d.SheetName
		found.sheet.Path, err = kept.RawFile(context.Background(), d.Sheet)
	}
	return found, err
}

// keptSweep is a sweep of the book as a file, which is fetched when it is opened.
func keptSweep(kept *book.Book, shown string, w book.Sweep) loadFile {
	return loadFile{path: shown, load: withPlacing(w.Load), stored: kept.RawPath(w.SHA256), sha256: w.SHA256,
		fetch: func() error { return kept.Fetch(context.Background(), w.SHA256) }}
}

// calibrationOption is kept apart from the other bench options: it names a file.
const calibrationOption = "calibration"

// at returns the bench of a stage, under the options of the command line.
func (b *benchOptions) at(kept *book.Book, s book.Stage) (*benchOptions, error) {
	own := &benchOptions{book: b.book}
	own.define(newOptionGroups(""))
	var repeats *repeat.Bench // as the bench file of the stage had it
	for _, set := range s.Bench {
		if set.Name == repeatabilitySetting {
			repeats = new(repeat.Bench)
			if err := json.Unmarshal([]byte(set.Value), repeats); err != nil {
				return nil, fmt.Errorf("%s: the repeatability of the stage %s: %w", kept.Name(), s.Name, err)
			}
			continue
		}
		if own.options.Lookup(set.Name) == nil {
			return nil, settings.Place{File: kept.Name()}.Errorf("use the version of the program that added it", "the bench option %q of the stage %s is unknown", set.Name, s.Name)
		}
		if err := own.options.Set(set.Name, set.Value); err != nil {
			return nil, err
		}
	}
	var err error
	if s.Calibration != "" {
		if own.calibrated, err = kept.RawFile(context.Background(), s.Calibration); err != nil {
			return nil, err
		}
	}
	b.options.VisitAll(func(f *pflag.Flag) {
		if err == nil && f.Changed {
			err = own.options.Set(f.Name, f.Value.String())
		}
	})
	if err != nil {
		return nil, err
	}
	if err := own.finish(); err != nil {
		return nil, err
	}
	switch {
	case b.file != "":
		own.repeat = b.repeat
	case repeats != nil:
		own.repeat = *repeats
	}
	return own, nil
}

// repeatabilitySetting is no option: a record has it in words, the book in full.
const repeatabilitySetting = "repeatability"

// recordForBook is the record of the bench without what the book keeps as a file, from which
// the bench can be had again.
func (b *benchOptions) recordForBook() (saved.Settings, error) {
	list := slices.DeleteFunc(b.record(), func(s saved.Setting) bool { return s.Name == calibrationOption })
	for i := range list {
		if list[i].Name == repeatabilitySetting {
			whole, err := json.Marshal(b.repeat)
			if err != nil {
				return nil, err
			}
			list[i].Value = string(whole)
		}
	}
	return list, nil
}

// noBench are bench options of which none is given.
func noBench() *benchOptions {
	b := new(benchOptions)
	b.define(newOptionGroups(""))
	return b
}

// into puts the bench and its calibration into an addition.
func (b *benchOptions) into(a *book.Addition) (err error) {
	if a.Calibration, err = calibrationFile(b); err != nil {
		return err
	}
	a.Bench, err = b.recordForBook()
	return err
}

// openBook opens the book in a folder or on a server, or the usual one.
func openBook(named string, mustExist bool) (*book.Book, error) {
	place, err := book.Place(named)
	if err != nil {
		return nil, err
	}
	if mustExist {
		return book.OpenExisting(context.Background(), place)
	}
	return book.Open(context.Background(), place)
}

// orOf makes the sheet of a driver in the book the one that is used, if none was named.
func (s *specOption) orOf(side sideFiles) {
	if s.path == "" {
		s.path, s.shown = side.sheet.Path, side.sheetName
	}
}

// repairSide is one of the conditions that a comparison needs.
type repairSide struct {
	sideFiles
	label string
}

// repair finds the files before and after a repair, and those of the stripped driver where
// there are some: named, or a stage of the driver in the book whose repair is compared.
func (b *benchOptions) repair(before, after, stripped []loadFile) ([]repairSide, error) {
	from, err := b.side(before, book.Driver.Before)
	if err != nil {
		return nil, err
	}
	to, err := b.side(after, book.Driver.After)
	if err != nil {
		return nil, err
	}
	if from.ref.Job != 0 && from.ref == to.ref {
		return nil, wrongUse("add the sweeps after the repair to a stage of their own: conewright job add job:12/left/new-surround FILE", "%s has only one stage to compare", from.ref)
	}
	sides := []repairSide{{from, "before"}, {to, "after"}}
	if len(stripped) == 0 && from.ref.Job != 0 && from.ref.Job == to.ref.Job && from.ref.Side == to.ref.Side {
		if stripped, err = b.strippedOf(from.ref); err != nil {
			return nil, err
		}
	}
	if len(stripped) > 0 {
		bare, err := b.side(stripped, book.Driver.After)
		if err != nil {
			return nil, err
		}
		sides = append(sides, repairSide{bare, "stripped"})
	}
	return sides, nil
}

// strippedOf refers to the stage of a driver without its surround, if there is one.
func (b *benchOptions) strippedOf(ref book.Ref) ([]loadFile, error) {
	kept, job, err := b.lookUp(ref.Job)
	if err != nil {
		return nil, err
	}
	defer kept.Close()
	d, _ := job.Driver(ref.Side)
	if _, ok := d.Stage(book.Stripped); !ok {
		return nil, nil
	}
	ref.Stage = book.Stripped
	return freeFiles([]string{ref.String()}), nil
}

// bothSides refers to the two drivers of a job.
func (b *benchOptions) bothSides(text string) ([]string, error) {
	ref, err := book.ParseRef(text)
	if err != nil {
		return nil, err
	}
	kept, job, err := b.lookUp(ref.Job)
	if err != nil {
		return nil, err
	}
	defer kept.Close()
	if len(job.Drivers) != 2 || ref.Side != "" {
		return nil, wrongUse("name the two: conewright pair job:12/left job:12/right", "%s is not a job with two drivers", text)
	}
	return []string{ref.String() + "/" + job.Drivers[0].Side, ref.String() + "/" + job.Drivers[1].Side}, nil
}

// bookUnits makes a unit of each driver of the jobs that are named, or of a single driver,
// at its last complete stage. They are judged by the sheet of the first of them unless
// another is named.
func (b *benchOptions) bookUnits(args []string, sheet *specOption) ([]unit, error) {
	var units []unit
	benches := map[string]*benchOptions{} // one for all units that were measured alike
	for _, arg := range args {
		if !book.IsRef(arg) {
			return nil, wrongUse("name jobs only, or files only", "%s is no job, and others here are", arg)
		}
		ref, err := book.ParseRef(arg)
		if err != nil {
			return nil, err
		}
		kept, job, err := b.lookUp(ref.Job)
		if err != nil {
			return nil, err
		}
		defer kept.Close()
		found := 0
		for _, d := range job.Drivers {
			if ref.Side != "" && d.Side != ref.Side {
				continue
			}
			s, ok := d.After()
			if ref.Stage != "" {
				s, ok = d.Stage(ref.Stage)
			}
			if !ok || len(s.Sweeps) == 0 {
				continue
			}
			if at := (book.Ref{Job: ref.Job, Side: d.Side, Stage: s.Name}); book.IsInCabinet(s.Name) {
				return nil, inCabinetNotFree(at)
			}
			found++
			key := fmt.Sprint(s.Bench, s.Calibration)
			if benches[key] == nil {
				if benches[key], err = b.at(kept, s); err != nil {
					return nil, err
				}
			}
			if sheet.path == "" && d.Sheet != "" {
				sheet.shown = d.SheetName
				if sheet.path, err = kept.RawFile(context.Background(), d.Sheet); err != nil {
					return nil, err
				}
			}
			units = append(units, unit{name: book.Ref{Job: ref.Job, Side: d.Side}.String(), files: stageFiles(kept, s, nil), bench: benches[key],
				about: serialOf(d)})
		}
		if found == 0 {
			return nil, missingRef(ref)
		}
	}
	return units, nil
}

// serialOf is what a list of units says of a driver in the book.
func serialOf(d book.Driver) saved.Settings {
	if d.Serial == "" {
		return nil
	}
	return saved.Settings{{Name: "serial", Value: d.Serial}}
}
