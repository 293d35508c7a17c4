package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"

	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/sweeps"
	"conewright/ts/measured"
)

// openFile is one file of a driver, open.
type openFile struct {
	*infile.File
	loadFile
	saved bool // it is a fit that was saved as JSON
}

// openFiles are the files of one driver in one condition.
type openFiles []openFile

// openAll opens files; the caller closes them.
func openAll(files []loadFile) (openFiles, error) {
	var all openFiles
	for _, f := range files {
		file, err := infile.Open(f.place())
		if err != nil {
			return nil, errors.Join(err, all.close())
		}
		all = append(all, openFile{File: file, loadFile: f})
		head, err := file.Head(4096)
		if err != nil {
			return nil, errors.Join(err, all.close())
		}
		all[len(all)-1].saved = saved.Is(head)
	}
	return all, nil
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
		list = append(list, saved.Input{Path: f.path, SHA256: f.SHA256(), Side: side, Load: f.load, Saved: f.saved})
	}
	return list
}

// sweeps reads the sweeps of the files.
func (all openFiles) sweeps(opt sweeps.Options) ([]measured.Sweep, error) {
	var list []measured.Sweep
	for i, f := range all {
		for _, earlier := range all[:i] {
			if earlier.SHA256() == f.SHA256() {
				return nil, wrongUse("name each recording once; a repeat, or a sweep with another load, is a new recording", "%s and %s hold the same data", earlier.path, f.path)
			}
		}
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
		if !f.saved {
			continue
		}
		if len(all) > 1 {
			return nil, wrongUse("name it alone, or name the sweeps that it was made of", "%s is a saved fit and cannot be joined with other files", f.path)
		}
		data, err := f.Bytes(mostSaved)
		if err != nil {
			return nil, err
		}
		old, err := saved.Read(data, f.path)
		if err != nil {
			return nil, err
		}
		return &report.Side{Label: label, Parameters: old.Parameters, Bench: old.Bench, Noticed: old.Warnings, Friction: old.Friction}, nil
	}
	return nil, nil
}

// hashOf returns the SHA-256 of data in hexadecimal.
func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
