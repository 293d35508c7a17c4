// Package table reads an impedance from text: tables in many dialects, the
// readings of two voltmeters, and Touchstone one-ports.
package table

import (
	"slices"
	"strconv"
	"strings"

	"conewright/sweeps/bench"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Limits of a text file, far above what an instrument writes. They bound the
// memory and the time that a file can cost which only looks like a table.
const (
	MaxBytes       = 4 << 20
	maxLines       = 70000 // a spectrum of 131072 samples has 65537
	maxLineBytes   = 1 << 16
	maxHeaderBytes = 1 << 12 // of a line that names columns
	maxHeaderLines = 200     // above the first row, in which names are looked for
)

// Read reads a sweep from a text table. The separator, the decimal mark,
// comments and the header are found from the content; what the columns hold is
// said by columns, such as "f[Hz] |Z|[ohm] phase[deg]", or by the header. A unit that
// neither says is taken only where the values can be nothing else, and asked for
// otherwise.
//
// A table of voltmeter readings needs the resistor of the bench.
func Read(data []byte, source, columns string, b bench.Bench) (measured.Impedance, error) {
	t, err := parse(data, source)
	if err != nil {
		return measured.Impedance{}, err
	}
	if err := t.assignColumns(columns); err != nil {
		return measured.Impedance{}, err
	}
	if err := t.resolveUnits(); err != nil {
		return measured.Impedance{}, err
	}
	points, err := t.points(b)
	if err != nil {
		return measured.Impedance{}, err
	}
	points.warnings = append(t.guessed, points.warnings...)
	z, err := points.impedance()
	if err != nil {
		return measured.Impedance{}, err
	}
	byHand := points.solve != nil || z.Sigma == nil && z.Len() <= mostByHand
	z.Frequency, err = t.frequencyError(byHand)
	return z, err
}

// table is a text table on its way to a sweep.
type table struct {
	source  string
	dialect dialect
	columns int
	header  []string // lines before the first row, without blanks around them
	headAt  []int    // line number of each
	rows    []tableRow
	cols    []column        // what each column holds
	headed  int             // line number of the header that named the columns, 0 for none
	unnamed bool            // neither the user nor a header named the columns
	guessed []notice.Notice // columns that were taken for what their name hardly says
}

type tableRow struct {
	line  int // from 1
	cells []cell
}

// at is the error n of a line.
func (t *table) at(line int, n *notice.Notice) error { return n.At(t.source, line) }

// parse finds the dialect of a text and cuts it into header and rows.
func parse(data []byte, source string) (*table, error) {
	lines, err := textLines(data, source)
	if err != nil {
		return nil, err
	}
	d, columns, ok := detect(lines)
	if !ok {
		return nil, notice.New("table-none", nil).In(source)
	}
	t := &table{source: source, dialect: d, columns: columns, rows: make([]tableRow, 0, len(lines))}
	var fields []string
	var room []cell // for the rows to come
	for i, line := range lines {
		rest, whole := stripComment(line)
		if rest = strings.TrimRight(rest, " "); strings.TrimSpace(rest) == "" && !whole {
			continue
		}
		if whole {
			if len(t.rows) == 0 {
				t.header = append(t.header, commentText(line))
				t.headAt = append(t.headAt, i+1)
			}
			continue
		}
		var isRow bool
		const some = 1 << 10
		if cap(room) < columns {
			room = make([]cell, 0, max(columns, some))
		}
		var cells []cell
		cells, fields, isRow = d.row(room, rest, fields)
		switch {
		case isRow && len(cells) == columns:
			t.rows = append(t.rows, tableRow{i + 1, slices.Clip(cells)})
			room = room[columns:columns]
		case len(t.rows) == 0:
			t.header = append(t.header, strings.TrimSpace(rest))
			t.headAt = append(t.headAt, i+1)
		case isRow:
			return nil, t.at(i+1, notice.New("table-row-length", notice.Facts{"columns": len(cells), "others": columns}))
		default:
			return nil, t.at(i+1, notice.New("table-no-row", notice.Facts{"text": shorten(rest)}))
		}
	}
	// Many programs end every line with a separator.
	for t.columns > 2 && t.written(t.columns-1) == 0 {
		t.columns--
	}
	return t, nil
}

// written is the part of the rows that have something in a column.
func (t *table) written(i int) float64 {
	n := 0
	for _, r := range t.rows {
		if r.cells[i].text != "" {
			n++
		}
	}
	return float64(n) / float64(len(t.rows))
}

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
				return notice.New("columns-unknown", notice.Facts{"name": c.name}).In(t.source)
			}
		}
		if len(cols) > t.columns {
			return notice.New("columns-too-many", notice.Facts{"named": len(cols), "columns": t.columns}).In(t.source)
		}
		if n := wrongColumns(cols); n != nil {
			return n.In(t.source)
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
				return t.at(t.headAt[i], notice.New("table-comma-twice", nil))
			}
			return t.at(t.headAt[i], notice.New("table-header-length", notice.Facts{"named": len(cols), "columns": t.columns}))
		}
		cols, t.guessed = named(cols)
		if n := wrongColumns(cols); n != nil {
			return t.at(t.headAt[i], n)
		}
		t.cols, t.headed = cols, t.headAt[i]
		return nil
	}
	t.unnamed = true
	return t.assignUnnamed()
}

// assignUnnamed takes the first two or three columns that are written in most rows for
// frequency, magnitude and phase; columns that are mostly empty are marks and notes.
func (t *table) assignUnnamed() error {
	const mostly = 0.5
	usual := []role{frequency, magnitude, phase}
	var full int
	t.cols = make([]column, t.columns)
	for i := range t.cols {
		t.cols[i].name = strconv.Itoa(i + 1)
		if t.written(i) > mostly {
			if full < len(usual) {
				t.cols[i].role = usual[full]
			}
			full++
		}
	}
	if full < 2 || full > len(usual) {
		return t.at(t.rows[0].line, notice.New("columns-unnamed", notice.Facts{"columns": t.columns}))
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
		if likely, _ := named(cols); len(cols) == t.columns && known(likely) >= 2 {
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
