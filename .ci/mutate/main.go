// Mutate changes the program in one small place at a time and runs the tests: a change that
// no test notices is a hole in them, or makes no difference.
//
//	go run .ci/mutate/main.go [-n 30] [-seed 1] PACKAGE...
//
// PACKAGE is a folder such as ./ts/ring; its own tests run first, then those of -and. No file of
// the tree is touched: the changed file takes the place of the other by go test -overlay.
package main

import (
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

func main() {
	n := flag.Int("n", 30, "changes to try, a sample of all")
	seed := flag.Uint64("seed", 1, "of the sample")
	and := flag.String("and", "./ts ./ts/change ./ts/lot ./cmd/internal/wording ./cmd/internal/report", "packages whose tests run as well")
	flag.Parse()
	var all []change
	for _, dir := range flag.Args() {
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
	noticed, tried := 0, 0
	for _, c := range all {
		if tried == *n {
			break
		}
		dir := "./" + filepath.ToSlash(filepath.Dir(c.file))
		outcome := try(c, dir)
		if outcome == "survived" {
			outcome = try(c, strings.Fields(*and)...)
		}
		if outcome == "does not build" {
			continue
		}
		tried++
		if outcome != "survived" {
			noticed++
		}
		fmt.Printf("%-9s %s:%d %s\n", outcome, c.file, c.line, c.what)
	}
	fmt.Printf("%d of %d changes noticed, a sample of %d places\n", noticed, tried, len(all))
}

// try runs the tests with a change.
func try(c change, packages ...string) string {
	source, err := os.ReadFile(c.file)
	check(err)
	dir, err := os.MkdirTemp("", "mutate-")
	check(err)
	defer os.RemoveAll(dir)
	changed := filepath.Join(dir, "changed.go")
	check(os.WriteFile(changed, []byte(string(source[:c.from])+c.text+string(source[c.to:])), 0o600))
	absolute, err := filepath.Abs(c.file)
	check(err)
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {absolute: changed}})
	check(err)
	list := filepath.Join(dir, "overlay.json")
	check(os.WriteFile(list, overlay, 0o600))
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	if exec.CommandContext(ctx, "go", "build", "-overlay", list, "./"+filepath.ToSlash(filepath.Dir(c.file))).Run() != nil {
		return "does not build"
	}
	args := append([]string{"test", "-short", "-failfast", "-vet=off", "-overlay", list}, packages...)
	switch err := exec.CommandContext(ctx, "go", args...).Run(); {
	case ctx.Err() != nil:
		return "no end"
	case err != nil:
		return "noticed"
	}
	return "survived"
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
