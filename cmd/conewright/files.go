package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"

	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/sweeps"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// openFile is one file of a driver, open.
type openFile struct {
	*infile.File
	loadFile
	old *saved.Fit // of a fit that was saved as JSON, nil of a sweep
}

// openFiles are the files of one driver in one condition.
type openFiles []openFile

// openAll opens files that stand for one side or unit; the caller closes them. It refuses
// data that were seen before; nil: there is nothing else.
func openAll(files []loadFile, label string, seen *inputs.Contents) (openFiles, error) {
	if seen == nil {
		seen = &inputs.Contents{}
	}
	var all openFiles
	for _, f := range files {
		file, err := f.open()
		if err != nil {
			return nil, errors.Join(err, all.close())
		}
		all = append(all, openFile{File: file, loadFile: f})
		last := &all[len(all)-1]
		if last.old, err = readSaved(file); err != nil {
			return nil, errors.Join(err, all.close())
		}
		role := label
		if role == "" && f.stored != "" {
			role = "in the book"
		}
		if err := seen.Add(inputs.File{Path: f.path, Role: role, Content: last.input("").Content()}); err != nil {
			return nil, errors.Join(err, all.close())
		}
	}
	return all, nil
}

// open fetches the file, if it must be, and opens it; one that the book keeps must be as it was when it was added.
func (f loadFile) open() (*infile.File, error) {
	if f.fetch != nil {
		if err := f.fetch(); err != nil {
			return nil, err
		}
	}
	file, err := infile.Open(f.place())
	switch {
	case f.sha256 == "":
		return file, err
	case errors.Is(err, fs.ErrNotExist):
		return nil, notice.New("book-lost-file", notice.Facts{"path": f.stored}).Because(err)
	case err == nil && file.SHA256() != f.sha256:
		return nil, errors.Join(notice.New("book-changed-file", notice.Facts{"path": f.stored}), file.Close())
	}
	return file, err
}

// readSaved reads a fit that was saved as JSON; it returns nil for any other file.
func readSaved(file *infile.File) (*saved.Fit, error) {
	head, err := file.Head(4096)
	if err != nil || !saved.Is(head) {
		return nil, err
	}
	data, err := file.Bytes(mostSaved)
	if err != nil {
		return nil, err
	}
	return saved.Read(data, file.Path())
}

// close closes the files.
func (all openFiles) close() error {
	var errs []error
	for _, f := range all {
		errs = append(errs, f.Close())
	}
	return errors.Join(errs...)
}

// inputs are the files as the report names them.
func (all openFiles) inputs(side string) []saved.Input {
	var list []saved.Input
	for _, f := range all {
		list = append(list, f.input(side))
	}
	return list
}

// input is the file as the report names it.
func (f openFile) input(side string) saved.Input {
	in := saved.Input{Path: f.path, SHA256: f.SHA256(), Side: side, Load: f.load, Saved: f.old != nil}
	if f.old != nil {
		in.MadeOf = f.old.MadeOf
	}
	return in
}

// sweeps reads the sweeps of the files.
func (all openFiles) sweeps(opt sweeps.Options) ([]measured.Sweep, error) {
	var list []measured.Sweep
	for _, f := range all {
		z, err := sweeps.Read(f, f.Size(), f.path, opt)
		if err != nil {
			return nil, err
		}
		list = append(list, measured.Sweep{Impedance: z, Load: f.load})
	}
	return list, nil
}

// mostSaved is the size in bytes up to which a saved fit is read; a usual one has some ten
// thousand.
const mostSaved = 16 << 20

// savedSide returns the side whose one file is a fit that was saved as JSON, nil when
// there is none among the files.
func (all openFiles) savedSide(label string) (*report.Side, error) {
	for _, f := range all {
		if f.old == nil {
			continue
		}
		if len(all) > 1 {
			return nil, wrongUse("name it alone, or name the sweeps that it was made of", "%s is a saved fit and cannot be joined with other files", f.path)
		}
		return &report.Side{Label: label, Parameters: f.old.Parameters, Bench: f.old.Bench, Noticed: f.old.Warnings, Friction: f.old.Friction, Level: f.old.Level}, nil
	}
	return nil, nil
}

// hashOf returns the SHA-256 of data in hexadecimal.
func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
