package ts

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// forProgrammers are folders whose errors no user meets: the solver.
var forProgrammers = []string{"ts/internal/lsq"}

// names are what sources of error, models, methods and ways are called. They are data:
// they stand in JSON and are compared, and what two drivers share is found by them.
var names = []string{
	"BL unchanged",
	"joint fit",
	"added mass %.9g g", "box volume %.9g L", "entered ", " of sweep ", " of set ",
	"coil or timing", "meter reading of Re", " with creep by a power of frequency",
	"coil model ", ", in doubt", " with creep", "semi-inductance ladder",
	"drift of the suspension", "drift of the losses", "temperature of the magnet", "air in the box", "leak of the box", "frequency, assumed", "air pressure", "air load", "coil temperature slope",
	"coil law, ", "coil law at %.4g Hz", "suspension law at %.4g Hz", "heating at %.4g Hz", "drift at %.4g Hz", "losses at %.4g Hz",
	"no law at %.4g Hz, %s", "lowest real part of the impedance", "Re of two curves compared",
	"bend of the coil law", "bend of the suspension law", "heating during the sweep", "drift during the sweep", "timing of the channels",
	"channels, AC coupling", "channels, corner of the coupling", "calibration resistor", " in ", // of a table
	" (Vas)", "creep of any driver", "losses of any driver", "creep of the driver", "compliance of the driver", "losses of the driver", // of a cabinet
	"share of the air in a box", "losses of the port", "leak of the cabinet", "absorption in the cabinet",
	"load resistor", "load inductance", "stray capacitance", "inputs across the part", "resistance towards direct current", // of a part
	"constant phase", "phase between the points", "steepness between the points", "size of the phase",
	"phase below the table", "phase far below the table", "phase above the table", "phase far above the table",
}

// inFiles are words that stand in files of measuring devices and sound programs, and names
// of columns.
var inFiles = []string{
	"fmt ", "% x", "--", "---", " in", "V source", "V driver", "V resistor", "re[ohm] ?im[ohm]", "|Z|[ohm] ", "|Z|[dBohm] ",
	`(?i)\bfrequency error\b(?:[ \t]*[:=]?[ \t]*(?:±|\+-|\+/-)?[ \t]*([0-9]+(?:[.,][0-9]+)?)[ \t]*(%|ppm))?`,
	"option line", "[Network Data]", "[Noise Data]", "[Mixed-Mode Order]", "[end information]",
	"number of ports", "number of frequencies", "matrix format", "network data", "noise data", "mixed-mode order",
	"number of noise frequencies", "two-port data order", "two-port order", "begin information",
}

// Sentences, options of the command and units of the screen stand in cmd: what is below
// says codes and facts. So a string there has no blank between words, but for
// names, for what stands in files and for the words of a panic.
func TestNoSentencesBelowCmd(t *testing.T) {
	allowed, used := slices.Concat(names, inFiles), map[string]bool{}
	for _, root := range []string{"ts", "sweeps"} {
		err := filepath.WalkDir(filepath.Join("..", root), func(path string, d fs.DirEntry, err error) error {
			place := filepath.ToSlash(strings.TrimPrefix(path, ".."+string(filepath.Separator)))
			switch {
			case err != nil:
				return err
			case d.IsDir() && (slices.Contains(forProgrammers, place) || slices.Contains(onlyForTests, place) || d.Name() == "testdata"):
				return fs.SkipDir
			case d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go"):
				return nil
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			for _, text := range words(file) {
				if !slices.Contains(allowed, text) {
					t.Errorf("%s holds words: %q", place, text)
				}
				used[text] = true
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, text := range allowed {
		if !used[text] {
			t.Errorf("nothing holds %q, which may be there", text)
		}
	}
}

// words returns the strings of a file that hold words or an option: letters beside a
// blank, or two dashes. The format of a notice and what panic says are left out.
func words(file *ast.File) (found []string) {
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			if f, ok := n.Fun.(*ast.Ident); ok && f.Name == "panic" {
				return false
			}
		case *ast.ImportSpec, *ast.Field:
			return false // no field has a tag with words
		case *ast.BasicLit:
			text, err := strconv.Unquote(n.Value)
			if n.Kind == token.STRING && err == nil && (strings.Contains(text, " ") && hasWord(text) || strings.Contains(text, "--")) {
				found = append(found, text)
			}
		}
		return true
	})
	return found
}

// hasWord says whether letters are left when the verbs of a format are taken out.
func hasWord(text string) bool {
	for _, field := range strings.Fields(text) {
		if strings.ContainsFunc(field, func(r rune) bool { return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' }) && !strings.Contains(field, "%") {
			return true
		}
	}
	return false
}
