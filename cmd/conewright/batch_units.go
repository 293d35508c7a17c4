package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/settings"
)

// unit is one driver of a batch: its name and its files.
type unit struct {
	name  string
	files []loadFile
	dc    *quantity.Value // meter reading of Re, where the manifest has one
	about saved.Settings  // what else the manifest says of it
	bench *benchOptions   // of a unit from the book; nil: that of the batch
}

// findUnits lists the units behind the arguments of batch, in the order in
// which they are reported: those of a folder by name, those of a manifest as it
// lists them.
func findUnits(args []string) ([]unit, error) {
	if len(args) == 0 {
		return nil, wrongUse("conewright batch DIR, or its files, or a manifest", "no folder, file or manifest given")
	}
	for _, arg := range args {
		if _, ok := book.IsWhole(arg); ok {
			return nil, wrongUse("name one type of the book alone: conewright batch book:Larch-25", "%s is not a file, and others here are", arg)
		}
	}
	if len(args) == 1 {
		info, err := os.Stat(args[0])
		switch {
		case err != nil:
			return nil, err
		case info.IsDir():
			return unitsInFolder(args[0])
		}
		manifest, err := openManifest(args[0])
		if err != nil {
			return nil, err
		}
		if manifest != nil {
			return readManifest(manifest, args[0])
		}
	}
	return unitsOfFiles(args)
}

// unitsOfFiles makes a unit of each file.
func unitsOfFiles(paths []string) ([]unit, error) {
	var units []unit
	seen := map[string]string{}
	for _, p := range paths {
		name := strings.TrimSuffix(filepath.Base(p), filepath.Ext(p))
		if seen[name] != "" { // left.wav and left.txt, or a/left.wav and b/left.wav
			name = p
		}
		if seen[name] != "" {
			return nil, wrongUse("name each file once", "%s is given twice", p)
		}
		seen[name] = p
		units = append(units, unit{name: name, files: []loadFile{{path: p}}})
	}
	return units, nil
}

// notSweeps are the endings of files that belong to a job but are no sweeps.
var notSweeps = []string{".toml", ".html", ".md", ".ndjson", partEnding}

func unitsInFolder(dir string) ([]unit, error) {
	entries, err := os.ReadDir(dir) // sorted by name
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, e := range entries {
		if e.IsDir() || strings.HasPrefix(e.Name(), ".") || slices.Contains(notSweeps, strings.ToLower(filepath.Ext(e.Name()))) {
			continue
		}
		paths = append(paths, filepath.Join(dir, e.Name()))
	}
	if len(paths) == 0 {
		return nil, wrongUse("name the folder that holds the sweeps", "there is no sweep in %s", dir)
	}
	return unitsOfFiles(paths)
}

// manifestColumns are the columns of a manifest that mean something, in any order. Others are
// kept with the unit as they are.
var manifestColumns = []string{"unit", "file", "mass", "box", "dc"}

// usualColumns are some of the others; a column that is misspelt is looked for here too.
var usualColumns = []string{"serial", "operator", "station", "date"}

// otherWords are what people write for those that mean something: kept as they are, a mass
// would be lost.
var otherWords = map[string]string{"weight": "mass", "load": "mass", "added": "mass", "volume": "box", "re": "dc", "resistance": "dc", "name": "unit", "path": "file", "sweep": "file"}

// mostManifest is the size in bytes up to which a manifest is read: a hundred thousand lines.
const mostManifest = 16 << 20

// openManifest returns the content of a file that begins like a manifest, with a head
// that has a column "file", and nil for any other file.
func openManifest(path string) ([]byte, error) {
	head, err := infile.Start(path, 4096)
	if err != nil {
		return nil, err
	}
	fields := strings.FieldsFunc(headLine(head), func(r rune) bool { return strings.ContainsRune(",;\t", r) })
	if !slices.ContainsFunc(fields, func(f string) bool { return strings.EqualFold(strings.TrimSpace(f), "file") }) {
		return nil, nil
	}
	return infile.Small(path, mostManifest)
}

// headLine returns the first line of a text that is neither empty nor a comment.
func headLine(text []byte) string {
	for line := range strings.Lines(strings.TrimPrefix(string(text), "\ufeff")) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			return line
		}
	}
	return ""
}

// readManifest reads a manifest: a table with a head, one line a file. Lines of
// the same unit stand together and are repeats or loads of one driver. Files are
// relative to the folder of the manifest.
func readManifest(text []byte, path string) ([]unit, error) {
	m, err := newManifestReader(text, path, manifestColumns)
	if err != nil {
		return nil, err
	}
	var units []unit
	begun := map[string]bool{}
	for {
		row, err := m.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if n := len(units); n > 0 && units[n-1].name == row.name {
			units[n-1].files = append(units[n-1].files, row.files...)
			if old := units[n-1].dc; old != nil && row.dc != nil && (old.SI != row.dc.SI || old.Tolerance != row.dc.Tolerance) {
				return nil, m.place().Errorf("write the meter reading once for each unit", "the unit %q has two different meter readings, %s and %s", row.name, old.Text, row.dc.Text)
			}
			if row.dc != nil {
				units[n-1].dc = row.dc
			}
			units[n-1].say(row.about)
			continue
		}
		if begun[row.name] {
			return nil, m.place().Errorf("put the lines of one unit below one another", "the unit %q was listed before", row.name)
		}
		begun[row.name] = true
		units = append(units, row)
	}
	if len(units) == 0 {
		return nil, settings.Place{File: path}.Errorf("add one line for each file below the head", "the manifest lists no file")
	}
	return units, nil
}

// say adds what another line of the unit says of it: what is there stays, unless the line has
// something else, which stands behind it.
func (u *unit) say(more saved.Settings) {
	for _, m := range more {
		i := slices.IndexFunc(u.about, func(s saved.Setting) bool { return s.Name == m.Name })
		switch {
		case i < 0:
			u.about = append(u.about, m)
		case !slices.Contains(strings.Split(u.about[i].Value, " | "), m.Value):
			u.about[i].Value += " | " + m.Value
		}
	}
}

// manifestReader reads a manifest line by line.
type manifestReader struct {
	csv    *csv.Reader
	path   string
	column map[string]int
	free   []string // columns that are kept as they are, in their order
	record []string // read last
}

// cell returns a field of the line that was read last, empty where there is none.
func (m *manifestReader) cell(name string) string {
	if i, ok := m.column[name]; ok && i < len(m.record) {
		return strings.TrimSpace(m.record[i])
	}
	return ""
}

// file returns the file that the line names, relative to the folder of the manifest.
func (m *manifestReader) file() (string, error) {
	file := m.cell("file")
	if file == "" {
		return "", m.place().Errorf("name the file of the sweep", "the line names no file")
	}
	if !filepath.IsAbs(file) {
		file = filepath.Join(filepath.Dir(m.path), file)
	}
	return file, nil
}

// line reads the next line.
func (m *manifestReader) line() error {
	record, err := m.csv.Read()
	if err == io.EOF {
		return err
	}
	if err != nil {
		return m.wrong(err)
	}
	m.record = record
	return nil
}

func newManifestReader(text []byte, path string, columns []string) (*manifestReader, error) {
	m := &manifestReader{csv: csv.NewReader(bytes.NewReader(text)), path: path, column: map[string]int{}}
	m.csv.Comment = '#'
	m.csv.TrimLeadingSpace = true
	m.csv.FieldsPerRecord = -1
	m.csv.ReuseRecord = true
	line := headLine(text)
	for _, separator := range ";\t" {
		if strings.ContainsRune(line, separator) {
			m.csv.Comma = separator
			m.csv.TrimLeadingSpace = separator != '\t' // an empty cell between tabs is no blank
		}
	}
	head, err := m.csv.Read()
	if err != nil {
		return nil, m.wrong(err)
	}
	for i, name := range head {
		name = strings.TrimSpace(strings.TrimPrefix(name, "\ufeff"))
		if lower := strings.ToLower(name); slices.Contains(slices.Concat(columns, usualColumns), lower) {
			name = lower
		} else if near := cmp.Or(otherWords[lower], settings.Nearest(lower, columns)); near != "" {
			return nil, m.place().Errorf(fmt.Sprintf("write %s, or choose a name that is less like it", near), "is the column %q meant to be %q?", name, near)
		}
		if _, twice := m.column[name]; twice {
			return nil, m.place().Errorf("name each column once", "the column %q stands there twice", name)
		}
		m.column[name] = i
		if !slices.Contains(columns, name) && name != "" {
			m.free = append(m.free, name)
		}
	}
	return m, nil
}

// next returns the unit of the next line with its one file.
func (m *manifestReader) next() (unit, error) {
	if err := m.line(); err != nil {
		return unit{}, err
	}
	file, err := m.file()
	if err != nil {
		return unit{}, err
	}
	cell := m.cell
	u := unit{name: cell("unit")}
	if u.name == "" {
		u.name = strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	}
	if cell("mass") != "" && cell("box") != "" {
		return unit{}, m.place().Errorf("give one of the two", "the line has a mass and a box")
	}
	u.files = []loadFile{{path: file}}
	for _, kind := range loadKinds {
		if cell(kind.name) == "" {
			continue
		}
		if u.files[0], err = kind.parse(cell(kind.name), file); err != nil {
			return unit{}, m.place().Wrap(err)
		}
	}
	if cell("dc") != "" {
		dc := dcOption()
		if err := dc.Set(cell("dc")); err != nil {
			return unit{}, m.place().Wrap(err)
		}
		u.dc = &dc.value
	}
	for _, name := range m.free {
		if text := cell(name); text != "" {
			u.about = append(u.about, saved.Setting{Name: name, Value: text})
		}
	}
	return u, nil
}

// place is the line that was read last.
func (m *manifestReader) place() settings.Place {
	line, column := m.csv.FieldPos(0)
	return settings.Place{File: m.path, Line: line, Column: column}
}

// wrong is an error of the table itself.
func (m *manifestReader) wrong(err error) error {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return settings.Place{File: m.path, Line: parse.Line, Column: parse.Column}.Errorf("put a field with quotes in it into quotes, and double those", "%v", parse.Err)
	}
	return fmt.Errorf("%s: %w", m.path, err)
}
