// Package table reads an impedance from text: tables in many dialects, the
// readings of two voltmeters, and Touchstone one-ports.
package table

import (
	"fmt"
	"slices"
	"strings"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/ts/measured"
)

// Limits of a text file, far above what an instrument writes. They bound the
// memory and the time that a file can cost which only looks like a table.
const (
	MaxTableBytes  = 16 << 20
	maxTableLines  = 1 << 19
	maxLineBytes   = 1 << 16
	maxHeaderBytes = 1 << 12 // of a line that names columns
	maxHeaderLines = 200     // above the first row, in which names are looked for
)

// ReadTable reads a sweep from a text table. The separator, the decimal mark,
// comments and the header are found from the content; what the columns hold is
// said by opt.Columns or by the header. A unit that neither says is taken only
// where the values can be nothing else, and asked for otherwise.
//
// A table of voltmeter readings needs opt.Bench.Resistor (ohm).
func ReadTable(data []byte, source string, opt bench.Options) (measured.Impedance, error) {
	t, err := parseTable(data, source)
	if err != nil {
		return measured.Impedance{}, err
	}
	if err := t.assignColumns(opt.Columns); err != nil {
		return measured.Impedance{}, err
	}
	if err := t.resolveUnits(); err != nil {
		return measured.Impedance{}, err
	}
	points, err := t.points(opt.Bench)
	if err != nil {
		return measured.Impedance{}, err
	}
	return points.impedance()
}

// table is a text table on its way to a sweep.
type table struct {
	source  string
	dialect dialect
	columns int
	header  []string // lines before the first row, without blanks around them
	headAt  []int    // line number of each
	rows    []tableRow
	cols    []column // what each column holds
	headed  int      // line number of the header that named the columns, 0 for none
	unnamed bool     // neither the user nor a header named the columns

	asWritten bool // by WriteTable
}

type tableRow struct {
	line  int // from 1
	cells []cell
}

func (t *table) errorAt(line int, hint, format string, args ...any) error {
	return &fault.SyntaxError{File: t.source, Line: line, Msg: fmt.Sprintf(format, args...), Advice: hint}
}

// parseTable finds the dialect of a text and cuts it into header and rows.
func parseTable(data []byte, source string) (*table, error) {
	lines, err := textLines(data, source)
	if err != nil {
		return nil, err
	}
	d, columns, ok := detect(lines)
	if !ok {
		return nil, &fault.FormatError{File: source, Msg: "this text holds no table of numbers", Advice: KindsHint}
	}
	t := &table{source: source, dialect: d, columns: columns}
	var fields []string
	cells := make([]cell, 0, columns)
	for i, line := range lines {
		rest, whole := stripComment(line)
		if rest = strings.TrimRight(rest, " "); strings.TrimSpace(rest) == "" && !whole {
			continue
		}
		if whole {
			if len(t.rows) == 0 {
				t.header = append(t.header, commentText(line))
				t.headAt = append(t.headAt, i+1)
				t.asWritten = t.asWritten || t.header[len(t.header)-1] == writtenHere
			}
			continue
		}
		var isRow bool
		cells, fields, isRow = d.row(cells, rest, fields)
		switch {
		case isRow && len(cells) == columns:
			t.rows = append(t.rows, tableRow{i + 1, slices.Clone(cells)})
		case len(t.rows) == 0:
			t.header = append(t.header, strings.TrimSpace(rest))
			t.headAt = append(t.headAt, i+1)
		case isRow:
			return nil, t.errorAt(i+1, "complete the row, or put a # in front of it", "the row has %d columns, the others have %d", len(cells), columns)
		default:
			return nil, t.errorAt(i+1, "correct the line, or put a # in front of it", "this is not a row of numbers: %q", shorten(rest))
		}
	}
	// Many programs end every line with a separator.
	for t.columns > 2 && t.blankColumn(t.columns-1) {
		t.columns--
	}
	return t, nil
}

// blankColumn says whether nothing is written in a column.
func (t *table) blankColumn(i int) bool {
	return !slices.ContainsFunc(t.rows, func(r tableRow) bool { return r.cells[i].text != "" })
}

const KindsHint = "give a two-channel WAV file, a text table with frequency and impedance, or a Touchstone one-port"

// shorten keeps a quoted line readable.
func shorten(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}

// assignColumns decides what each column holds: from the user's words, from the
// header, or from the number of columns.
func (t *table) assignColumns(columns string) error {
	if strings.TrimSpace(columns) != "" {
		cols := parseHeader(splitNames(columns))
		for _, c := range cols {
			if c.role == ignored && c.name != "-" {
				return &fault.FormatError{File: t.source, Msg: fmt.Sprintf("%q names no column that is known", c.name), Advice: columnsHint}
			}
		}
		if len(cols) > t.columns {
			return &fault.FormatError{File: t.source, Msg: fmt.Sprintf("%d columns are named, the table has %d", len(cols), t.columns), Advice: columnsHint}
		}
		if msg, hint := checkColumns(cols); msg != "" {
			return &fault.FormatError{File: t.source, Msg: msg, Advice: hint}
		}
		t.cols = cols
		return nil
	}
	for i := len(t.header) - 1; i >= max(0, len(t.header)-maxHeaderLines); i-- {
		if len(t.header[i]) > maxHeaderBytes {
			continue
		}
		cols, ok := t.namesIn(t.header[i])
		if !ok {
			continue
		}
		if len(cols) != t.columns {
			if t.dialect == (dialect{commas, '.'}) && 2*len(cols) == t.columns {
				return t.errorAt(t.headAt[i], "save the table with semicolons or tabs between the columns", "the comma is both decimal mark and separator here, so the numbers cannot be told apart")
			}
			return t.errorAt(t.headAt[i], "name every column, a - for one to skip: "+columnsHint, "the header names %d columns, the rows have %d", len(cols), t.columns)
		}
		if msg, hint := checkColumns(cols); msg != "" {
			return t.errorAt(t.headAt[i], hint, "%s", msg)
		}
		t.cols, t.headed = cols, t.headAt[i]
		return nil
	}
	t.unnamed = true
	switch t.columns {
	case 2:
		t.cols = []column{{role: frequency, name: "1"}, {role: magnitude, name: "2"}}
	case 3:
		t.cols = []column{{role: frequency, name: "1"}, {role: magnitude, name: "2"}, {role: phase, name: "3"}}
	default:
		return t.errorAt(t.rows[0].line, "say what they hold: "+columnsHint, "the table has %d columns and no header that names them", t.columns)
	}
	return nil
}

// namesIn reads a header line, and reports whether it is one: whether it names
// a whole sweep, or as many columns as the rows have, two of them known.
func (t *table) namesIn(line string) ([]column, bool) {
	var found []column
	for _, fields := range [][]string{t.dialect.split(nil, line), splitNames(line)} {
		for len(fields) > t.columns && fields[len(fields)-1] == "" {
			fields = fields[:len(fields)-1]
		}
		cols := parseHeader(fields)
		if len(cols) == t.columns && known(cols) >= 2 {
			return cols, true
		}
		if found == nil && complete(cols) {
			found = cols
		}
	}
	return found, found != nil
}

// known counts the columns whose name is known.
func known(cols []column) int {
	n := 0
	for _, c := range cols {
		if c.role != ignored {
			n++
		}
	}
	return n
}

// splitNames cuts a line of column names at the separator that it uses.
func splitNames(line string) []string {
	for _, sep := range [...]separator{tabs, semicolons, commas} {
		if strings.IndexByte(line, byte(sep)) >= 0 {
			return dialect{sep: sep}.split(nil, line)
		}
	}
	return words(line)
}
