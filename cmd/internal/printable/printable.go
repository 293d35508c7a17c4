// Package printable makes text that came from files fit for a terminal and for a
// spreadsheet: names hold escape sequences, bells and marks that turn the order of letters
// round, by accident or not.
package printable

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// acts says whether a terminal does something at this character instead of showing it.
func acts(r rune) bool {
	switch {
	case unicode.IsControl(r), // also those of the 8-bit set, U+0080 to U+009F
		r == '\u061c', r == '\u200e', r == '\u200f', // marks of direction
		r >= '\u2028' && r <= '\u202e', // ends of lines and paragraphs; direction
		r >= '\u2066' && r <= '\u2069': // direction
		return true
	}
	return false
}

// Line makes a text one printable line: what acts is written as \u001b, the way JSON does.
func Line(s string) string { return escape(s, func(rune) bool { return false }) }

// escape writes what acts visibly, but for characters that may stay.
func escape(s string, stays func(rune) bool) string {
	clean := true
	for _, r := range s {
		if clean = r != utf8.RuneError && (!acts(r) || stays(r)); !clean {
			break
		}
	}
	if clean {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == utf8.RuneError && n <= 1:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case acts(r) && !stays(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteString(s[i : i+n])
		}
		i += n
	}
	return b.String()
}

// Cell makes a text a cell of CSV that no spreadsheet takes for a formula: one that begins
// with =, +, -, @ gets a ' in front. Numbers are not to be sent through it.
func Cell(s string) string {
	s = Line(s)
	if s != "" && strings.ContainsRune("=+-@'", rune(s[0])) {
		return "'" + s
	}
	return s
}

// Writer passes text on with everything that acts made visible, but for ends of lines and
// tabs. It remembers the first error.
type Writer struct {
	w    io.Writer
	rest []byte // the beginning of a character that is not complete
	err  error
}

// NewWriter returns a Writer to w.
func NewWriter(w io.Writer) *Writer { return &Writer{w: w} }

// Write implements io.Writer.
func (w *Writer) Write(p []byte) (int, error) {
	if w.err != nil {
		return 0, w.err
	}
	text := append(w.rest, p...)
	end := len(text)
	for n := 1; n < utf8.UTFMax && n <= len(text); n++ {
		if tail := text[len(text)-n:]; utf8.RuneStart(tail[0]) {
			if !utf8.FullRune(tail) {
				end = len(text) - n
			}
			break
		}
	}
	w.rest = append([]byte(nil), text[end:]...)
	if _, err := w.w.Write([]byte(escape(string(text[:end]), func(r rune) bool { return r == '\n' || r == '\t' }))); err != nil {
		w.err = err
		return 0, err
	}
	return len(p), nil
}

// Err returns the first error of writing.
func (w *Writer) Err() error { return w.err }
