package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// fit is what came of one simulated driver.
type fit struct {
	section, row, driver string
}

// said is what a fit says of one quantity.
type said struct{ off, half, covered float64 }

// outcomes is all that one estimator gave.
type outcomes struct {
	fits    map[fit]map[string]said // by quantity
	repairs map[string]string       // outcome by bench, row and run
	limits  map[string][2]float64   // in spec and runs, by noise and limit
	order   []struct{ section, row string }
	seconds float64
}

func (o *outcomes) addFits(text string) error {
	o.fits = map[fit]map[string]said{}
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return err
	}
	for _, l := range lines {
		off, err1 := strconv.ParseFloat(l[4], 64)
		half, err2 := strconv.ParseFloat(l[5], 64)
		if err1 != nil || err2 != nil {
			return fmt.Errorf("no numbers: %v", l)
		}
		covered := 0.0
		if l[6] == "true" {
			covered = 1
		}
		f := fit{l[0], l[1], l[2]}
		if o.fits[f] == nil {
			o.fits[f] = map[string]said{}
		}
		o.fits[f][l[3]] = said{off, half, covered}
		if at := (struct{ section, row string }{l[0], l[1]}); !slices.Contains(o.order, at) {
			o.order = append(o.order, at)
		}
	}
	return nil
}

func (o *outcomes) addRepairs(text string) error {
	o.repairs, o.limits = map[string]string{}, map[string][2]float64{}
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return err
	}
	for _, l := range lines {
		if n, ok := strings.CutPrefix(l[0], "limit "); ok {
			in, err1 := strconv.ParseFloat(l[2], 64)
			runs, err2 := strconv.ParseFloat(l[3], 64)
			if err1 != nil || err2 != nil {
				return fmt.Errorf("no numbers: %v", l)
			}
			o.limits[n+"/"+l[1]] = [2]float64{in, runs}
			continue
		}
		o.repairs[strings.Join(l[:3], "/")] = l[3]
	}
	return nil
}

// figure is one measure of an estimator: the mean of a number that each driver gives.
type figure struct {
	name string
	// of returns the number of one driver, over all its quantities; NaN: none.
	of func(f fit, s map[string]said) float64
	// show brings a mean, and a small change of it, to what is shown.
	show func(mean float64) float64
	unit string
}

// mean over the quantities of one fit.
func each(s map[string]said, of func(q string, s said) float64) float64 {
	sum, n := 0.0, 0.0
	for q, v := range s {
		if x := of(q, v); !math.IsNaN(x) {
			sum += x
			n++
		}
	}
	return sum / n
}

func same(x float64) float64 { return x }

// in restricts a figure to a section, and to a row unless that is "*".
func in(section, row string, of func(s map[string]said) float64) func(f fit, s map[string]said) float64 {
	return func(f fit, s map[string]said) float64 {
		if !strings.HasPrefix(f.section, section) || row != "*" && f.row != row {
			return math.NaN()
		}
		return of(s)
	}
}

// coverage of a fit: the share of its quantities that the intervals hold.
func coverage(s map[string]said) float64 {
	return 100 * each(s, func(_ string, v said) float64 { return v.covered })
}

// width of a fit: the mean logarithm of the half-widths.
func width(s map[string]said) float64 {
	return 100 * each(s, func(_ string, v said) float64 { return math.Log(v.half) })
}

// figures are those over whole sections.
func figures() []figure {
	const efficiency, ladder, outside, little, several, mass = "Efficiency", "Coverage when the model", "Coverage when no model", "Sweeps that say less", "Several sweeps", "Added mass"
	rms := func(name, section string, scale float64) figure {
		return figure{name, in(section, "*", func(s map[string]said) float64 {
			return each(s, func(_ string, v said) float64 { return v.off * v.off })
		}), func(x float64) float64 { return scale * math.Sqrt(x) }, ""}
	}
	all := []figure{rms("rms error over the bound, five quantities (target 1.05)", efficiency, 1)}
	for _, s := range []struct{ name, section string }{{"held, model in the ladder (target 94 to 96)", ladder}, {"held, no model right (target 90)", outside},
		{"held, sweeps that say less (target 90)", little}, {"held, several sweeps (target 90)", several}} {
		all = append(all, figure{s.name, in(s.section, "*", coverage), same, " %"})
	}
	all = append(all, rms("rms error of Mms, joint fit", mass, 100))
	for _, s := range []struct{ name, section string }{{"half-width, model in the ladder", ladder}, {"half-width, no model right", outside}} {
		all = append(all, figure{s.name, in(s.section, "*", width), same, " % of it"})
	}
	return all
}

// meanOf returns the mean of a figure.
func (o *outcomes) meanOf(g figure) float64 {
	sum, n := 0.0, 0.0
	for f, s := range o.fits {
		if x := g.of(f, s); !math.IsNaN(x) {
			sum += x
			n++
		}
	}
	return sum / n
}

// changed returns the change of a figure from o to p and its standard error, from the
// drivers that both have fitted.
func (o *outcomes) changed(p *outcomes, g figure) (change, std float64) {
	var d []float64
	a, b := 0.0, 0.0
	for f, s := range o.fits {
		t, ok := p.fits[f]
		if !ok {
			continue
		}
		x, y := g.of(f, s), g.of(f, t)
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		d = append(d, y-x)
		a, b = a+x, b+y
	}
	n := float64(len(d))
	slope := (g.show(a/n*(1+1e-6)) - g.show(a/n)) / (a / n * 1e-6)
	return g.show(b/n) - g.show(a/n), math.Abs(slope) * spread(d) / math.Sqrt(n)
}

// spread returns the standard deviation of d.
func spread(d []float64) float64 {
	n, sum, sum2 := float64(len(d)), 0.0, 0.0
	for _, v := range d {
		sum += v
		sum2 += v * v
	}
	return math.Sqrt(max(0, sum2-sum*sum/n) / (n - 1))
}

// share returns the part of the repairs with the outcome, in percent.
func (o *outcomes) share(outcome string) float64 {
	n := 0.0
	for _, v := range o.repairs {
		if v == outcome {
			n++
		}
	}
	return 100 * n / float64(len(o.repairs))
}

// risk returns the part of the drivers on a limit that are called in spec, in percent, and
// the number of them.
func (o *outcomes) risk() (risk, runs float64) {
	in := 0.0
	for _, v := range o.limits {
		in += v[0]
		runs += v[1]
	}
	return 100 * in / runs, runs
}

// levels lists the figures of one estimator.
func (o *outcomes) levels() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d fits, %d repairs\n\n| figure | value |\n|---|---|\n", len(o.fits), len(o.repairs))
	for _, g := range figures() {
		if g.unit != " % of it" {
			fmt.Fprintf(&b, "| %s | %.3f%s |\n", g.name, g.show(o.meanOf(g)), g.unit)
		}
	}
	for _, s := range []string{"right", "tie", "part", "missed", "wrong"} {
		fmt.Fprintf(&b, "| repairs: %s | %.1f %% |\n", s, o.share(s))
	}
	risk, runs := o.risk()
	fmt.Fprintf(&b, "| called in spec on the limit, of %.0f (target 2.5) | %.2f %% |\n", runs, risk)
	return b.String()
}

// compare lists how the figures change from o to p. A row of a section is listed where it
// changes by more than three standard errors and half a point.
func (o *outcomes) compare(p *outcomes) string {
	var b strings.Builder
	fmt.Fprintf(&b, "| figure | change | standard error |\n|---|---|---|\n")
	line := func(name, unit string, change, std float64) {
		mark := ""
		if math.Abs(change) > 3*std {
			mark = " *"
		}
		fmt.Fprintf(&b, "| %s | %+.3f%s%s | %.3f |\n", name, change, unit, mark, std)
	}
	for _, g := range figures() {
		change, std := o.changed(p, g)
		line(g.name, g.unit, change, std)
	}
	for _, s := range []string{"right", "tie", "part", "missed", "wrong"} {
		var d []float64
		for k, v := range o.repairs {
			x := 0.0
			if v == s {
				x--
			}
			if p.repairs[k] == s {
				x++
			}
			d = append(d, 100*x)
		}
		line("repairs: "+s, " %", p.share(s)-o.share(s), spread(d)/math.Sqrt(float64(len(d))))
	}
	before, n := o.risk()
	after, _ := p.risk()
	line("called in spec on the limit", " %", after-before, math.Sqrt(2*before*(100-before)/n))
	fmt.Fprintf(&b, "| time of the runs | %+.0f %% | |\n", 100*(p.seconds/o.seconds-1))
	for _, at := range o.order {
		if at.row == "" {
			continue
		}
		for _, q := range []string{"Re", "Fs", "Qms", "Qes", "Qts", "Mms", "L1k"} {
			one := func(of func(v said) float64) func(s map[string]said) float64 {
				return func(s map[string]said) float64 {
					v, ok := s[q]
					if !ok {
						return math.NaN()
					}
					return of(v)
				}
			}
			held := figure{of: in(at.section, at.row, one(func(v said) float64 { return 100 * v.covered })), show: same}
			if change, std := o.changed(p, held); math.Abs(change) > max(3*std, 0.5) {
				fmt.Fprintf(&b, "| %s: held in %s, %.0f %% | %+.1f %% * | %.1f |\n", at.row, q, o.meanOf(held), change, std)
			}
		}
	}
	return b.String()
}
