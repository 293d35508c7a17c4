package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"conewright/cmd/internal/savefile"
	"conewright/ts/notice"
)

var demoCommand = command{
	name:     "demo",
	synopsis: "[--keep DIR] [--book DIR]",
	summary:  "the whole job on a built-in, invented repair: no files, no set-up",
	about: `Two woofers of a community hall got new surrounds; a third, the spare, rubs. The demo records
them on a virtual bench, as real WAV files, and runs the commands that you would run on your own
recordings. With --keep the files stay, and commands.txt lists the steps to repeat by hand. With
--book the repair becomes a job of a book as well.`,
	examples: `
conewright demo
conewright demo --keep brindle-hall
conewright demo --book brindle-book`,
	setup: func(g *optionGroups) action {
		var keep, book string
		fs := g.group("Output")
		fs.StringVar(&keep, "keep", "", "leave recordings, spec sheet, bench file and commands in this `DIR`")
		fs.StringVar(&book, "book", "", "also keep the repair as a job of this `BOOK`")
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("conewright demo --keep DIR leaves its files in a folder", "demo reads no file, and %s was given", args[0])
			}
			return done, demo(c, keep, book)
		}
	},
}

// demoStep is one command of the demo with the words around it.
type demoStep struct {
	before  string
	command command
	args    string
}

var demoSteps = []demoStep{
	{"The left woofer. What did the new surround change, and is the driver right again?",
		compareCommand, "--before left-before.wav --before-mass 20.0g=left-before-20g.wav --after left-after.wav --after-mass 20.0g=left-after-20g.wav --spec larch.toml --bench bench.toml"},
	{"The right woofer got the same treatment, with a surround of another delivery.",
		compareCommand, "--before right-before.wav --before-mass 20.0g=right-before-20g.wav --after right-after.wav --after-mass 20.0g=right-after-20g.wav --spec larch.toml --bench bench.toml"},
	{"Both stand on the same stage. Do they still match, and what would bring them closer?",
		pairCommand, "left-after.wav right-after.wav --bench bench.toml"},
	{"The spare sounds scratchy when it plays softly. What does one sweep say?",
		fitCommand, "spare.wav --bench bench.toml"},
	{"The left woofer is back in its cabinet, first with the old gasket, then with a new one. What does the box say?",
		cabinetCommand, "--before left-box-old-gasket.wav --after left-box.wav --driver left-after.wav --tuning 34Hz --bench bench.toml"},
}

const demoIntro = `Brindle Hall, a community hall that exists only here, had the foam of its two ten-inch stage
woofers perish. Both got new surrounds. The technician swept each driver before and after, each
time in free air and once more with 20 g on the cone.
`

// demoMore is what else there is to try.
const demoMore = "\nconewright part demo --keep drawer records the parts of a dividing network in the same way.\n"

// demo makes the files, runs the steps and says how to go on.
func demo(c *console, keep, book string) error {
	dir := keep
	if dir == "" {
		temp, err := os.MkdirTemp("", "conewright-demo-")
		if err != nil {
			return err
		}
		savefile.Unfinished(temp)
		defer os.RemoveAll(temp)
		dir = temp
	}
	if err := makeDemoFiles(dir); err != nil {
		return err
	}
	fmt.Fprint(c.out, demoIntro)
	for i, s := range demoSteps {
		fmt.Fprintf(c.out, "\n%d. %s\n\n$ conewright %s %s\n\n", i+1, s.before, s.command.name, s.args)
		if _, err := s.command.run(c, s.argsIn(dir)); err != nil {
			return err
		}
	}
	if book != "" {
		if err := demoBook(c, dir, book); err != nil {
			return err
		}
	}
	fmt.Fprint(c.out, demoMore)
	if keep == "" {
		fmt.Fprint(c.out, "\nconewright demo --keep DIR leaves the recordings, so that you can repeat each step by hand.\n")
	} else {
		fmt.Fprintf(c.out, "\nThe files are in %s; commands.txt lists the steps to repeat there.\n", keep)
	}
	return nil
}

// argsIn returns the arguments with the files looked up in dir.
func (s demoStep) argsIn(dir string) []string {
	args := strings.Fields(s.args)
	for i, a := range args {
		load, name, isLoad := strings.Cut(a, "=")
		switch {
		case isLoad:
			args[i] = load + "=" + filepath.Join(dir, name)
		case strings.HasSuffix(a, ".wav") || strings.HasSuffix(a, ".toml"):
			args[i] = filepath.Join(dir, a)
		}
	}
	return args
}

// demoFile is one file of the demo.
type demoFile struct {
	name  string
	write func(w io.WriteSeeker) error
}

func demoFiles() []demoFile {
	files := []demoFile{{"larch.toml", text(demoSheet)}, {"bench.toml", text(demoBench)}, {"lot.csv", text(demoManifest)}, {"commands.txt", text(demoCommands())}}
	for i, r := range demoRecordings() {
		files = append(files, demoFile{r.name, func(w io.WriteSeeker) error { return r.writeTo(w, uint64(i+1)) }})
	}
	return files
}

// makeDemoFiles fills dir; it makes the folder if need be and overwrites
// nothing.
func makeDemoFiles(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	files := demoFiles()
	for _, f := range files {
		path := filepath.Join(dir, f.name)
		if _, err := os.Lstat(path); err == nil {
			return notice.New("demo-exists", notice.Facts{"path": path})
		}
	}
	return ordered(context.Background(), len(files), runtime.NumCPU(), func(i int) error {
		return savefile.Write(filepath.Join(dir, files[i].name), false, files[i].write)
	}, func(_ int, err error) error { return err })
}

// text writes a text.
func text(s string) func(w io.WriteSeeker) error {
	return func(w io.WriteSeeker) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

// demoCommands is commands.txt.
func demoCommands() string {
	var b strings.Builder
	b.WriteString("# Run these in this folder.\n")
	for _, s := range demoSteps {
		fmt.Fprintf(&b, "\n# %s\nconewright %s %s\n", s.before, s.command.name, s.args)
	}
	return b.String()
}
