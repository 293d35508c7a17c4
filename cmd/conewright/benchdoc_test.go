package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What docs/bench.md puts into quotation marks as words of the tool is in its
// source.
func TestBenchDocQuotes(t *testing.T) {
	doc, err := os.ReadFile("../../docs/bench.md")
	if err != nil {
		t.Fatal(err)
	}
	var source strings.Builder
	for _, room := range []string{"../../ts", "../../sweeps"} {
		files, err := filepath.Glob(room + "/*.go")
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			source.Write(text)
		}
	}
	quotes := regexp.MustCompile(`“([^”]+)”`).FindAllStringSubmatch(string(doc), -1)
	if len(quotes) < 20 {
		t.Errorf("only %d quotes found", len(quotes))
	}
	for _, q := range quotes {
		if !strings.Contains(source.String(), q[1]) {
			t.Errorf("nothing in the source says %q", q[1])
		}
	}
}
