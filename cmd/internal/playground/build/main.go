// Build makes play.wasm.gz and engine.js of folder page, in which it is run, from
// the program in folder wasm, with the Go release named in toolchain.txt so that the
// same bytes come out on every machine. With -check it writes nothing and fails
// when the files are not what the source gives.
package main

import (
	"bytes"
	"compress/gzip"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"conewright/cmd/internal/savefile"
)

func main() {
	check := flag.Bool("check", false, "compare instead of writing")
	flag.Parse()
	if err := run(*check); err != nil {
		fmt.Fprintln(os.Stderr, "build:", err)
		os.Exit(1)
	}
}

func run(check bool) error {
	release, err := os.ReadFile("toolchain.txt")
	if err != nil {
		return fmt.Errorf("run this in cmd/internal/playground/page: %w", err)
	}
	env := append(os.Environ(), "GOTOOLCHAIN="+strings.TrimSpace(string(release)), "GOFLAGS=", "GOEXPERIMENT=", "GOWASM=")
	module, err := buildModule(env)
	if err != nil {
		return err
	}
	root := exec.Command("go", "env", "GOROOT")
	root.Env = env
	goroot, err := root.Output()
	if err != nil {
		return fmt.Errorf("go env GOROOT: %w", err)
	}
	engine, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(goroot)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return err
	}
	for name, data := range map[string][]byte{"play.wasm.gz": module, "engine.js": engine} {
		if !check {
			err := savefile.Write(name, true, func(w io.WriteSeeker) error {
				_, err := w.Write(data)
				return err
			})
			if err != nil {
				return err
			}
			continue
		}
		have, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		if !bytes.Equal(have, data) {
			return fmt.Errorf("%s is not what the source gives; run: go generate ./cmd/internal/playground/page", name)
		}
	}
	return nil
}

// buildModule compiles folder wasm without paths, version stamps and symbols and
// packs it.
func buildModule(env []string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "play")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "play.wasm")
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-o", out, "../wasm")
	cmd.Env = append(env, "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	if text, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("building the module: %w\n%s", err, text)
	}
	plain, err := os.ReadFile(out)
	if err != nil {
		return nil, err
	}
	var packed bytes.Buffer
	zip, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := zip.Write(plain); err != nil {
		return nil, err
	}
	if err := zip.Close(); err != nil {
		return nil, err
	}
	return packed.Bytes(), nil
}
