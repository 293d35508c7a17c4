// Mutate changes the program in one small place at a time and runs the tests: a change that
// no test notices is a hole in them, or makes no difference.
//
//	go run .ci/mutate/main.go [-n 90] [-seed N] PACKAGE...
//
// PACKAGE is as go list has it: ./ts/... for all of them. Packages that nothing but tests and
// documents imports are left out. The tests of the changed package run first, then those of -and
// that depend on it. No file of the tree is touched: the changed file takes the place of the other
// by go test -overlay. The seed of the sample is printed, so that a run can be repeated.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// change is one small change of a file: bytes from From to To become Text.
type change struct {
	file     string
	line     int
	from, to int
	text     string
	what     string
}

// forTests are the packages that nothing but tests and documents imports.
var forTests = []string{"/internal/truth", "/internal/validate", "/internal/repairs", "/internal/rubbing", "/internal/simulated",
	"/handmade", "/internal/benchtop", "/internal/testfiles"}

func main() {
	n := flag.Int("n", 90, "changes to try, a sample of all")
	seed := flag.Uint64("seed", 0, "of the sample; 0 takes one by chance")
	and := flag.String("and", "./ts ./ts/change ./ts/lot ./ts/ring ./sweeps ./cmd/internal/wording ./cmd/internal/report", "packages whose tests run as well where they depend on the change")
	flag.Parse()
	if *seed == 0 {
		*seed = uint64(rand.Uint32()) + 1
	}
	var all []change
	for _, dir := range goList(append([]string{"-f", "{{.Dir}}"}, flag.Args()...)...) {
		if slices.ContainsFunc(forTests, func(part string) bool { return strings.Contains(dir, part) }) {
			continue
		}
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		check(err)
		for _, f := range files {
			if !strings.HasSuffix(f, "_test.go") {
				all = append(all, changes(f)...)
			}
		}
	}
	rng := rand.New(rand.NewPCG(*seed, 14))
	rng.Shuffle(len(all), func(i, k int) { all[i], all[k] = all[k], all[i] })
	fmt.Printf("%d changes by chance of %d, seed %d\n", min(*n, len(all)), len(all), *seed)
	count := map[string]int{}
	for _, c := range all[:min(*n, len(all))] {
		own := goList(filepath.Dir(c.file))[0]
		outcome := try(c, own)
		if more := dependents(own, strings.Fields(*and)); outcome == survived && len(more) > 0 {
			outcome = try(c, more...)
		}
		count[outcome]++
		here, err := os.Getwd()
		check(err)
		name, err := filepath.Rel(here, c.file)
		check(err)
		fmt.Printf("%-14s %s:%d %s\n", outcome, name, c.line, c.what)
	}
	fmt.Println(count)
}

// goList returns the lines that go list prints.
func goList(args ...string) []string {
	out, err := exec.Command("go", append([]string{"list"}, args...)...).Output()
	check(err)
	return strings.Fields(string(out))
}

// dependents are those of the packages whose tests the package pkg is part of, without itself.
func dependents(pkg string, of []string) []string {
	var all []string
	for _, p := range of {
		if name := goList(p)[0]; name != pkg && slices.Contains(goList("-test", "-deps", p), pkg) {
			all = append(all, p)
		}
	}
	return all
}

// What comes of a change. One whose tests come to no end is noticed by whoever waits for them.
const (
	survived = "survived"
	noticed  = "noticed"
	noEnd    = "no end"
	noBuild  = "does not build"
)

// try runs the tests with a change.
func try(c change, packages ...string) string {
	source, err := os.ReadFile(c.file)
	check(err)
	dir, err := os.MkdirTemp("", "mutate-")
	check(err)
	defer os.RemoveAll(dir)
	changed := filepath.Join(dir, "changed.go")
	check(os.WriteFile(changed, []byte(string(source[:c.from])+c.text+string(source[c.to:])), 0o600))
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {c.file: changed}})
	check(err)
	list := filepath.Join(dir, "overlay.json")
	check(os.WriteFile(list, overlay, 0o600))
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	args := append([]string{"test", "-short", "-failfast", "-vet=off", "-overlay", list}, packages...)
	out, err := exec.CommandContext(ctx, "go", args...).CombinedOutput()
	switch {
	case ctx.Err() != nil:
		return noEnd
	case bytes.Contains(out, []byte("[build failed]")):
		return noBuild
	case err != nil:
		return noticed
	}
	return survived
}

// flipped are the operators that take the place of others.
var flipped = map[token.Token]token.Token{
	token.LSS: token.GEQ, token.GTR: token.LEQ, token.LEQ: token.GTR, token.GEQ: token.LSS,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL,
}

// changes lists the small changes of a file.
func changes(file string) []change {
	set := token.NewFileSet()
	tree, err := parser.ParseFile(set, file, nil, 0)
	check(err)
	var all []change
	add := func(from, to token.Pos, text, what string) {
		p := set.Position(from)
		all = append(all, change{file, p.Line, p.Offset, set.Position(to).Offset, text, what})
	}
	ast.Inspect(tree, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if other, ok := flipped[n.Op]; ok {
				add(n.OpPos, n.OpPos+token.Pos(len(n.Op.String())), other.String(), n.Op.String()+" is "+other.String())
			}
		case *ast.BasicLit:
			if n.Kind == token.FLOAT {
				if v, err := strconv.ParseFloat(n.Value, 64); err == nil && v != 0 {
					add(n.Pos(), n.End(), strconv.FormatFloat(1.1*v, 'g', -1, 64), n.Value+" is 10 % more")
				}
			}
		case *ast.ExprStmt:
			add(n.Pos(), n.End(), "", "a call is dropped")
		case *ast.AssignStmt:
			if n.Tok != token.DEFINE && n.Tok != token.ASSIGN {
				add(n.Pos(), n.End(), "", n.Tok.String()+" is dropped")
			}
		case *ast.ReturnStmt:
			if k := len(n.Results); k > 0 {
				if call, ok := n.Results[k-1].(*ast.CallExpr); ok && strings.Contains(fmt.Sprint(call.Fun), "New") {
					add(call.Pos(), call.End(), "nil", "an error is nil")
				}
			}
		}
		return true
	})
	return all
}

func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}
