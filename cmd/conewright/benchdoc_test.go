package main

import (
	"io/fs"
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
	for _, root := range []string{"../../ts", "../internal/wording"} {
		err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			text, err := os.ReadFile(path)
			source.Write(text)
			return err
		})
		if err != nil {
			t.Fatal(err)
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
