// Package datatable writes tables for other programs, row by row: as CSV or as Parquet. Numbers keep
// their full precision; nothing is rounded.
package datatable

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"conewright/cmd/internal/printable"
)

// Column is a column of numbers or of texts.
type Column struct {
	Name   string
	Number bool
}

// Cell is what stands in one place: in a column of numbers Number, which is not known where it is not
// finite, otherwise Text.
type Cell struct {
	Text   string
	Number float64
}

// Text and Number are cells.
func Text(s string) Cell    { return Cell{Text: s} }
func Number(v float64) Cell { return Cell{Number: v} }

// Missing is a number that is not known.
var Missing = Cell{Number: math.NaN()}

func (c Cell) known() bool { return !math.IsNaN(c.Number) && !math.IsInf(c.Number, 0) }

// A Writer takes the rows of a table. What was written is whole only after Close, which does not close
// what is written to.
type Writer interface {
	Row(cells []Cell) error
	Close() error
}

// csvWriter writes each row at once, so that whoever follows the file sees it.
type csvWriter struct {
	out     *csv.Writer
	columns []Column
}

// NewCSV writes the head of a table; a number that is not known is an empty field, and a text, also the name of a
// column, that a spreadsheet would take for a formula gets a ' in front.
func NewCSV(w io.Writer, columns []Column) (Writer, error) {
	c := csvWriter{csv.NewWriter(w), columns}
	var head []string
	for _, column := range columns {
		head = append(head, printable.Cell(column.Name))
	}
	return c, c.write(head)
}

// Row writes a row.
func (c csvWriter) Row(cells []Cell) error {
	row := make([]string, len(cells))
	for i, cell := range cells {
		switch {
		case !c.columns[i].Number:
			row[i] = printable.Cell(cell.Text)
		case cell.known():
			row[i] = strconv.FormatFloat(cell.Number, 'g', -1, 64)
		}
	}
	return c.write(row)
}

func (c csvWriter) write(row []string) error {
	if err := c.out.Write(row); err != nil {
		return err
	}
	c.out.Flush()
	return c.out.Error()
}

// Close has nothing left to do.
func (c csvWriter) Close() error { return nil }
