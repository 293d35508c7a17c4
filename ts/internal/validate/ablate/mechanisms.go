package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// mechanism is one part of the estimate, with the changes of the source that switch it off.
// The source itself has no switches: it is compiled with other files in place of some,
// see go help build, -overlay.
type mechanism struct {
	name    string
	changes []change
}

// change replaces a text that stands once in a file of ts/internal.
type change struct{ file, old, new string }

// off is a range of sizes that the search never enters.
const off = "{1, 0, 0}"

// mechanisms are those of the estimate that could be left out.
var mechanisms = []mechanism{
	{"power-law coil", []change{{"law/law.go", "SemiLadder, Power}", "SemiLadder}"}}},
	{"rival creep law", []change{{"estimate/refit.go", "if c.prob.form.creep && c.misfit.tau == (sizes{}) {", "if false {"}}},
	{"local discrepancy", []change{{"estimate/constants.go", "lawlessGain = 10", "lawlessGain = 1e9"}}},
	{"lowest real part", []change{{"estimate/passive.go", "if math.IsInf(top, 1) {", "if top = math.Inf(1); math.IsInf(top, 1) {"}}},
	{"thinning", []change{{"estimate/explore.go", "if !fewer {", "if !fewer || true {"}}},
	{"belief odds: those of doubt for both", []change{{"estimate/constants.go", "beliefCost = 8", "beliefCost = 4"}}},
	{"doubt odds: those of belief for both", []change{{"estimate/constants.go", "doubtCost  = 4", "doubtCost  = 8"}}},
	{"bent coil", []change{{"estimate/constants.go", "{1e-4, 0.1, 0},\n\tcoilFree", off + ",\n\tcoilFree"}}},
	{"bent suspension", []change{{"estimate/constants.go", "suspensionBent: {1e-4, 0.1, 0}", "suspensionBent: " + off}}},
	{"hidden coil", []change{{"estimate/constants.go", "hiddenReach = 4", "hiddenReach = 0"}}},
	{"free heating", []change{{"estimate/constants.go", "heatingFree:    {1e-5, 0.01, 0}", "heatingFree: " + off}}},
	{"free drift", []change{{"estimate/constants.go", "driftFree:      {1e-5, 0.05, 0}", "driftFree: " + off}}},
	{"friction pieces", []change{{"estimate/constants.go", "frictionFree:   {1e-4, 0.1, 0}", "frictionFree: " + off}}},
	{"timing", []change{{"estimate/constants.go", "timing:         {1e-5, 0.1, 0}", "timing: " + off}}},
	{"the whole misfit", []change{{"estimate/weigh.go", "if alarm > suspectGain ||", "if false && alarm > suspectGain ||"}, {"estimate/weigh.go", "|| !heaviest.prob.form.causal() {", "&& false {"}}},
	{"prior penalty of the coil", []change{{"estimate/constants.go", "mostPenalty = 8", "mostPenalty = 0"}}},
	{"cost of a coil unknown", []change{{"estimate/constants.go", "coilCost = 2", "coilCost = 0"}}},
	{"correlated neighbours", []change{{"estimate/constants.go", "correlationLags = 12", "correlationLags = 0"}}},
	{"wider covariance of a doubted fit", []change{{"estimate/constants.go", "wideDoubt = 1.35", "wideDoubt = 1"}}},
}

// overlay writes the changed files of m to dir, and the list of them that the compiler
// takes. root is the folder of the module.
func (m mechanism) overlay(root, dir string) (string, error) {
	text := map[string]string{}
	for _, c := range m.changes {
		path := filepath.Join(root, "ts", "internal", filepath.FromSlash(c.file))
		if text[path] == "" {
			data, err := os.ReadFile(path)
			if err != nil {
				return "", err
			}
			text[path] = string(data)
		}
		if n := strings.Count(text[path], c.old); n != 1 {
			return "", fmt.Errorf("%s: %q stands %d times in %s", m.name, c.old, n, c.file)
		}
		text[path] = strings.Replace(text[path], c.old, c.new, 1)
	}
	var pairs []string
	for path, t := range text {
		to := filepath.Join(dir, fmt.Sprintf("%d-%s", len(pairs), filepath.Base(path)))
		if err := os.WriteFile(to, []byte(t), 0o644); err != nil {
			return "", err
		}
		pairs = append(pairs, fmt.Sprintf("%q: %q", path, to))
	}
	list := filepath.Join(dir, "overlay.json")
	return list, os.WriteFile(list, []byte(`{"Replace": {`+strings.Join(pairs, ", ")+"}}"), 0o644)
}
