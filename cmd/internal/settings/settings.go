// Package settings reads the small TOML files of the bench: it returns every
// value with the text it was written as and its place in the file, so that a
// wrong unit or an impossible limit is reported at its line and column.
package settings

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/infile"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// MaxSize is the size in bytes up to which a file is read; a spec sheet has
// some hundred.
const MaxSize = 64 << 10

// Entry is one value of the file.
type Entry struct {
	Path []string // "limits", "Fs", "nominal"
	Keys []Place  // of each part of Path
	Text string   // the value: the content of a string, a number or true/false as written
	At   Place    // of the value
}

// Key returns the place of the last part of the key.
func (e Entry) Key() Place { return e.Keys[len(e.Keys)-1] }

// Name returns the dotted path: limits.Fs.nominal.
func (e Entry) Name() string { return strings.Join(e.Path, ".") }

// Place is a position in a file, counted from 1.
type Place struct {
	File         string
	Line, Column int
}

// Error is a file that cannot be used as it is.
type Error struct {
	Place
	Msg    string
	Advice string
	Err    error // the cause, if there is one
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s: %s", e.File, e.Msg)
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Msg)
}

// Unwrap returns the cause, if there is one.
func (e *Error) Unwrap() error { return e.Err }

// Hint says what to do next.
func (e *Error) Hint() string { return e.Advice }

// Errorf makes an error at the place.
func (p Place) Errorf(advice, format string, args ...any) *Error {
	return &Error{Place: p, Msg: fmt.Sprintf(format, args...), Advice: advice}
}

// Wrap makes an error at the place from one that may carry a hint.
func (p Place) Wrap(err error) *Error {
	e := &Error{Place: p, Msg: err.Error(), Err: err}
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		e.Advice = h.Hint()
	}
	return e
}

// ReadFile reads the entries of a file, in order.
func ReadFile(path string) ([]Entry, []byte, error) {
	data, err := infile.Small(path, MaxSize)
	if err != nil {
		return nil, nil, err
	}
	entries, err := Parse(data, path)
	return entries, data, err
}

// Parse reads the entries of a TOML document, in order. The document is first
// read as a whole, which finds every mistake against TOML itself, doubled keys
// among them; then it is walked once more for texts and places.
func Parse(data []byte, file string) ([]Entry, error) {
	if line := tooDeep(data); line > 0 {
		return nil, Place{file, line, 1}.Errorf("compare the line with the example in docs/formats.md", "tables are nested more than %d deep", mostDepth)
	}
	var whole map[string]any
	if err := toml.Unmarshal(data, &whole); err != nil {
		var d *toml.DecodeError
		if errors.As(err, &d) {
			line, column := d.Position()
			return nil, &Error{Place: Place{file, line, column}, Msg: strings.TrimPrefix(d.Error(), "toml: "), Advice: tomlAdvice(data, line), Err: err}
		}
		return nil, &Error{Place: Place{File: file}, Msg: err.Error(), Err: err}
	}

	w := walker{file: file}
	w.parser.Reset(data)
	var table path
	for w.parser.NextExpression() {
		switch e := w.parser.Expression(); e.Kind {
		case unstable.Table:
			table = w.key(path{}, e.Key())
		case unstable.ArrayTable:
			return nil, w.key(path{}, e.Key()).place().Errorf("write the table with single brackets", "a list of tables has no meaning here")
		case unstable.KeyValue:
			if err := w.value(table, e); err != nil {
				return nil, err
			}
		}
	}
	if err := w.parser.Error(); err != nil {
		return nil, &Error{Place: Place{File: file}, Msg: err.Error(), Err: err}
	}
	return w.entries, nil
}

const (
	mostDepth = 8  // of tables in tables; a spec sheet has two
	mostDots  = 64 // in a line, outside of texts
)

// tooDeep returns the line, counted from 1, in which brackets or dotted keys are nested
// deeper than any file here needs, 0 for none. The reader of TOML takes memory and time
// without bound for those.
func tooDeep(data []byte) int {
	line, depth, dots := 1, 0, 0
	var quote byte
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case c == '\n':
			line, dots = line+1, 0
		case quote == '#': // a comment ends with its line
		case quote != 0:
			if c == '\\' && quote == '"' {
				i++
			} else if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'' || c == '#':
			quote = c
		case c == '[' || c == '{':
			depth++
		case c == ']' || c == '}':
			depth = max(0, depth-1)
		case c == '.':
			dots++
		}
		if quote == '#' && data[i] == '\n' {
			quote = 0
		}
		if depth > mostDepth || dots > mostDots {
			return line
		}
	}
	return 0
}

// tomlAdvice guesses from the line what a newcomer to TOML got wrong.
func tomlAdvice(data []byte, line int) string {
	lines := strings.Split(string(data), "\n")
	if line < 1 || line > len(lines) {
		return ""
	}
	_, value, found := strings.Cut(lines[line-1], "=")
	switch {
	case !found:
		return `write each value as: key = "value"`
	case !strings.Contains(value, `"`):
		return `put a value with a unit in quotes, and write decimals with a point: "5.6 ohm"`
	}
	return "compare the line with the example in docs/formats.md"
}

type walker struct {
	file    string
	parser  unstable.Parser
	entries []Entry
}

// path is a dotted key with the place of each part.
type path struct {
	names  []string
	places []Place
}

func (p path) place() Place { return p.places[len(p.places)-1] }

// value records one key and its value; inline tables are walked.
func (w *walker) value(prefix path, kv *unstable.Node) error {
	key := w.key(prefix, kv.Key())
	at := key.place()
	v := kv.Value()
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			if err := w.value(key, it.Node()); err != nil {
				return err
			}
		}
		return nil
	case unstable.Array:
		return at.Errorf("give one value", "%s holds a list", strings.Join(key.names, "."))
	case unstable.String, unstable.Integer, unstable.Float, unstable.Bool:
		w.entries = append(w.entries, Entry{Path: key.names, Keys: key.places, Text: string(v.Data), At: w.place(v.Raw, at)})
		return nil
	}
	return at.Errorf("give a number or a text in quotes", "%s holds a date or time", strings.Join(key.names, "."))
}

// key returns the prefix with the parts of a dotted key behind it.
func (w *walker) key(prefix path, it unstable.Iterator) path {
	p := path{slices.Clone(prefix.names), slices.Clone(prefix.places)}
	for it.Next() {
		p.names = append(p.names, string(it.Node().Data))
		p.places = append(p.places, w.place(it.Node().Raw, Place{File: w.file}))
	}
	return p
}

// place turns a range of bytes into line and column; nodes without a range of
// their own stay at the fallback.
func (w *walker) place(r unstable.Range, fallback Place) Place {
	if r.Length == 0 {
		return fallback
	}
	start := w.parser.Shape(r).Start
	return Place{w.file, start.Line, start.Column}
}

// Nearest returns the known word that is most like the given one, or "" when
// none is near.
func Nearest(word string, known []string) string {
	best, bestAt := "", len(word)/2+1
	for _, k := range known {
		if d := distance(strings.ToLower(word), strings.ToLower(k)); d < bestAt {
			best, bestAt = k, d
		}
	}
	return best
}

// distance is the number of letters to insert, delete or change between a and b.
//
// Source: Levenshtein, Soviet Physics Doklady 10, 1966 (from memory); the
// two-row form is common practice.
func distance(a, b string) int {
	prev := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := range len(a) {
		row := make([]int, len(b)+1)
		row[0] = i + 1
		for j := range len(b) {
			change := prev[j]
			if a[i] != b[j] {
				change++
			}
			row[j+1] = min(change, prev[j+1]+1, row[j]+1)
		}
		prev = row
	}
	return prev[len(b)]
}
