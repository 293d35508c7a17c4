// Package benchfile reads a description of the bench: a TOML file whose keys
// are the bench options of the command line, under the same names and with the
// same values.
package benchfile

import (
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/settings"
	"conewright/ts/repeat"

	"github.com/spf13/pflag"
)

// PathAnnotation marks an option that names a file: in a bench file it is
// relative to the folder of that file.
const PathAnnotation = "path"

// Apply sets the options that the file at path gives and the command line did
// not, so that an option always overrides the file.
//
// It returns how the bench repeats, where the file says so.
func Apply(path string, options *pflag.FlagSet) (repeat.Bench, error) {
	entries, _, err := settings.ReadFile(path)
	if err != nil {
		return repeat.Bench{}, err
	}
	isTable := func(e settings.Entry) bool { return e.Path[0] == Table }
	var known repeat.Bench
	if i := slices.IndexFunc(entries, isTable); i >= 0 {
		var table []settings.Entry
		for _, e := range entries {
			if isTable(e) {
				table = append(table, e)
			}
		}
		if known, err = readRepeatability(table); err != nil {
			return known, err
		}
		entries = slices.DeleteFunc(entries, isTable)
	}
	return known, apply(path, entries, options)
}

// apply sets options to entries.
func apply(path string, entries []settings.Entry, options *pflag.FlagSet) error {
	var names []string
	options.VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	for _, e := range entries {
		option := options.Lookup(e.Name())
		if option == nil {
			advice := "known here: " + strings.Join(names, ", ")
			if near := settings.Nearest(e.Name(), names); near != "" {
				advice = "did you mean " + near + "?"
			}
			return e.Keys[0].Errorf(advice, "there is no key %q in a bench file", e.Name())
		}
		text := e.Text
		if _, ok := option.Annotations[PathAnnotation]; ok && !filepath.IsAbs(text) {
			text = filepath.Join(filepath.Dir(path), text)
		}
		if option.Changed {
			// Still read it, so that a mistake is found now and not on the day
			// when the option is left out.
			given := option.Value.String()
			if err := option.Value.Set(text); err != nil {
				return e.At.Wrap(err)
			}
			if err := option.Value.Set(given); err != nil {
				return err
			}
			continue
		}
		if err := option.Value.Set(text); err != nil {
			return e.At.Wrap(err)
		}
		option.Changed = true
	}
	return nil
}
