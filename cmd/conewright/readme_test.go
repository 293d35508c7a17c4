package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

var update = flag.Bool("update", false, "write what the documents show anew")

// The figure in README.md is the one of the sweeps in the sheet that the demo's
// first step writes with --report.
func TestReadmeFigure(t *testing.T) {
	if testing.Short() {
		t.Skip("the figure of the demo, which other tests run, is left out of a short run")
	}
	path, err := filepath.Abs("../../docs/figures/demo.svg")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for _, line := range []string{"conewright demo --keep hall", "cd hall",
		"conewright " + demoSteps[0].command.name + " " + demoSteps[0].args + " --report sheet.html"} {
		if out, err := runDocumented(line); err != nil {
			t.Fatalf("%s: %v\n%s", line, err, out)
		}
	}
	sheet, err := os.ReadFile("sheet.html")
	if err != nil {
		t.Fatal(err)
	}
	got := onPaper(regexp.MustCompile(`(?s)<svg[^>]*>\s*<title[^>]*>Impedance over frequency</title>.*?</svg>`).Find(sheet))
	if got == nil {
		t.Fatal("the sheet holds no figure of the sweeps")
	}
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("docs/figures/demo.svg is not what the demo draws; go test ./cmd/conewright -run ReadmeFigure -update writes it")
	}
}

// onPaper puts a white sheet behind a figure, for pages with a dark ground.
func onPaper(figure []byte) []byte {
	i := bytes.IndexByte(figure, '>') + 1
	if i == 0 {
		return nil
	}
	return []byte(string(figure[:i]) + `<rect width="100%" height="100%" fill="#fff"/>` + string(figure[i:]) + "\n")
}
