package dayfiles

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"hash"
	"io"
	"iter"
	"math"
	"os"
	"path/filepath"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/datatable"
	"conewright/cmd/internal/savefile"
)

// sumNote is under what name a file has the checksum of its rows, rowsForm what they are in.
const sumNote, rowsForm = "conewright.rows_sha256", "conewright/units/1"

// State is what became of a file.
type State int

// The states.
const (
	Same    State = iota // as it was
	New                  // written for the first time
	Changed              // written anew: the book has other results than the file had
	Gone                 // left as it is, though the book has no result of that day and station any more
)

// Written is one file and what became of it.
type Written struct {
	Part
	Units int
	State State
}

// errSame ends the writing of a file that would be as the one that is there.
var errSame = errors.New("as it was")

// Write writes the files of units, which come day by day and in a day station by station; those that
// d wants are compared with the files that are there. It keeps one row in memory, and tells said of each
// file. A file of another origin is not replaced.
func Write(folder string, d book.Days, units iter.Seq2[book.Measured, error], said func(Written) error) error {
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return err
	}
	there, err := Parts(folder, d)
	if err != nil {
		return err
	}
	gone := map[Part]bool{}
	for _, p := range there {
		gone[p] = true
	}
	next, stop := iter.Pull2(units)
	defer stop()
	rows := &source{next: next}
	rows.step()
	for rows.more() {
		part := partOf(folder, rows.unit.Day, rows.unit.Station)
		delete(gone, part)
		w, err := part.write(rows)
		if err != nil {
			return err
		}
		if err := said(w); err != nil {
			return err
		}
	}
	if rows.err != nil {
		return rows.err
	}
	for _, p := range there {
		if gone[p] {
			if err := said(Written{Part: p, State: Gone}); err != nil {
				return err
			}
		}
	}
	return nil
}

// source are units of which one is looked at.
type source struct {
	next func() (book.Measured, error, bool)
	unit book.Measured
	ok   bool
	err  error
}

func (s *source) step()      { s.unit, s.err, s.ok = s.next() }
func (s *source) more() bool { return s.ok && s.err == nil }

// write writes the file of the day and station of the next unit, unless it would be as it is.
func (p Part) write(rows *source) (Written, error) {
	w := Written{Part: p, State: New}
	before, err := p.sum()
	if err != nil {
		return w, err
	}
	if before != "" {
		w.State = Changed
	}
	if err := os.MkdirAll(filepath.Dir(p.path), 0o777); err != nil {
		return w, err
	}
	err = savefile.Write(p.path, before != "", func(out io.WriteSeeker) error {
		table := datatable.NewParquet(out, "units", columns())
		sum := sha256.New()
		io.WriteString(sum, rowsForm)
		for ; rows.more() && rows.unit.Day == p.Day && rows.unit.Station == p.Station; rows.step() {
			row := cells(rows.unit)
			add(sum, row)
			if err := table.Row(row); err != nil {
				return err
			}
			w.Units++
		}
		if rows.err != nil {
			return rows.err
		}
		now := hex.EncodeToString(sum.Sum(nil))
		if now == before {
			return errSame
		}
		table.Note(sumNote, now)
		return table.Close()
	})
	if errors.Is(err, errSame) {
		w.State, err = Same, nil
	}
	return w, err
}

// cells are the cells of a unit in the order of columns.
func cells(u book.Measured) []datatable.Cell {
	ref := u.Ref
	ref.Stage = ""
	var row []datatable.Cell
	for _, text := range []string{ref.String(), u.Ref.Stage, u.Type, u.Serial, u.At, u.Verdict} {
		row = append(row, datatable.Text(text))
	}
	for _, v := range u.Values {
		row = append(row, datatable.Number(v.Value), datatable.Number(v.Std))
	}
	return row
}

// add adds a row to a checksum.
func add(sum hash.Hash, row []datatable.Cell) {
	var line []byte
	for _, c := range row {
		line = binary.AppendUvarint(line, uint64(len(c.Text)))
		line = append(line, c.Text...)
		line = binary.LittleEndian.AppendUint64(line, math.Float64bits(c.Number))
	}
	sum.Write(line)
}
