package benchpage

import (
	"fmt"
	"html/template"
	"maps"
	"math/cmplx"
	"reflect"
	"slices"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/boxed"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// view is everything that a page shows, but for what changes while sound runs.
type view struct {
	Screen  benchjob.Screen   `json:"screen"`
	Reached []benchjob.Screen `json:"reached"`
	Typed   map[string]string `json:"typed"`
	Name    string            `json:"name"`
	Sheet   string            `json:"sheet"`
	Sheets  []Sheet           `json:"sheets"` // on the screen where one is chosen
	Paper   map[string]string `json:"paper"`
	Blank   []PaperValue      `json:"blank"` // the values of a printed data sheet that can be typed
	Level   float64           `json:"level"`
	Phase   benchjob.Phase    `json:"phase"`
	Mass    string            `json:"mass"`
	Box     benchjob.Box      `json:"box"`
	Part    benchjob.Part     `json:"part"`
	Parts   *PartsFound       `json:"parts"` // on their screen
	Sweeps  []sweepView       `json:"sweeps"`
	Values  []valueView       `json:"values"`
	Now     *curveView        `json:"now"`   // the last sweep of this phase and load
	Other   *curveView        `json:"other"` // what it is held against
	Run     string            `json:"run"`
	Mine    bool              `json:"mine"` // this page runs it
	Problem *wording.Said     `json:"problem"`
	Unsaved string            `json:"unsaved"`
	Found   []string          `json:"found"` // by the check of the bench
	Answer  *answer           `json:"answer"`
	Folder  string            `json:"folder"`
	Book    string            `json:"book"` // says which book it would go into
	Sound   soundView         `json:"sound"`
	Mishaps []string          `json:"mishaps"`
	Waiting []waitingJob      `json:"waiting"` // that can be gone on with
	Session *sessionView      `json:"session"` // of the browser's sound, for the page that owns it
}

type sweepView struct {
	File  string         `json:"file"`
	Title string         `json:"title"`
	Phase benchjob.Phase `json:"phase"`
	Mass  string         `json:"mass"`
	Aside bool           `json:"aside"`
	Notes []wording.Said `json:"notes"`
	Here  bool           `json:"here"` // it is of the phase and load that the screen is about
}

type valueView struct {
	Symbol   string `json:"symbol"`
	Name     string `json:"name"`
	Value    string `json:"value"`
	Interval string `json:"interval"`
	Before   string `json:"before"`
}

type soundView struct {
	Kind    string         `json:"kind"`
	Name    string         `json:"name"`
	Outputs []sound.Device `json:"outputs"`
	Inputs  []sound.Device `json:"inputs"`
	Output  string         `json:"output"`
	Input   string         `json:"input"`
}

// liveView is what changes while sound runs.
type liveView struct {
	Peak    [2]float64     `json:"peak"`
	Passing float64        `json:"passing"` // Hz
	Part    float64        `json:"part"`
	Curve   *curveView     `json:"curve"`
	Tip     []float64      `json:"tip"` // Hz, ohm, degrees
	Values  []valueView    `json:"values"`
	Found   []wording.Said `json:"found"`
}

// curveView is an impedance for the chart.
type curveView struct {
	Freq  []float64 `json:"f"` // Hz
	Ohm   []float64 `json:"z"`
	Phase []float64 `json:"p"` // degrees
}

// answer is what the sweeps say.
type answer struct {
	Title    string          `json:"title"`
	Mark     string          `json:"mark"` // "good", "bad", "open" or "" without a judgement
	Headline string          `json:"headline"`
	Body     []string        `json:"body"`
	Next     []wording.Step  `json:"next"`
	Cautions []string        `json:"cautions"`
	Warnings []wording.Said  `json:"warnings"`
	Figures  []template.HTML `json:"figures"`
	Command  string          `json:"command"`
	Cabinet  bool            `json:"cabinet"` // it is of the driver in its cabinet
	Kept     *Kept           `json:"kept"`    // in the book; nil: not since this answer
	report   *report.Report
}

// pointOf rounds a point for the chart, which shows no more.
func pointOf(f float64, z complex128) []float64 {
	return []float64{round(f), round(cmplx.Abs(z)), round(cmplx.Phase(z) * 57.29577951308232)}
}

// round keeps five digits.
func round(x float64) float64 {
	var short float64
	fmt.Sscan(fmt.Sprintf("%.5g", x), &short)
	return short
}

func curveOf(z measured.Impedance) *curveView {
	c := &curveView{Freq: []float64{}, Ohm: []float64{}, Phase: []float64{}}
	for i, f := range z.Freq {
		p := pointOf(f, z.Z[i])
		c.Freq, c.Ohm, c.Phase = append(c.Freq, p[0]), append(c.Ohm, p[1]), append(c.Phase, p[2])
	}
	return c
}

// valuesOf says the usual values.
func valuesOf(p param.Parameters) []valueView {
	var list []valueView
	for _, e := range p.All() {
		if !quantity.Usual(e.ID) {
			continue
		}
		v := valueView{Symbol: e.ID.String(), Name: wording.Name(e.ID)}
		v.Value, v.Interval = wording.Estimate(e)
		list = append(list, v)
	}
	return list
}

// view is what the page shows. The desk is locked.
func (d *Desk) view(page string) view {
	j := d.job
	v := view{
		Screen: j.Screen, Reached: j.Reached, Typed: j.Typed, Name: j.Name, Sheet: j.Sheet, Paper: j.Paper, Blank: d.opt.Workshop.Paper(),
		Level: j.Level, Phase: j.Phase, Mass: j.Mass, Box: j.Box, Part: j.Part, Problem: d.problem, Answer: d.answer, Folder: d.dir(), Book: d.opt.Book, Found: d.found,
		Sound:   soundView{d.opt.System.Kind(), d.opt.System.Name(), d.devices.Outputs, d.devices.Inputs, d.output, d.input},
		Mishaps: d.opt.Workshop.Mishaps(),
	}
	if d.run != nil {
		v.Run, v.Mine = d.run.what, d.run.page == page
		if b, ok := d.opt.System.(*Browser); ok && v.Mine {
			v.Session = b.view()
		}
	}
	if d.unsaved != nil {
		v.Unsaved = d.unsaved.sweep.File
	}
	for _, s := range j.Sweeps {
		v.Sweeps = append(v.Sweeps, sweepView{s.File, titleOf(s), s.Phase, s.Mass, s.Aside, d.sweeps[s.File].notes, s.Phase == j.Place() && s.Mass == j.Mass})
	}
	if j.Screen == benchjob.Bench && len(j.Sweeps) == 0 {
		v.Waiting = d.waiting()
	}
	if j.Screen == benchjob.Driver { // reading them may take a moment
		v.Sheets = d.opt.Workshop.Sheets()
	}
	if j.Screen == benchjob.Parts {
		v.Parts = d.partsOf(j)
		return v
	}
	switch {
	case d.answer != nil && d.answer.report.Parts != nil: // they have no values of a driver
	case d.answer != nil && d.answer.Cabinet:
		v.Values = boxValues(d.answer.report.Cabinet.Measured)
	case j.Screen != benchjob.Cabinet:
		v.Values = d.values(j)
	}
	v.Now = d.curve(j.Used(j.Place(), j.Mass))
	switch {
	case j.Place() == benchjob.BoxAfter:
		v.Other = d.curve(j.UsedIn(benchjob.BoxBefore))
	case j.Screen == benchjob.Cabinet:
	case j.Mass != "":
		v.Other = d.curve(j.Used(j.Phase, ""))
	case j.Phase == benchjob.After:
		v.Other = d.curve(j.Used(benchjob.Before, ""))
	}
	return v
}

// ofBoxes are the quantities that are shown of a box.
var ofBoxes = []param.ID{param.Fc, param.Qtc, param.Fb, param.QB, param.QL, param.Vab}

// boxValues says the values of the last box, with those of the one before.
func boxValues(boxes []*boxed.Measured) []valueView {
	var list []valueView
	if len(boxes) == 0 {
		return list
	}
	for _, id := range ofBoxes {
		e, ok := boxes[len(boxes)-1].Parameters.Get(id)
		if !ok {
			continue
		}
		v := valueView{Symbol: id.String(), Name: wording.Name(id)}
		v.Value, v.Interval = wording.Estimate(e)
		if was, ok := boxes[0].Parameters.Get(id); ok && len(boxes) > 1 {
			v.Before, _ = wording.Estimate(was)
		}
		list = append(list, v)
	}
	return list
}

// titleOf says in words which sweep it is.
func titleOf(s benchjob.Sweep) string {
	title := string(s.Phase) + ", no mass"
	switch s.Phase {
	case benchjob.OfParts:
		return partTitles[s.Part.Role] + s.Part.Name
	case benchjob.BoxBefore:
		title = "in the cabinet, before"
	case benchjob.BoxAfter:
		title = "in the cabinet, after"
	}
	if s.Mass != "" {
		title = string(s.Phase) + ", " + s.Mass + " on the cone"
	}
	switch s.Kind {
	case benchjob.Again:
		title += ", again"
	case benchjob.Reclamped:
		title += ", taken off and put back"
	}
	return title
}

// partTitles are the roles of recordings in words; a part has its name behind it.
var partTitles = map[benchjob.Role]string{benchjob.OpenEnds: "nothing between the lead ends", benchjob.JoinedEnds: "lead ends joined", benchjob.Known: "the known resistor", benchjob.OnePart: "part "}

// measuredParts are the parts of a job and what they were made of.
type measuredParts struct {
	used  []benchjob.Sweep
	typed map[string]string
	found PartsFound
}

// partsOf says what the recordings of parts say; it is kept until there is another one.
func (d *Desk) partsOf(j benchjob.Job) *PartsFound {
	used := j.UsedIn(benchjob.OfParts)
	if !slices.Equal(d.parts.used, used) || !maps.Equal(d.parts.typed, j.Typed) {
		found, err := d.opt.Workshop.Parts(d.dirOf(j), j)
		if err != nil {
			s := said(err)
			found = PartsFound{Notes: []string{s.Message + "; " + s.Hint}}
		}
		d.parts = measuredParts{used, j.Typed, found}
	}
	return &d.parts.found
}

// curve is that of the last of these sweeps.
func (d *Desk) curve(list []benchjob.Sweep) *curveView {
	if len(list) == 0 {
		return nil
	}
	return curveOf(d.sweeps[list[len(list)-1].File].impedance)
}

// values are those of the phase, with what they were before.
func (d *Desk) values(j benchjob.Job) []valueView {
	now := slices.Clone(d.fit(j, j.Phase))
	if j.Phase == benchjob.After {
		before := d.fit(j, benchjob.Before)
		for i, v := range now {
			if k := slices.IndexFunc(before, func(b valueView) bool { return b.Symbol == v.Symbol }); k >= 0 {
				now[i].Before = before[k].Value
			}
		}
	}
	return now
}

// fit gives the values of all sweeps of a phase; none when there are no usable ones. They are
// kept until a sweep or a condition changes: a page is told something new at each press.
func (d *Desk) fit(j benchjob.Job, p benchjob.Phase) []valueView {
	used := j.UsedIn(p)
	_, cond, err := d.opt.Workshop.Settings(j.Options())
	if err != nil || len(used) == 0 {
		return nil
	}
	if f, ok := d.fits[p]; ok && slices.Equal(f.used, used) && reflect.DeepEqual(f.cond, cond) {
		return f.values
	}
	f := fitted{used: used, cond: cond}
	var list []measured.Sweep
	for _, s := range used {
		if r := d.sweeps[s.File]; r.usable {
			list = append(list, measured.Sweep{Impedance: r.impedance, Load: r.load})
		}
	}
	if fit, err := ts.Fit(list, cond); err == nil {
		f.values = valuesOf(fit.Parameters)
	}
	d.fits[p] = f
	return f.values
}

// answerOf is the report as the page shows it.
func answerOf(r *report.Report, command string) (*answer, error) {
	figures, err := report.Figures(r)
	if err != nil {
		return nil, err
	}
	a := &answer{Title: r.Title, Headline: r.Headline, Body: r.Body, Next: r.Next, Cautions: r.Cautions, Warnings: r.Warnings, Figures: figures, Command: command, Cabinet: r.Cabinet != nil, report: r}
	if r.Judged {
		a.Mark = map[verdict.Verdict]string{verdict.InSpec: "good", verdict.OutOfSpec: "bad", verdict.Undecided: "open"}[r.Verdict]
	}
	return a, nil
}
