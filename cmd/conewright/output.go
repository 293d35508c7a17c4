package main

import (
	"errors"
	"fmt"
	"io"
	"time"

	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/printable"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/wording"
	"conewright/ts/notice"

	"github.com/spf13/pflag"
)

// outputOptions say in which form the result is wanted and where.
type outputOptions struct {
	json, csv  bool
	all        bool
	file, html string
	force      bool
	targets    []string // every file that is written; set by finish
}

func (o *outputOptions) define(g *optionGroups) {
	fs := g.group("Output")
	fs.BoolVar(&o.json, "json", false, "write JSON instead of text: SI units, full precision")
	fs.BoolVar(&o.csv, "csv", false, "write CSV instead of text: SI units, full precision")
	fs.BoolVar(&o.all, "all", false, "show every quantity in text and sheet, not only the usual ones")
	fs.StringVar(&o.html, "report", "", "also write a sheet with plots, for the screen or on paper, to this HTML `FILE`")
	o.defineFile(fs, "write the result to this `FILE` instead of the screen")
}

// defineFile defines the options of every command that writes a file.
func (o *outputOptions) defineFile(fs *pflag.FlagSet, usage string) {
	fs.StringVarP(&o.file, "output", "o", "", usage)
	fs.BoolVar(&o.force, "force", false, "replace files that exist")
}

// finish checks the options, and that no file is in the way, before any work
// is done.
func (o *outputOptions) finish() error {
	if o.json && o.csv {
		return wrongUse("give one of the two", "both --json and --csv are given")
	}
	o.targets = []string{o.file, o.html}
	for _, path := range o.targets {
		if path == "" {
			continue
		}
		if err := checkTarget(path, o.force); err != nil {
			return err
		}
	}
	return nil
}

// spare refuses to replace what is read, sweeps and others, whatever --force says.
func (o *outputOptions) spare(sweeps []loadFile, others ...inputs.File) error {
	var files []inputs.File
	for _, f := range sweeps {
		files = append(files, inputs.File{Path: f.place()})
	}
	return inputs.Spare(append(files, others...), o.targets...)
}

// write renders the report to where it is wanted.
func (o *outputOptions) write(c *console, r *report.Report) error {
	render := report.Text
	switch {
	case o.json:
		render = report.JSON
	case o.csv:
		render = report.CSV
	}
	if err := o.writeAs(c, func(w io.Writer) error { return render(w, r) }); err != nil {
		return err
	}
	if o.csv {
		for _, n := range r.Warnings {
			fmt.Fprintln(c.err, "note:", n.Message)
		}
	}
	return o.writeSheet(r)
}

// writeSheet writes the HTML sheet, if one is wanted.
func (o *outputOptions) writeSheet(r *report.Report) error {
	if o.html == "" {
		return nil
	}
	r.Made = time.Now()
	return writeFile(o.html, o.force, func(w io.WriteSeeker) error { return report.WriteHTML(w, r) })
}

// writeAs writes a result to the file that was named, or to the screen.
func (o *outputOptions) writeAs(c *console, render func(io.Writer) error) error {
	if o.file == "" {
		return render(c.out)
	}
	return writeFile(o.file, o.force, func(w io.WriteSeeker) error { return render(printable.NewWriter(w)) })
}

// checkTarget refuses a file that must not or cannot be written.
func checkTarget(path string, force bool) error { return placed(savefile.Check(path, force)) }

// writeFile writes a file as a whole or not at all.
func writeFile(path string, force bool, write func(w io.WriteSeeker) error) error {
	return placed(savefile.Write(path, force, write))
}

// placed makes wrong use of the error for a place where no file can be.
func placed(err error) error {
	var n *notice.Notice
	if errors.As(err, &n) && (n.Code == "save-folder" || n.Code == "save-no-folder") {
		message, hint := wording.Error(err)
		return &usageError{message, hint, err}
	}
	return err
}
