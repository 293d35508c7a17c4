// Package inputs knows the files that a command reads: where each lies, what it is read as
// and what is in it. It finds the same data in two roles, and a result that would replace
// what was read.
package inputs

import (
	"fmt"
	"os"
	"path/filepath"
)

// File is one file that a command reads.
type File struct {
	Path string
	Role string // "the bench file"; of a sweep the side or unit that it stands for, or nothing
	// Content are the hashes of the file and, for a saved fit, of the sweeps that it was
	// made of.
	Content []string
}

// Error is a mix-up of files.
type Error struct{ Msg, Advice string }

func (e *Error) Error() string { return e.Msg }

// Hint says what to do instead.
func (e *Error) Hint() string { return e.Advice }

// Spare refuses targets that are among the files, and targets that are one and the same,
// whatever their names are.
func Spare(files []File, targets ...string) error {
	for i, target := range targets {
		if target == "" {
			continue
		}
		for _, other := range targets[:i] {
			if other != "" && same(other, target) {
				return &Error{fmt.Sprintf("%s and %s name the same file", other, target), "give each result a name of its own"}
			}
		}
		there, err := os.Stat(target)
		if err != nil {
			continue // nothing there to be lost
		}
		for _, f := range files {
			if info, err := os.Stat(f.Path); err == nil && os.SameFile(info, there) {
				role := f.Role
				if role == "" {
					role = "a sweep"
				}
				return &Error{fmt.Sprintf("%s is read as %s, and is kept", target, role), "choose another name for the result"}
			}
		}
	}
	return nil
}

// same says whether two names lead to one file, or would if there were one.
func same(a, b string) bool {
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	if errA == nil && errB == nil {
		return os.SameFile(infoA, infoB)
	}
	absA, errA := filepath.Abs(a)
	absB, errB := filepath.Abs(b)
	return errA == nil && errB == nil && absA == absB
}

// Contents are the data that were read so far, each with the file that it came from.
type Contents struct{ seen map[string]File }

// Add refuses a file with data that another one had; it remembers those of this one.
func (c *Contents) Add(f File) error {
	for _, hash := range f.Content {
		if first, ok := c.seen[hash]; ok {
			return &Error{fmt.Sprintf("%s holds the same data as %s", f.named(), first.named()),
				"name each recording once; a repeat, or a sweep with another load, is a new recording"}
		}
	}
	if c.seen == nil {
		c.seen = map[string]File{}
	}
	for _, hash := range f.Content {
		c.seen[hash] = f
	}
	return nil
}

// named is the file with its role.
func (f File) named() string {
	if f.Role == "" {
		return f.Path
	}
	return fmt.Sprintf("%s (%s)", f.Path, f.Role)
}
