package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestDocs runs the commands of README.md and docs/*.md: the lines that begin
// with "$ " in blocks fenced as ```console, in order, in one empty folder for
// each document. Output that is shown below a command must be what it prints;
// a line "..." stands for any number of lines. With -update the output is written
// anew: as many lines before the first "..." and after the last as there were.
func TestDocs(t *testing.T) {
	if testing.Short() {
		t.Skip("the commands of the documents, which the scripts run as well, are left out of a short run")
	}
	documents, err := filepath.Glob("../../docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	commands := 0
	for _, path := range append(documents, "../../README.md", "../../DEVELOPERS.md") {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		steps := consoleSteps(string(text))
		commands += len(steps)
		if len(steps) == 0 {
			continue
		}
		t.Run(filepath.Base(path), func(t *testing.T) {
			path, err := filepath.Abs(path)
			if err != nil {
				t.Fatal(err)
			}
			t.Chdir(t.TempDir())
			updated := strings.Split(string(text), "\n")
			for _, s := range steps {
				got, err := runDocumented(s.command)
				if err != nil {
					t.Fatalf("line %d: $ %s: %v", s.line, s.command, err)
				}
				if problem := outputDiffers(got, s.output); problem != "" && *update {
					renew(updated, s, got)
				} else if problem != "" {
					t.Errorf("line %d: $ %s\n%s\n--- it printed\n%s", s.line, s.command, problem, got)
				}
			}
			updated = slices.DeleteFunc(updated, func(line string) bool { return line == removed })
			if now := strings.Join(updated, "\n"); now != string(text) {
				if err := os.WriteFile(path, []byte(now), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
	if commands == 0 {
		t.Error("no document shows a command")
	}
}

// renew puts what a command printed into the lines of its document. All of it
// goes into the first line below the command; the others are marked as removed.
func renew(lines []string, s consoleStep, printed string) {
	shown := lines[s.line : s.line+strings.Count(s.output, "\n")]
	for len(shown) > 0 && strings.TrimSpace(shown[len(shown)-1]) == "" {
		shown = shown[:len(shown)-1] // the blank line before the next command stays
	}
	have := strings.Split(strings.TrimSpace(printed), "\n")
	first := slices.Index(shown, "...")
	if first >= 0 {
		last := len(shown) - 1
		for shown[last] != "..." {
			last--
		}
		head := min(first, len(have))
		tail := min(len(shown)-1-last, len(have)-head)
		have = slices.Concat(have[:head], []string{"..."}, have[len(have)-tail:])
	}
	for i := range shown {
		shown[i] = removed
	}
	shown[0] = strings.Join(have, "\n")
}

// removed marks a line that is to go.
const removed = "\x00"

// consoleStep is one command of a document and the output shown for it.
type consoleStep struct {
	line    int
	command string
	output  string // "" when none is shown
}

func consoleSteps(text string) []consoleStep {
	var steps []consoleStep
	inside := false
	for i, line := range strings.Split(text, "\n") {
		switch {
		case strings.HasPrefix(line, "```"):
			inside = line == "```console"
		case !inside:
		case strings.HasPrefix(line, "$ "):
			steps = append(steps, consoleStep{line: i + 1, command: line[2:]})
		case len(steps) > 0:
			steps[len(steps)-1].output += line + "\n"
		}
	}
	return steps
}

// runDocumented runs one line. It knows the program itself, from source or
// installed, and the few commands of a shell that documents use. Text and
// errors come back together, as they do on a screen.
func runDocumented(line string) (string, error) {
	words := strings.Fields(line)
	if rest, ok := strings.CutPrefix(line, "go run ./cmd/conewright"); ok {
		words = append([]string{"conewright"}, strings.Fields(rest)...)
	}
	switch {
	case words[0] == "conewright":
		var out bytes.Buffer
		code := run(words[1:], strings.NewReader(""), &out, &out)
		if code == 1 || code == 2 {
			fmt.Fprintf(&out, "(exit code %d)\n", code)
		}
		return out.String(), nil
	case words[0] == "cd" && len(words) == 2:
		return "", os.Chdir(words[1])
	case words[0] == "cat" && len(words) == 2:
		data, err := os.ReadFile(words[1])
		return string(data), err
	}
	return "", fmt.Errorf("this test does not know how to run it")
}

// outputDiffers compares what a command printed with what a document shows.
func outputDiffers(got, shown string) string {
	if strings.TrimSpace(shown) == "" {
		return ""
	}
	want := strings.Split(strings.TrimSpace(shown), "\n")
	have := strings.Split(strings.TrimSpace(got), "\n")
	at, skip := 0, false
	for _, w := range want {
		if strings.TrimSpace(w) == "..." {
			skip = true
			continue
		}
		for {
			if at >= len(have) {
				return fmt.Sprintf("the line %q is not printed", w)
			}
			same := sameLine(have[at], w)
			at++
			if same {
				break
			}
			if !skip {
				return fmt.Sprintf("shown   %q\nprinted %q", w, have[at-1])
			}
		}
		skip = false
	}
	if !skip && at < len(have) {
		return fmt.Sprintf("it also prints %q", have[at])
	}
	return ""
}

var documentNumber = regexp.MustCompile(`\d+(\.\d+)?`)

// sameLine compares two lines up to blanks; numbers may differ by one unit of
// their last digit, since processors may round a fused multiplication and
// addition differently.
func sameLine(got, want string) bool {
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	got, want = squeeze(got), squeeze(want)
	if documentNumber.ReplaceAllString(got, "#") != documentNumber.ReplaceAllString(want, "#") {
		return false
	}
	a, b := documentNumber.FindAllString(got, -1), documentNumber.FindAllString(want, -1)
	for i := range a {
		x, _ := strconv.ParseFloat(a[i], 64)
		y, _ := strconv.ParseFloat(b[i], 64)
		_, decimals, _ := strings.Cut(b[i], ".")
		if len(a[i]) != len(b[i]) && math.Abs(x-y) > 1 || math.Abs(x-y) > 1.01*math.Pow10(-len(decimals)) {
			return false
		}
	}
	return true
}

// The comparison itself must be able to fail.
func TestOutputDiffers(t *testing.T) {
	const printed = "Fs  31.09 Hz\nQts 0.389\nin spec\n"
	for shown, same := range map[string]bool{
		"Fs 31.09 Hz\nQts 0.389\nin spec\n":   true,
		"Fs 31.10 Hz\n...\n":                  true,
		"...\nin spec\n":                      true,
		"Fs 31.09 Hz\n...\nin spec\n":         true,
		"":                                    true,
		"Fs 31.12 Hz\n...\n":                  false,
		"Fs 31.09 Hz\nQts 0.389\n":            false,
		"Fs 31.09 Hz\nin spec\n":              false,
		"...\nout of spec\n":                  false,
		"Fs 31.09 Hz\nQts 0.389\nout of spec": false,
	} {
		if problem := outputDiffers(printed, shown); (problem == "") != same {
			t.Errorf("%q: %q", shown, problem)
		}
	}
	steps := consoleSteps("text\n```console\n$ a b\nout\n\n$ c\n```\n```\n$ not this\n```\n")
	if len(steps) != 2 || steps[0].command != "a b" || steps[0].output != "out\n\n" || steps[0].line != 3 || steps[1].command != "c" {
		t.Errorf("steps %+v", steps)
	}
}

// Every file and folder that a document names is there; capitals stand for any name.
func TestPathsInDocuments(t *testing.T) {
	name := regexp.MustCompile(`\b(?:ts|sweeps|cmd|testdata|docs)/[\w/.-]*\w`)
	found := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && strings.HasPrefix(d.Name(), ".") && len(d.Name()) > 2:
			return fs.SkipDir
		case filepath.Ext(path) != ".md":
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, p := range name.FindAllString(string(text), -1) {
			if strings.Contains(p, "NAME") {
				continue
			}
			found++
			if _, err := os.Stat(filepath.Join("../..", p)); err != nil {
				t.Errorf("%s names %s, which is not there", path, p)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if found < 50 {
		t.Errorf("only %d names found", found)
	}
}
