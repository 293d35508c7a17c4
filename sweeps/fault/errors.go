// Package fault has the errors of files and recordings.
package fault

import "fmt"

// FormatError is a file that is not what it should be, or is damaged.
type FormatError struct {
	File   string
	Msg    string
	Advice string
	Err    error
}

func (e *FormatError) Error() string { return fmt.Sprintf("%s: %s", e.File, e.Msg) }

// Unwrap returns the cause, if there is one.
func (e *FormatError) Unwrap() error { return e.Err }

// Hint says what to do next.
func (e *FormatError) Hint() string { return e.Advice }

// SyntaxError is a line that cannot be read.
type SyntaxError struct {
	File   string
	Line   int // from 1
	Msg    string
	Advice string
}

func (e *SyntaxError) Error() string { return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Msg) }

// Hint says what to do next.
func (e *SyntaxError) Hint() string { return e.Advice }

// UnsupportedError is a valid file of a kind that is not read here.
type UnsupportedError struct {
	File   string
	Msg    string
	Advice string
}

func (e *UnsupportedError) Error() string { return fmt.Sprintf("%s: %s", e.File, e.Msg) }

// Hint says what to do next.
func (e *UnsupportedError) Hint() string { return e.Advice }

// BenchError is a recording or table that was read without trouble but cannot
// be what the bench says it is: channels swapped, nothing connected, clipped.
type BenchError struct {
	Code   string // kebab-case, stable
	File   string
	Msg    string
	Advice string
}

func (e *BenchError) Error() string { return fmt.Sprintf("%s: %s", e.File, e.Msg) }

// Hint says what to do next.
func (e *BenchError) Hint() string { return e.Advice }
