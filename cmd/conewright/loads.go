package main

import (
	"cmp"
	"fmt"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/ts/measured"

	"github.com/spf13/pflag"
)

// loadFile is one file and what was on the cone when it was recorded.
type loadFile struct {
	path   string // as it is shown
	load   measured.Load
	stored string       // where it is read; empty: at path
	sha256 string       // of what the book keeps; empty: it is not from the book
	fetch  func() error // brings it to where it is read; nil: it is there
	// unsaid is the tolerance of the load in SI units where only its digits give it; zero
	// where it was written.
	unsaid float64
}

// place is where the file is read.
func (f loadFile) place() string { return cmp.Or(f.stored, f.path) }

func freeFiles(paths []string) []loadFile {
	var files []loadFile
	for _, p := range paths {
		files = append(files, loadFile{path: p})
	}
	return files
}

// loadKind is a load as it is written in options and manifests.
type loadKind struct {
	name    string // of the option and of the column of a manifest
	what    string
	example string
	load    measured.LoadKind
	kind    quantity.Kind
	lo, hi  float64 // SI
}

var loadKinds = []loadKind{
	{"mass", "with this mass fixed to the cone", "15.0g", measured.AddedMass, quantity.Mass, 1e-5, 2},
	{"box", "on a closed, empty box of this volume", "22.0L", measured.KnownBox, quantity.Volume, 1e-4, 2},
}

// withPlacing is a load with what placing it on the cone adds to the uncertainty of a mass.
func withPlacing(load measured.Load) measured.Load {
	if load.Kind == measured.AddedMass {
		load.PlacingStd = measured.UsualPlacing(load.Value)
	}
	return load
}

// parse reads the size of the load of a file.
func (k loadKind) parse(text, path string) (loadFile, error) {
	size := quantityOption{kind: k.kind, lo: k.lo, hi: k.hi}
	if err := size.Set(text); err != nil {
		return loadFile{}, err
	}
	f := loadFile{path: path, load: measured.Load{Kind: k.load, Value: size.value.SI, Std: size.value.Std()}}
	f.load = withPlacing(f.load)
	if !size.value.Stated {
		f.unsaid = size.value.Tolerance
		if k.load == measured.KnownBox {
			f.load.Std = max(f.load.Std, unsaidVolume*f.load.Value)
		}
	}
	return f, nil
}

// loadOptions defines --mass and --box, or --before-mass and so on.
func loadOptions(fs *pflag.FlagSet, files *[]loadFile, prefix, when string) {
	for _, k := range loadKinds {
		fs.Var(loadOption{k, files}, prefix+k.name, "sweep "+when+k.what+" (repeatable)")
	}
}

// loadOption collects "15.0g=FILE".
type loadOption struct {
	loadKind
	files *[]loadFile
}

// Set adds one file with its load.
func (o loadOption) Set(text string) error {
	size, path, ok := strings.Cut(text, "=")
	if !ok || path == "" || size == "" {
		return &quantity.Error{Msg: fmt.Sprintf("%q does not name a load and its file", text), Advice: "write it as " + o.Type()}
	}
	file, err := o.parse(size, path)
	if err != nil {
		return err
	}
	*o.files = append(*o.files, file)
	return nil
}

// String is empty: the option has no default.
func (o loadOption) String() string { return "" }

// Type shows the form in help.
func (o loadOption) Type() string { return o.example + "=FILE" }
