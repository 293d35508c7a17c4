package wording

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/constant"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/friction"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// madeNotice is one place of the source where a notice is made.
type madeNotice struct {
	place string
	code  string
	facts map[string]types.Type
}

// listed is what go list tells of a package.
type listed struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
	DepOnly                 bool
}

// madeNotices type-checks all packages of the module and finds every place where a notice is
// made: every call with a code and, right after it, facts.
func madeNotices(t *testing.T) []madeNotice {
	t.Helper()
	cmd := exec.Command("go", "list", "-deps", "-export", "-json=ImportPath,Dir,Export,GoFiles,DepOnly", "./ts/...", "./sweeps/...", "./cmd/...")
	cmd.Dir = "../../.."
	out, err := cmd.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			t.Fatalf("%v: %s", err, exit.Stderr)
		}
		t.Fatal(err)
	}
	exports := map[string]string{}
	var ours []listed
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		exports[p.ImportPath] = p.Export
		if !p.DepOnly {
			ours = append(ours, p)
		}
	}
	fset := token.NewFileSet()
	imports := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	var all []madeNotice
	for _, p := range ours {
		if p.ImportPath == "conewright/ts/notice" {
			continue
		}
		var files []*ast.File
		for _, name := range p.GoFiles {
			f, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, f)
		}
		info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
		if _, err := (&types.Config{Importer: imports}).Check(p.ImportPath, fset, files, info); err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			all = append(all, noticesIn(t, fset, f, info)...)
		}
	}
	return all
}

// noticesIn finds the notices that are made in one file.
func noticesIn(t *testing.T, fset *token.FileSet, f *ast.File, info *types.Info) []madeNotice {
	var all []madeNotice
	parameters := map[types.Object]bool{} // those of the functions so far, which begin with them
	ast.Inspect(f, func(n ast.Node) bool {
		if function, ok := n.(*ast.FuncType); ok {
			for _, field := range function.Params.List {
				for _, name := range field.Names {
					parameters[info.Defs[name]] = true
				}
			}
		}
		if lit, ok := n.(*ast.CompositeLit); ok && isNotice(info.Types[lit].Type, "Notice") {
			t.Errorf("%v: make it with notice.New, so that this test sees it", fset.Position(lit.Pos()))
		}
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		signature, ok := info.Types[call.Fun].Type.(*types.Signature)
		if !ok {
			return true
		}
		for i := 1; i < signature.Params().Len() && i < len(call.Args); i++ {
			if !isNotice(signature.Params().At(i).Type(), "Facts") {
				continue
			}
			made := madeNotice{place: fset.Position(call.Pos()).String(), facts: map[string]types.Type{}}
			code := info.Types[call.Args[i-1]].Value
			switch {
			case parameters[used(call.Args[i-1], info)] && parameters[used(call.Args[i], info)]:
				continue // where this is called the two are written
			case code == nil || code.Kind() != constant.String:
				t.Errorf("%s: the code is not written here", made.place)
				continue
			}
			made.code = constant.StringVal(code)
			if !readFacts(call.Args[i], info, made.facts) {
				t.Errorf("%s: the facts of %s are not written here", made.place, made.code)
			}
			all = append(all, made)
		}
		return true
	})
	return all
}

// isNotice says whether a type is the one of that name in package notice.
func isNotice(t types.Type, name string) bool {
	named, ok := t.(*types.Named)
	return ok && named.Obj().Name() == name && named.Obj().Pkg() != nil && named.Obj().Pkg().Path() == "conewright/ts/notice"
}

// used returns what an argument that is a plain name stands for, nil for any other.
func used(e ast.Expr, info *types.Info) types.Object {
	if id, ok := e.(*ast.Ident); ok {
		return info.Uses[id]
	}
	return nil
}

// readFacts reads names and types of the facts that an argument lists; nil lists none.
func readFacts(e ast.Expr, info *types.Info, facts map[string]types.Type) bool {
	if id, ok := e.(*ast.Ident); ok && id.Name == "nil" {
		return true
	}
	lit, ok := e.(*ast.CompositeLit)
	if !ok {
		return false
	}
	for _, elt := range lit.Elts {
		pair := elt.(*ast.KeyValueExpr)
		name := info.Types[pair.Key].Value
		if name == nil {
			return false
		}
		facts[constant.StringVal(name)] = types.Default(info.Types[pair.Value].Type)
	}
	return true
}

// sampleOf returns a value of the type of a fact, false for a type that a fact must not
// have. Facts are numbers in SI units, words, a yes or no, or small values of package ts.
func sampleOf(t types.Type, yes bool) (any, bool) {
	switch t.String() {
	case "bool":
		return yes, true
	case "float64":
		return 1.5, true
	case "int":
		return 3, true
	case "string":
		return "word", true
	case "[]float64":
		return []float64{10, 20, 30, 40, 50}, true
	case "conewright/ts/param.ID":
		return param.Fs, true
	case "conewright/ts/param.Mounting":
		return param.Baffle, true
	case "conewright/ts/verdict.Conflict":
		return verdict.Conflict{IDs: []param.ID{param.Fs, param.Mms, param.Cms}, Of: param.Fs, Lo: 30, Hi: 33}, true
	case "conewright/ts/fitted.MassMethod":
		return fitted.MassMethod{Name: "joint fit", Value: 0.03, Std: 0.001}, true
	case "[]conewright/ts/fitted.MassMethod":
		return []fitted.MassMethod{{Name: "BL unchanged", Value: 0.028, Std: 0.001}}, true
	case "conewright/ts/friction.Found":
		return friction.Found{Rubs: true, Force: 5e-3, Low: 4e-3, High: 6e-3, Least: 1e-3, Share: 0.2, Voltage: 0.3, Levels: 1, KnowsBL: yes}, true
	case "conewright/ts/change.NullTest":
		return change.NullTest{Compared: []param.ID{param.Re}, DoF: 1, P: 0.01}, true
	}
	return nil, false
}

// Every notice that any package makes has a sentence that uses no fact but those which
// are there, and no sentence is left over.
func TestEveryCodeHasASentence(t *testing.T) {
	made := madeNotices(t)
	codes := map[string]bool{}
	for _, m := range made {
		codes[m.code] = true
		if _, ok := sentences[m.code]; !ok {
			t.Errorf("%s: there is no sentence for %s", m.place, m.code)
			continue
		}
		for _, yes := range []bool{true, false} {
			n := notice.New(m.code, notice.Facts{}).Because(errors.New("the cause"))
			for name, kind := range m.facts {
				value, ok := sampleOf(kind, yes)
				if !ok {
					t.Errorf("%s: the fact %q of %s is a %v: make it a number in SI units or a word, or give sampleOf one", m.place, name, m.code, kind)
				}
				n.Facts[name] = value
			}
			if problem := tried(*n); problem != "" {
				t.Errorf("%s: %s: %s", m.place, m.code, problem)
			}
		}
	}
	for code := range sentences {
		if !codes[code] {
			t.Errorf("nothing gives the code %s, which has a sentence", code)
		}
	}
	total := 0
	for _, part := range bySubject {
		total += len(part)
	}
	if total != len(sentences) {
		t.Errorf("%d sentences for %d codes: two subjects have the same code", total, len(sentences))
	}
	t.Logf("%d codes, made in %d places", len(codes), len(made))
}

// tried says a notice and returns what is wrong with the sentence, "" for nothing.
func tried(n notice.Notice) (problem string) {
	defer func() {
		if p := recover(); p != nil {
			problem = fmt.Sprint(p)
		}
	}()
	said := Notice(n)
	switch {
	case said.Message == "":
		return "it says nothing"
	case strings.Contains(said.Message+said.Hint, "%!"):
		return fmt.Sprintf("it says %q, %q", said.Message, said.Hint)
	case said.Hint == "":
		return fmt.Sprintf("it says %q, and not what to do", said.Message)
	}
	return ""
}
