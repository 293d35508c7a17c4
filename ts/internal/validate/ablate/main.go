// Ablate switches off one mechanism of the estimate at a time, runs the validation on the same
// simulated sweeps as without, and writes what each mechanism brings to the stated
// targets, with the standard error of that figure:
//
//	go run ./ts/internal/validate/ablate -part 0.2 -repairs 10 > figures.md
//
// It takes two minutes of one core for each mechanism.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"time"
)

func main() {
	part := flag.Float64("part", 0.2, "part of the full number of runs of package validate")
	repairs := flag.Int("repairs", 10, "runs of each row of package repairs")
	only := flag.String("only", "", "regular expression for the names of the mechanisms")
	flag.Parse()
	wanted, err := regexp.Compile(*only)
	if err == nil {
		err = study(*part, *repairs, wanted)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "ablate:", err)
		os.Exit(1)
	}
}

// study compares each mechanism with the whole.
func study(part float64, repairs int, wanted *regexp.Regexp) error {
	root, err := os.Getwd()
	if err != nil {
		return err
	}
	whole, err := measure(root, mechanism{}, part, repairs)
	if err != nil {
		return err
	}
	fmt.Print(whole.levels())
	for _, m := range mechanisms {
		if !wanted.MatchString(m.name) {
			continue
		}
		without, err := measure(root, m, part, repairs)
		if err != nil {
			return err
		}
		fmt.Printf("\n## Without: %s\n\n%s", m.name, whole.compare(without))
	}
	return nil
}

// measure runs the validation without a mechanism.
func measure(root string, m mechanism, part float64, repairs int) (*outcomes, error) {
	dir, err := os.MkdirTemp("", "ablate")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	list, err := m.overlay(root, dir)
	if err != nil {
		return nil, err
	}
	var took time.Duration // of the run last, without the compiler
	run := func(pkg string, args ...string) (string, error) {
		program := filepath.Join(dir, filepath.Base(pkg))
		var stdout, stderr bytes.Buffer
		build := exec.Command("go", "build", "-overlay", list, "-o", program, pkg)
		build.Dir, build.Stderr = root, &stderr
		if err := build.Run(); err != nil {
			return "", fmt.Errorf("%s: %w\n%s", m.name, err, stderr.String())
		}
		cmd := exec.Command(program, args...)
		cmd.Stdout, cmd.Stderr = &stdout, &stderr
		start := time.Now()
		if err := cmd.Run(); err != nil {
			return "", fmt.Errorf("%s: %w\n%s", m.name, err, stderr.String())
		}
		took = time.Since(start)
		return stdout.String(), nil
	}
	table := filepath.Join(dir, "outcomes.csv")
	if _, err := run("./ts/internal/validate", "-part", strconv.FormatFloat(part, 'g', -1, 64), "-outcomes", table); err != nil {
		return nil, err
	}
	o := &outcomes{seconds: took.Seconds()}
	data, err := os.ReadFile(table)
	if err != nil {
		return nil, err
	}
	if err := o.addFits(string(data)); err != nil {
		return nil, err
	}
	text, err := run("./ts/internal/repairs/table", "-outcomes", strconv.Itoa(repairs))
	if err != nil {
		return nil, err
	}
	return o, o.addRepairs(text)
}
