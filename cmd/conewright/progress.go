package main

import (
	"fmt"
	"io"
	"os"
	"time"
)

// progress counts units on a terminal; anywhere else it is silent.
type progress struct {
	w            io.Writer // nil: silent
	all          int
	units, fails int
	shown        time.Time
}

func newProgress(w io.Writer, all int) *progress {
	p := &progress{all: all}
	if f, ok := w.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			p.w = w
		}
	}
	return p
}

// step counts one unit.
func (p *progress) step(failed bool) {
	p.units++
	if failed {
		p.fails++
	}
	if p.w == nil || p.units < p.all && time.Since(p.shown) < 100*time.Millisecond {
		return
	}
	p.shown = time.Now()
	fmt.Fprintf(p.w, "\r%d of %d units", p.units, p.all)
	if p.fails > 0 {
		fmt.Fprintf(p.w, ", %d failed", p.fails)
	}
}

// end leaves the line.
func (p *progress) end() {
	if p.w != nil && p.units > 0 {
		fmt.Fprintln(p.w)
	}
}
