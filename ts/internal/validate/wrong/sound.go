package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
)

// readable counts the files that a reader must read.
func readable(seed uint64, n int) string {
	var lock sync.Mutex
	var read_, wrong int
	asked := map[string]int{}
	parallel(n, func(i int) {
		data, _, f := truth.Readable(seed + uint64(i))
		z, err := read(data)
		lock.Lock()
		defer lock.Unlock()
		switch {
		case err != nil:
			asked[strings.Fields(worded(err))[0]]++
		case differs(z, f):
			wrong++
		default:
			read_++
		}
	})
	text := fmt.Sprintf("\n## Files that must be read\n\nOf %d tables in many layouts (a quarter without header, some with a misspelt name, unsorted rows, marks, gaps) %d are read,\n%d of them wrongly%s.", n, read_+wrong, wrong, mark(wrong == 0))
	for _, code := range sorted(asked) {
		text += fmt.Sprintf(" %d are asked about (%s).", asked[code], code)
	}
	return text + "\n"
}

// falseAlarms counts the doubts about drivers that are alone.
func falseAlarms(seed uint64, n int) string {
	text := "\n## Drivers that are alone\n\nHow often they are doubted or refused. Target: none.\n\n| what | n | doubted | refused | by |\n|---|---|---|---|---|\n"
	row := func(name string, n int, doubt func(i int) (by string, refused bool)) {
		var lock sync.Mutex
		doubted, refused := 0, 0
		by := map[string]int{}
		parallel(n, func(i int) {
			why, no := doubt(i)
			lock.Lock()
			defer lock.Unlock()
			if why == "" {
				return
			}
			by[why]++
			refused += count(no)
			doubted += count(!no)
		})
		var names []string
		for _, k := range sorted(by) {
			names = append(names, fmt.Sprintf("%d %s", by[k], k))
		}
		line := fmt.Sprintf("| %s | %d | %d%s | %d%s | %s |\n", name, n, doubted, mark(doubted == 0), refused, mark(refused == 0), strings.Join(names, ", "))
		fmt.Fprint(os.Stderr, line)
		text += line
	}
	one := func(z measured.Impedance) (string, bool) {
		f, err := fit(z)
		switch {
		case err != nil:
			return worded(err), true
		case len(f.Parameters.Doubts) > 0:
			return codeOf(f.Parameters.Doubts[0]), false
		}
		return "", false
	}
	row("on a bench", n, func(i int) (string, bool) {
		alone, _ := truth.Connect(seed+uint64(i), truth.InClosedBox)
		return one(impedance(alone.Sweep))
	})
	row("exported, no law", n, func(i int) (string, bool) { return one(table(truth.RealFile(seed+uint64(i), truth.Choice{}))) })
	row("woofer with a dip of 5 to 30 %, exported", n, func(i int) (string, bool) {
		return one(table(truth.Healthy(seed+uint64(i), 0.05+0.25*float64(i)/float64(n))))
	})
	row("ringing cut by a time window", n, func(i int) (string, bool) { return one(table(truth.Windowed(seed + uint64(i)))) })
	pair := func(repair truth.Repaired) func(i int) (string, bool) {
		return func(i int) (string, bool) {
			a, b := truth.BeforeAfter(seed+uint64(i), truth.Plain, truth.CommonBench(0.01), repair, truth.NoMass)
			before, err1 := fit(impedance(a.Free.Sweep))
			after, err2 := fit(impedance(b.Free.Sweep))
			if err1 != nil || err2 != nil {
				return "refused", true
			}
			c, err := ts.Compare(before.Parameters, after.Parameters, change.Options{Direct: fitted.Between(before, after)})
			if err != nil {
				return worded(err), true
			}
			if len(c.Withheld) > 0 {
				return codeOf(c.Withheld[0]), false
			}
			return "", false
		}
	}
	row("compared, untouched", n, pair(truth.Repaired{}))
	row("compared, 35 % stiffer and 3 % heavier", n, pair(truth.Repaired{Stiffness: 1.35, Mass: 1.03}))
	row("compared, 30 % softer and 8 % heavier", n, pair(truth.Repaired{Stiffness: 0.7, Mass: 1.08}))
	open, err := filepath.Glob("ts/internal/truth/testdata/open/*.csv")
	if err != nil || len(open) == 0 {
		panic("wrong: run it at the top of the module")
	}
	row("measured by others", len(open), func(i int) (string, bool) {
		data, err := os.ReadFile(open[i])
		if err != nil {
			panic(err)
		}
		z, err := read(data)
		if err != nil {
			return worded(err), true
		}
		return one(z)
	})
	return text
}
