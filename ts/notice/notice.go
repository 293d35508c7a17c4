// Package notice says what was found in data, good or bad, by a code and by facts: what
// is wrong with a file, why a fit is refused, what to know about a value. It has no
// sentences: those of the command stand in one place, package wording.
package notice

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Facts are the numbers and words that belong to a notice, by name. Numbers are in SI units;
// words stand as they were found in the data.
type Facts map[string]any

// Notice is one thing that was found. As a value it is a warning that travels with
// a result; its pointer is the error where there is no result.
type Notice struct {
	Code  string // stable identifier, kebab-case
	File  string // the file or sweep that it is about; may be empty
	Line  int    // of the file, from 1; 0: of no single line
	Facts Facts
	Err   error // the cause, if there is one
}

// New makes a notice.
func New(code string, facts Facts) *Notice { return &Notice{Code: code, Facts: facts} }

// In returns n as a notice about a file.
func (n Notice) In(file string) *Notice { n.File = file; return &n }

// At returns n as a notice about a line of a file.
func (n Notice) At(file string, line int) *Notice { n.File, n.Line = file, line; return &n }

// Because returns n with its cause.
func (n Notice) Because(err error) *Notice { n.Err = err; return &n }

// Error returns place, code and facts, for programs that have no words of their own.
func (n Notice) Error() string {
	var b strings.Builder
	if n.File != "" {
		b.WriteString(n.File + ":")
		if n.Line > 0 {
			fmt.Fprintf(&b, "%d:", n.Line)
		}
		b.WriteByte(' ')
	}
	b.WriteString(n.Code)
	for _, k := range slices.Sorted(maps.Keys(n.Facts)) {
		fmt.Fprintf(&b, " %s=%v", k, n.Facts[k])
	}
	if n.Err != nil {
		fmt.Fprintf(&b, ": %v", n.Err)
	}
	return b.String()
}

// Unwrap returns the cause, if there is one.
func (n Notice) Unwrap() error { return n.Err }

// Num returns the number of that name; a whole number counts as one.
func (n Notice) Num(name string) float64 {
	switch v := n.Facts[name].(type) {
	case float64:
		return v
	case int:
		return float64(v)
	}
	panic(fmt.Sprintf("notice: %s has no number %q", n.Code, name))
}

// Int returns the whole number of that name.
func (n Notice) Int(name string) int {
	if v, ok := n.Facts[name].(int); ok {
		return v
	}
	panic(fmt.Sprintf("notice: %s has no whole number %q", n.Code, name))
}

// Text returns the word of that name, whatever it is.
func (n Notice) Text(name string) string {
	v, ok := n.Facts[name]
	if !ok {
		panic(fmt.Sprintf("notice: %s has no word %q", n.Code, name))
	}
	return fmt.Sprint(v)
}

// Has says whether there is a fact of that name.
func (n Notice) Has(name string) bool { _, ok := n.Facts[name]; return ok }
