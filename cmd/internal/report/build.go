package report

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Job is what every report carries, whatever was asked.
type Job struct {
	Version string
	Inputs  []saved.Input
	Spec    *SpecInput // nil: no spec sheet
	All     bool       // every quantity in the tables, not only the usual ones
}

// NewSide is a fitted driver with its sweeps named by the files they came from;
// inputs and sweeps are in the same order.
func NewSide(label string, inputs []saved.Input, bench saved.Settings, sweeps []measured.Sweep, f *fitted.Result) Side {
	s := Side{Label: label, Parameters: f.Parameters, Fitted: f, Bench: bench}
	for i, c := range f.Curves {
		s.Curves = append(s.Curves, Curve{Name: curveName(inputs[i]), Load: inputs[i].Load, Curve: c})
	}
	for i := range sweeps {
		if s.Harmonics == nil && sweeps[i].Load.Kind == measured.Free {
			s.Harmonics = sweeps[i].Impedance.Harmonics
		}
		if s.FreeLines == nil && sweeps[i].Load.Kind == measured.Free {
			s.FreeLines = sweeps[i].Impedance.FreeLines
		}
		s.Noticed = append(s.Noticed, wording.Notices(sweeps[i].Impedance.Warnings)...)
	}
	var differ *notice.Notice
	if s.Level, differ = levelOf(sweeps); differ != nil {
		s.Noticed = append(s.Noticed, wording.Notice(*differ))
	}
	return s
}

// Fit reports the parameters of one driver.
func Fit(job Job, side Side) *Report {
	r := newReport(job, "fit", side)
	r.Title = "Parameters of " + subject(job.Inputs, "")
	r.Body = contradictions(side)
	r.Tables = append(r.Tables, parameterTable(side.Parameters, job.All))
	if f := side.Fitted; f != nil {
		r.addQuality(f)
	}
	r.tellFriction(side)
	r.Next = withFriction(nil, side)
	if t := side.Travel; t != nil {
		last := &r.Tables[0]
		last.Note += fmt.Sprintf(" While it was measured the cone moved by at most %.2g mm to either side, at %.3g Hz.", 1e3*t.Peak, t.Freq)
	}
	return r
}

// Check reports one driver against its spec sheet.
func Check(job Job, side Side, c *verdict.Checked) *Report {
	r := newReport(job, "check", side)
	r.Title = subject(job.Inputs, "") + " against the sheet " + quoted(c.Spec.Name)
	r.judge(c)
	r.Body = slices.Concat(contradictions(side), wording.Checked(c), wording.Readings(c))
	r.tellFriction(side)
	values := parameterTable(side.Parameters, job.All)
	values.Title = "All values"
	r.Tables = append(r.Tables, checkTable(c), values)
	if side.Fitted != nil {
		r.addQuality(side.Fitted)
	}
	r.Next = withFriction(wording.Steps(c.Next), side)
	r.warnAssumed([]Side{side})
	return r
}

// Compare reports what a repair changed. The sides are before and after, and
// stripped where there is one.
func Compare(job Job, sides []Side, c *change.Compared) *Report {
	r := newReport(job, "compare", sides...)
	r.Title = fmt.Sprintf("%s against %s", subject(job.Inputs, "after"), subject(job.Inputs, "before"))
	r.Compared = c
	r.Body = append(contradictions(sides...), wording.Compared(c)...)
	r.tellFriction(sides[1])
	if c.Checked != nil {
		r.judge(c.Checked)
		r.Tables = append(r.Tables, checkTable(c.Checked))
	}
	r.warnAssumed(sides)
	r.Tables = append(r.Tables, changeTable(c, job.All))
	r.Next = withFriction(wording.Next(c), sides[1])
	r.warn(wording.Notices(c.Warnings))
	return r
}

// tellFriction says that the coil is free, that it rubs, or that it cannot be told, and what follows the level. That it rubs is a
// warning too.
func (r *Report) tellFriction(s Side) {
	if s.Friction != nil {
		r.Body = append(r.Body, wording.Friction(*s.Friction))
	}
	if s.FreeLines != nil {
		r.Body = append(r.Body, wording.FreeLines(*s.FreeLines))
	}
	if s.Trend != nil {
		r.Body = append(r.Body, wording.Trend(*s.Trend))
	}
}

// withFriction adds the level that would decide about friction, in place of a step that only asks for another one.
func withFriction(steps []wording.Step, s Side) []wording.Step {
	level := wording.FrictionNext(s.Friction)
	if level == nil {
		return steps
	}
	steps = slices.DeleteFunc(steps, func(s wording.Step) bool { return s.Kind == level[0].Kind })
	return append(steps, level...)
}

func newReport(job Job, kind string, sides ...Side) *Report {
	r := &Report{Schema: "conewright/" + kind + "/1", Version: job.Version, Inputs: job.Inputs, Sheet: job.Spec, Bench: sides[0].Bench, Sides: sides}
	for _, s := range sides {
		if !slices.Equal(s.Bench, r.Bench) {
			r.Bench = nil // no one bench stands behind the result
		}
	}
	r.warnSides(sides)
	return r
}

// warnSides adds what was noticed about each side, and says about which; what was
// noticed about several is said once.
func (r *Report) warnSides(sides []Side) {
	for _, s := range sides {
		for _, w := range s.warnings() {
			if s.Label != "" {
				var of []string
				for _, other := range sides {
					if slices.Contains(other.warnings(), w) {
						of = append(of, other.Label)
					}
				}
				w.Message = wording.List(of) + ": " + w.Message
			}
			r.warn([]wording.Said{w})
		}
	}
}

// warnAssumed adds one warning for all sides whose uncertainty rests on an assumption about the
// bench.
func (r *Report) warnAssumed(sides []Side) {
	var which []string
	for _, s := range sides {
		if s.assumed() {
			which = append(which, s.Label)
		}
	}
	if which == nil {
		return
	}
	w := wording.AssumedRepeatability()
	if len(which) < len(sides) {
		w.Message = wording.List(which) + ": " + w.Message
	}
	r.warn([]wording.Said{w})
}

// assumed says whether an uncertainty of the side rests on an assumption about the bench.
func (s Side) assumed() bool {
	for i := range s.Parameters.IDs {
		if s.Parameters.Assumed(i) {
			return true
		}
	}
	return false
}

// contradictions says first of all where a meter and a sweep cannot both be right.
func contradictions(sides ...Side) []string {
	var say []string
	for _, s := range sides {
		if re, ok := s.Parameters.Get(param.Re); ok && s.Parameters.MeterOff != 0 {
			say = append(say, wording.Contradiction(s.Label, re, s.Parameters.MeterOff))
		}
	}
	return say
}

// warnings is what was noticed while a side was read and fitted.
func (s Side) warnings() []wording.Said {
	if s.Fitted == nil {
		return s.Noticed
	}
	return slices.Concat(s.Noticed, wording.Notices(s.Fitted.Warnings))
}

// SeparateBenches makes the errors of the bench independent between sides that
// were measured in different ways: a resistor is one and the same error only
// while it is the same resistor. It returns a warning if it had to.
func SeparateBenches(sides []Side) []notice.Notice {
	same := true
	for _, s := range sides[1:] {
		same = same && slices.Equal(s.Bench, sides[0].Bench)
	}
	if same {
		return nil
	}
	for i := range sides {
		p := &sides[i].Parameters
		p.Components = slices.Clone(p.Components)
		for k := range p.Components {
			if p.Components[k].Part == param.BenchPart {
				p.Components[k].Own = true
			}
		}
	}
	return []notice.Notice{*notice.New("benches-differ", nil)}
}

func (r *Report) judge(c *verdict.Checked) {
	r.Judged, r.Verdict = true, c.Verdict
	r.Spec, r.Checked = &c.Spec, c
	r.Headline = headline(c)
	r.warn(wording.Notices(c.Warnings))
}

// warn adds warnings, each once.
func (r *Report) warn(warnings []wording.Said) {
	for _, w := range warnings {
		if !slices.Contains(r.Warnings, w) {
			r.Warnings = append(r.Warnings, w)
		}
	}
}

// Notes are the warnings as they are shown below the tables: of one that stands on top already, only what to do about it.
func (r *Report) Notes() []string {
	var notes []string
	for _, w := range r.Warnings {
		switch {
		case !r.onTop(w):
			notes = append(notes, joined(w.Message, "; ", w.Hint))
		case w.Hint != "":
			notes = append(notes, w.Hint)
		}
	}
	return notes
}

// onTop says whether a paragraph on top says what w warns of; a message begins with the sweep that it is about.
func (r *Report) onTop(w wording.Said) bool {
	return slices.ContainsFunc(r.Body, func(p string) bool {
		_, n := utf8.DecodeRuneInString(p)
		return n > 0 && strings.HasSuffix(w.Message, strings.ToLower(p[:n])+strings.TrimSuffix(p[n:], "."))
	})
}

// addQuality says how well the model follows the sweep, and what the other
// methods find.
func (r *Report) addQuality(f *fitted.Result) {
	last := &r.Tables[len(r.Tables)-1]
	last.Note = fmt.Sprintf("Coil model %s%s; %d points from %s to %s Hz, the fit misses them by %.2g %% rms.",
		wording.Plain(f.Model.Coil), suspension(f.Model),
		f.Quality.Points, plainHz(f.Quality.BandHz[0]), plainHz(f.Quality.BandHz[1]), f.Quality.ResidualRMSPercent)
	if len(f.Methods) > 0 {
		r.Tables = append(r.Tables, methodTable(f.Methods))
	}
}

// subject names what was measured by its files.
func subject(inputs []saved.Input, side string) string {
	first, n := "", 0
	for _, in := range inputs {
		if in.Side != side {
			continue
		}
		if n == 0 || in.Load.Kind == measured.Free && first == "" {
			first = filepath.Base(in.Path)
		}
		n++
	}
	switch n {
	case 0:
		return "the driver"
	case 1:
		return first
	}
	return fmt.Sprintf("%s (and %d more)", first, n-1)
}

func quoted(name string) string {
	if name == "" {
		return "without a name"
	}
	return "“" + name + "”"
}

// suspension says what the model of the suspension has beside a spring.
func suspension(m fitted.ModelChoice) string {
	if m.Creep {
		return " with suspension creep"
	}
	return ""
}
