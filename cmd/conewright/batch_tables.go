package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/datatable"
	"conewright/cmd/internal/report"
)

// lotTables are the tables of a lot for other programs, each as CSV and as Parquet.
type lotTables struct {
	folder string // empty: none are wanted
	force  bool
}

// tableNames are the names of the files without their endings.
var tableNames = []string{"units", "pairs", "summary"}

const csvEnding, parquetEnding = ".csv", ".parquet"

// finish checks that no file is in the way, and adds the files to those that are written. The folder is
// made when they are.
func (t *lotTables) finish(out *outputOptions) error {
	if t.folder == "" {
		return nil
	}
	t.force = out.force
	switch info, err := os.Stat(t.folder); {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case !info.IsDir():
		return wrongUse("name a folder for the tables, one that is there or a new one", "%s is no folder", t.folder)
	}
	for _, name := range tableNames {
		for _, ending := range []string{csvEnding, parquetEnding} {
			path := t.path(name, ending)
			if err := checkTarget(path, t.force); err != nil {
				return err
			}
			out.targets = append(out.targets, path)
		}
	}
	return nil
}

func (t *lotTables) path(name, ending string) string { return filepath.Join(t.folder, name+ending) }

// noLines is what units are written to where no table is wanted.
type noLines struct{}

func (noLines) Head() error              { return nil }
func (noLines) Unit(u *batch.Unit) error { return nil }

// withUnits lets work write the units of the lot to their tables.
func (t *lotTables) withUnits(about []string, work func(table report.Lines) error) error {
	if t.folder == "" {
		return work(noLines{})
	}
	return t.write("units", report.UnitColumns(about), func(w datatable.Writer) error { return work(report.NewTableLines(w, about)) })
}

// writeLot writes pairs and summary.
func (t *lotTables) writeLot(r *report.Report) error {
	if t.folder == "" {
		return nil
	}
	err := t.write("pairs", report.PairColumns, func(w datatable.Writer) error { return r.Lot.EachPair(w.Row) })
	if err != nil {
		return err
	}
	return t.write("summary", report.SummaryColumns, func(w datatable.Writer) error { return r.EachFigure(w.Row) })
}

// write writes one table in both forms.
func (t *lotTables) write(name string, columns []datatable.Column, fill func(datatable.Writer) error) error {
	if err := os.MkdirAll(t.folder, 0o777); err != nil {
		return err
	}
	return writeFile(t.path(name, csvEnding), t.force, func(w io.WriteSeeker) error {
		return writeFile(t.path(name, parquetEnding), t.force, func(p io.WriteSeeker) error {
			text, err := datatable.NewCSV(w, columns)
			if err != nil {
				return err
			}
			both := bothTables{text, datatable.NewParquet(p, name, columns)}
			if err := fill(both); err != nil {
				return err
			}
			return both.Close()
		})
	})
}

// bothTables takes each row twice.
type bothTables [2]datatable.Writer

// Row writes a row to both.
func (b bothTables) Row(cells []datatable.Cell) error {
	return errors.Join(b[0].Row(cells), b[1].Row(cells))
}

// Close closes both.
func (b bothTables) Close() error { return errors.Join(b[0].Close(), b[1].Close()) }
