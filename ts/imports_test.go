package ts

import (
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// goList runs go list with the given arguments at the top of the module and
// returns its lines.
func goList(t *testing.T, args ...string) []string {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list"}, args...)...)
	cmd.Dir = ".."
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %v: %v", args, err)
	}
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}

// graph is every import between packages of this module below cmd: what stands on the left
// may import what stands on the right, and nothing else of the module. DEVELOPERS.md has
// the same table with what is in each package.
var graph = map[string]string{
	"ts/notice":            "",
	"ts/internal/bounds":   "ts/notice",
	"ts/param":             "ts/internal/bounds ts/internal/stat ts/notice ts/study",
	"ts/repeat":            "ts/internal/bounds ts/notice ts/param ts/study",
	"ts/driver":            "ts/internal/bounds ts/notice ts/param",
	"ts/measured":          "ts/driver ts/internal/bounds ts/notice ts/param ts/repeat",
	"ts/fitted":            "ts/driver ts/measured ts/notice ts/param",
	"ts/internal/lsq":      "",
	"ts/internal/stat":     "",
	"ts/internal/law":      "ts/driver",
	"ts/internal/estimate": "ts/driver ts/fitted ts/internal/law ts/internal/lsq ts/internal/stat ts/measured ts/notice ts/param ts/repeat",
	"ts/internal/refer":    "ts/driver ts/internal/stat ts/notice ts/param",
	"ts/connected":         "ts/fitted ts/internal/lsq ts/measured ts/notice ts/param",
	"ts/verdict":           "ts/connected ts/driver ts/internal/bounds ts/internal/refer ts/internal/stat ts/notice ts/param ts/repeat",
	"ts/change":            "ts/connected ts/internal/refer ts/internal/stat ts/notice ts/param ts/repeat ts/verdict",
	"ts/lot":               "ts/change ts/internal/bounds ts/internal/refer ts/internal/stat ts/notice ts/param ts/repeat ts/verdict",
	"ts/nonlinear":         "ts/driver",
	"ts/friction":          "ts/driver ts/fitted ts/internal/bounds ts/measured ts/nonlinear ts/notice ts/param",
	"ts/ring":              "ts/driver ts/fitted ts/internal/estimate ts/internal/bounds ts/measured ts/notice ts/param",
	"ts/study":             "ts/internal/stat ts/notice",
	"ts/gauge":             "ts/internal/stat ts/notice ts/study",
	"ts/process":           "ts/internal/stat ts/notice ts/study",
	"ts/cabinet":           "ts/internal/bounds ts/notice ts/param",
	"ts/network":           "ts/internal/bounds ts/notice",
	"ts/part":              "ts/internal/lsq ts/measured ts/network ts/notice ts/param",
	"ts/boxed":             "ts/cabinet ts/driver ts/fitted ts/internal/bounds ts/internal/estimate ts/internal/lsq ts/measured ts/notice ts/param ts/repeat",
	"ts/terminals":         "ts/internal/lsq ts/measured ts/network ts/notice ts/param",
	"ts":                   "ts/change ts/connected ts/fitted ts/internal/estimate ts/lot ts/measured ts/param ts/repeat ts/verdict",

	// For tests and documents only.
	"ts/handmade":                  "ts/driver ts/param",
	"ts/handmade/tables":           "",
	"ts/internal/simulated":        "ts/driver ts/measured",
	"ts/internal/validate/ablate":  "",
	"ts/internal/validate":         "ts/driver ts/fitted ts/internal/estimate ts/internal/truth ts/measured ts/param ts/verdict",
	"ts/internal/validate/wrong":   "sweeps ts ts/change ts/fitted ts/internal/truth ts/measured ts/notice ts/param ts/verdict",
	"ts/internal/validate/rig":     "sweeps/bench ts ts/change ts/internal/truth ts/measured ts/notice ts/param",
	"ts/internal/validate/cabinet": "ts/boxed ts/internal/estimate ts/internal/truth ts/measured ts/network ts/param ts/terminals",
	"ts/internal/repairs":          "ts/change ts/driver ts/internal/estimate ts/measured ts/param ts/repeat ts/verdict",
	"ts/internal/repairs/table":    "ts/internal/repairs",
	"ts/internal/parts":            "sweeps sweeps/bench sweeps/signal sweeps/virtual ts ts/measured ts/network ts/notice ts/param ts/part ts/verdict",
	"ts/internal/parts/table":      "ts/internal/parts ts/param",
	"ts/internal/rubbing":          "sweeps sweeps/bench sweeps/virtual ts ts/change ts/fitted ts/friction ts/internal/truth ts/measured ts/param",
	"ts/internal/truth":            "",
	"ts/internal/validate/bench":   "ts/change ts/internal/estimate ts/internal/truth ts/measured ts/param ts/repeat ts/verdict",
	"ts/internal/truth/sample":     "ts/internal/truth",

	"sweeps/internal/dsp":       "",
	"sweeps/bench":              "sweeps/internal/dsp ts/measured ts/notice",
	"sweeps/signal":             "sweeps/internal/dsp ts/notice",
	"sweeps/virtual":            "sweeps/bench sweeps/internal/dsp ts/notice",
	"sweeps/internal/wav":       "sweeps/bench ts/notice",
	"sweeps/internal/table":     "sweeps/bench ts/measured ts/notice",
	"sweeps/internal/spectra":   "sweeps/bench sweeps/internal/dsp ts/measured ts/notice",
	"sweeps/internal/harmonics": "sweeps/bench sweeps/internal/dsp sweeps/internal/spectra ts/measured ts/notice",
	"sweeps/internal/contact":   "sweeps/bench sweeps/internal/dsp sweeps/internal/spectra ts/notice",
	"sweeps/internal/checks":    "sweeps/bench sweeps/internal/contact sweeps/internal/dsp sweeps/internal/spectra ts/measured ts/notice",
	"sweeps/live":               "sweeps/bench sweeps/internal/dsp sweeps/internal/spectra sweeps/signal ts/measured ts/notice",
	"sweeps":                    "sweeps/bench sweeps/internal/checks sweeps/internal/contact sweeps/internal/dsp sweeps/internal/harmonics sweeps/internal/spectra sweeps/internal/table sweeps/internal/wav ts/measured ts/notice",
	"sweeps/internal/benchtop":  "sweeps/bench sweeps/signal sweeps/virtual ts/driver",
	"sweeps/internal/testfiles": "sweeps/bench ts/measured ts/notice",
}

// onlyForTests are packages that the command never contains.
var onlyForTests = []string{"ts/handmade", "ts/handmade/tables", "ts/internal/simulated", "ts/internal/validate", "ts/internal/validate/ablate", "ts/internal/validate/wrong", "ts/internal/validate/rig", "ts/internal/validate/bench", "ts/internal/validate/cabinet", "ts/internal/repairs", "ts/internal/repairs/table", "ts/internal/rubbing", "ts/internal/parts", "ts/internal/parts/table", "ts/internal/truth", "ts/internal/truth/sample", "sweeps/internal/benchtop", "sweeps/internal/testfiles"}

// impure are packages that ts does without: it opens no file, reads no option, no
// clock and no network.
var impure = []string{"os", "flag", "time", "net/http", "os/exec", "io/ioutil", "net", "path/filepath"}

func TestImportGraph(t *testing.T) {
	seen := map[string]bool{}
	for _, line := range goList(t, "-f", `{{.ImportPath}} {{.Name}} {{join .Imports " "}}`, "./ts/...", "./sweeps/...") {
		words := strings.Fields(line)
		path, name := strings.TrimPrefix(words[0], "conewright/"), words[1]
		seen[path] = true
		allowed, ok := graph[path]
		if !ok {
			t.Errorf("%s is a package that the graph does not have", path)
			continue
		}
		var unused []string
		if allowed != "" {
			unused = strings.Fields(allowed)
		}
		for _, imported := range words[2:] {
			ours, ok := strings.CutPrefix(imported, "conewright/")
			switch {
			case ok && !slices.Contains(strings.Fields(allowed), ours):
				t.Errorf("%s imports %s, which the graph does not allow", path, ours)
			case ok:
				unused = slices.DeleteFunc(unused, func(s string) bool { return s == ours })
			case name != "main" && strings.HasPrefix(path, "ts") && slices.Contains(impure, imported) && !slices.Contains(onlyForTests, path):
				t.Errorf("%s imports %s", path, imported)
			}
		}
		if len(unused) > 0 {
			t.Errorf("the graph lets %s import %v, and it does not", path, unused)
		}
	}
	for path := range graph {
		if !seen[path] {
			t.Errorf("the graph has %s, which is not there", path)
		}
	}
	for _, dep := range goList(t, "-deps", "./cmd/conewright") {
		if path, ours := strings.CutPrefix(dep, "conewright/"); ours && slices.Contains(onlyForTests, path) {
			t.Errorf("the command contains %s, which is for tests", path)
		}
	}
}

// The table of packages in DEVELOPERS.md has the graph.
func TestImportGraphInDevelopers(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := map[string]string{}
	for _, row := range regexp.MustCompile("(?m)^\\| `([\\w/]+)` \\| [^|]+ \\| ([\\w/ -]+) \\|$").FindAllStringSubmatch(string(text), -1) {
		shown[row[1]] = strings.Trim(row[2], "-")
	}
	for path, imports := range graph {
		if got, ok := shown[path]; !slices.Contains(onlyForTests, path) && (!ok || got != imports) {
			t.Errorf("DEVELOPERS.md shows %q for %s, the graph has %q", got, path, imports)
		}
	}
}
