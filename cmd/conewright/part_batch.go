package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/lot"
	"conewright/ts/network"
	"conewright/ts/verdict"
)

var partBatchCommand = command{
	name:     "part batch",
	synopsis: "DIR|FILE... [options]",
	summary:  "a drawer of parts, matched in pairs",
	about: `Measures many parts and says which go together in pairs, so that the sum of their differences is
smallest; a pair that differs by more than --within is none. The recordings of the known things
may lie in the same folder.`,
	examples: `
conewright part batch drawer --open drawer/open.wav --short drawer/short.wav --load 100.0ohm=drawer/load.wav
conewright part batch c*.wav --nominal 8uF --tolerance 10% --within 1% --open open.wav --short short.wav --load 100.0ohm=load.wav`,
	setup: func(g *optionGroups) action {
		var p partOptions
		p.define(g)
		return func(c *console, args []string) (answer, error) {
			paths, err := p.drawer(args)
			if err != nil {
				return done, err
			}
			if err := p.open(paths); err != nil {
				return done, err
			}
			defer p.close()
			var parts []report.PartSide
			var d report.Drawer
			for _, path := range paths {
				one, err := p.measure(path, "")
				if err != nil {
					message, hint := wording.Error(err)
					d.Failed = append(d.Failed, report.FailedPart{Input: saved.Input{Path: path}, Why: wording.Said{Code: "not-read", Message: message, Hint: hint}})
					continue
				}
				parts = append(parts, one)
			}
			if err := p.match(parts, &d); err != nil {
				return done, err
			}
			r := report.PartBatch(report.Job{Version: version(), Inputs: p.inputs, Spec: p.sheet.input}, parts, d, p.settings(), p.wanted)
			a := done
			if r.Judged {
				a = answerTo(r.Verdict)
			}
			if err := p.out.write(c, r); err != nil {
				return done, err
			}
			if len(d.Failed) > 0 {
				return a, &unreadParts{len(d.Failed), len(paths)}
			}
			return a, nil
		}
	},
}

// unreadParts is the error after a run in which some files were of no part.
type unreadParts struct{ failed, all int }

func (e *unreadParts) Error() string {
	return fmt.Sprintf("%d of %d files could not be measured", e.failed, e.all)
}

// Hint says where the reasons are.
func (e *unreadParts) Hint() string { return "the notes say why; the others stand" }

// drawer are the files of the parts: those of a folder but for the known things, or the ones named.
func (p *partOptions) drawer(args []string) ([]string, error) {
	if len(args) == 0 {
		return nil, wrongUse("name the folder with the recordings: conewright part batch drawer", "no file given")
	}
	if info, err := os.Stat(args[0]); len(args) > 1 || err == nil && !info.IsDir() {
		return args, nil
	}
	units, err := unitsInFolder(args[0])
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, u := range units {
		path := u.files[0].path
		known := slices.ContainsFunc([]string{p.openFile, p.shortFile, p.load.path}, func(other string) bool {
			return other != "" && filepath.Clean(other) == filepath.Clean(path)
		})
		if !known {
			paths = append(paths, path)
		}
	}
	if len(paths) == 0 {
		return nil, wrongUse("name the folder that holds the recordings of the parts", "there is no part in %s", args[0])
	}
	return paths, nil
}

// match pairs the parts. A part that is farther from the next one of its kind than a pair may differ does not go with it, so
// that a drawer may hold parts of many values; among those that are near each other the sum of the differences is smallest.
func (p *partOptions) match(parts []report.PartSide, d *report.Drawer) error {
	for _, kind := range []network.Kind{network.Capacitor, network.Coil, network.Resistor} {
		limit := p.pairLimit(kind)
		size := func(i int) float64 { e, _ := parts[i].Found.Parameters.Get(limit.ID); return e.Value }
		var at []int
		for i, one := range parts {
			if one.Found.Kind == kind {
				at = append(at, i)
			}
		}
		slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(size(a), size(b)) })
		for from := 0; from < len(at); {
			upto := from + 1
			for upto < len(at) && size(at[upto]) <= size(at[upto-1])*(1+limit.Percent/100) {
				upto++
			}
			if err := matchNear(parts, at[from:upto], limit, d); err != nil {
				return err
			}
			from = upto
		}
	}
	slices.SortStableFunc(d.Pairs, func(a, b report.DrawerPair) int { return cmp.Compare(a.Paired.Distance, b.Paired.Distance) })
	return nil
}

// matchNear pairs the parts at, which are near each other.
func matchNear(parts []report.PartSide, at []int, limit lot.PairLimit, d *report.Drawer) error {
	points, err := lot.NewPairPoints([]lot.PairLimit{limit})
	if err != nil {
		return err
	}
	for _, i := range at {
		if err := points.Add(parts[i].Found.Parameters); err != nil {
			return err
		}
	}
	alone := func(i int) { d.Left = append(d.Left, filepath.Base(parts[i].Input.Path)) }
	found := lot.Assign(points)
	for _, pair := range found.Pairs {
		a, b := at[pair[0]], at[pair[1]]
		paired, err := lot.PairParts(parts[a].Found.Parameters, parts[b].Found.Parameters, limit)
		if err != nil {
			return err
		}
		if paired.Verdict == verdict.OutOfSpec {
			alone(a)
			alone(b)
			continue
		}
		d.Pairs = append(d.Pairs, report.DrawerPair{A: a, B: b, Paired: paired})
	}
	if found.Left >= 0 {
		alone(at[found.Left])
	}
	return nil
}
