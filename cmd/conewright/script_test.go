package main

import (
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"conewright/cmd/internal/quantity"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"conewright": main, "conewright-interrupted": interrupted})
}

// TestScript runs testdata/script: one file a behaviour, its name begins with
// the subcommand.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"mkwav": func(ts *testscript.TestScript, neg bool, args []string) { bake(ts, neg, args, "mkwav", recipe.wav) },
			"mktable": func(ts *testscript.TestScript, neg bool, args []string) {
				bake(ts, neg, args, "mktable", recipe.table)
			},
			"spoil": spoil,
			"mkmono": func(ts *testscript.TestScript, neg bool, args []string) {
				bake(ts, neg, args, "mkmono", recipe.mono)
			},
			"flipbit": flipbit, "bigfile": bigfile, "deepfile": deepfile, "changefirst": changefirst, "evilname": evilname,
			"cmpnum":   cmpnum,
			"exitcode": exitcode,
		},
	})
}

// spoil changes every file in a folder: spoil DIR.
func spoil(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(filepath.WalkDir(ts.MkAbs(args[0]), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return errors.Join(os.Chmod(path, 0o600), os.WriteFile(path, append(data, '\n'), 0o600))
	}))
}

// bake is "mkwav OUT WORDS...": it makes OUT from the recipe in WORDS; a word
// that names a file stands for the words in that file.
func bake(ts *testscript.TestScript, neg bool, args []string, name string, cook func(recipe) ([]byte, error)) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: %s OUT WORDS...", name)
	}
	var words []string
	for _, w := range args[1:] {
		if strings.Contains(w, "=") {
			words = append(words, w)
			continue
		}
		words = append(words, strings.Fields(ts.ReadFile(w))...)
	}
	r, err := parseRecipe(words)
	ts.Check(err)
	data, err := cook(r)
	ts.Check(err)
	path := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(filepath.Dir(path), 0o777))
	ts.Check(os.WriteFile(path, data, 0o666))
}

// cmpnum is "cmpnum FILE PATH WANT TOLERANCE": the number at PATH of a JSON
// file, such as checks.0.value, is within TOLERANCE (0.1% or absolute) of WANT.
func cmpnum(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 4 {
		ts.Fatalf("usage: cmpnum FILE PATH WANT TOLERANCE")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &v))
	for _, part := range strings.Split(args[1], ".") {
		switch in := v.(type) {
		case map[string]any:
			v = in[part]
		case []any:
			i, err := strconv.Atoi(part)
			ts.Check(err)
			if i >= len(in) {
				ts.Fatalf("%s: %s has %d entries", args[0], args[1], len(in))
			}
			v = in[i]
		}
	}
	got, ok := v.(float64)
	if !ok {
		ts.Fatalf("%s: %s is %v, not a number", args[0], args[1], v)
	}
	want, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	tolerance, err := quantity.Parse(args[3], quantity.Number)
	ts.Check(err)
	allowed := tolerance.SI
	if strings.HasSuffix(args[3], "%") {
		allowed *= math.Abs(want)
	}
	if near := math.Abs(got-want) <= allowed; near == neg {
		ts.Fatalf("%s: %s is %v, wanted %v within %s", args[0], args[1], got, want, args[3])
	}
}

// exitcode is "exitcode N COMMAND ARGS...": the command ends with exactly N.
func exitcode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exitcode N COMMAND ARGS...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var ended *exec.ExitError
		if !errors.As(err, &ended) {
			ts.Fatalf("%v", err)
		}
		got = ended.ExitCode()
	}
	if got != want {
		ts.Fatalf("%s ended with %d, wanted %d\n%s", strings.Join(args[1:], " "), got, want, ts.ReadFile("stderr"))
	}
}

// interrupted is "conewright-interrupted N CUT batch ARGS...": a batch that dies
// after N units and while it writes the next one, CUT bytes before its end.
func interrupted() {
	n, err := strconv.Atoi(os.Args[1])
	cut, err2 := strconv.ParseInt(os.Args[2], 10, 64)
	g := newOptionGroups("batch")
	var b batchJob
	b.define(g)
	all := g.all()
	err3 := all.Parse(os.Args[4:])
	if err := errors.Join(err, err2, err3); err != nil {
		panic(err)
	}
	if err := b.prepare(all.Args()); err != nil {
		panic(err)
	}
	journal, err := b.openJournal()
	if err != nil {
		panic(err)
	}
	for _, u := range b.units[:min(n+1, len(b.units))] {
		if err := journal.Add(b.fit(u, nil)); err != nil {
			panic(err)
		}
	}
	path := b.out.file + partEnding
	info, err := os.Stat(path)
	if err != nil {
		panic(err)
	}
	if err := os.Truncate(path, info.Size()-cut); err != nil {
		panic(err)
	}
}

// flipbit is "flipbit FILE AT": one bit of the byte at that place is the other way round.
func flipbit(ts *testscript.TestScript, neg bool, args []string) {
	data := []byte(ts.ReadFile(args[0]))
	at, err := strconv.Atoi(args[1])
	ts.Check(err)
	data[at] ^= 1
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), data, 0o666))
}

// bigfile is "bigfile FILE SIZE": a file that begins like JSON and holds blanks.
func bigfile(ts *testscript.TestScript, neg bool, args []string) {
	size, err := strconv.Atoi(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("{"+strings.Repeat(" ", size-1)), 0o666))
}

// deepfile is "deepfile FILE DEPTH": TOML tables within each other.
func deepfile(ts *testscript.TestScript, neg bool, args []string) {
	depth, err := strconv.Atoi(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("a = "+strings.Repeat("{a = ", depth)+"1"+strings.Repeat("}", depth)), 0o666))
}

// changefirst is "changefirst FROM OLD NEW TO": the file with the first OLD as NEW.
func changefirst(ts *testscript.TestScript, neg bool, args []string) {
	text := ts.ReadFile(args[0])
	if !strings.Contains(text, args[1]) {
		ts.Fatalf("%s does not hold %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[3]), []byte(strings.Replace(text, args[1], args[2], 1)), 0o666))
}

// evilname is "evilname FILE": it makes tables, and one whose name acts on a terminal.
func evilname(ts *testscript.TestScript, neg bool, args []string) {
	for i, name := range []string{args[0], "lot/two.csv", "folder/\x1b]0;title\a.csv"} {
		r, err := parseRecipe([]string{"seed=" + strconv.Itoa(i+2)})
		ts.Check(err)
		table, err := r.table()
		ts.Check(err)
		ts.Check(os.MkdirAll(filepath.Dir(ts.MkAbs(name)), 0o777))
		ts.Check(os.WriteFile(ts.MkAbs(name), table, 0o666))
	}
}
