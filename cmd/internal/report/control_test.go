package report

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/saved"
	"conewright/ts/handmade/tables"
	"conewright/ts/param"
	"conewright/ts/process"
	"conewright/ts/verdict"
)

// column reads the last column of a table of testdata/study, and its first.
func column(t *testing.T, name string) (groups []string, values []float64) {
	t.Helper()
	_, rows := tables.Read(t, "../../../testdata/study/"+name+".csv")
	for _, row := range rows {
		groups, values = append(groups, row[0]), append(values, tables.Number(t, row[len(row)-1]))
	}
	return groups, values
}

// groupedLot is a lot of units with these values of Fs, in Hz, and groups; the sheet allows 0.05 Hz
// around 74 Hz.
func groupedLot(t *testing.T, groups []string, values []float64) *Lot {
	t.Helper()
	l, err := NewLot(&verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 73.95, Hi: 74.05}}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	l.GroupBy("station")
	for i, v := range values {
		p := param.Parameters{IDs: []param.ID{param.Fs}, Scaled: []float64{math.Log(v)}, Origin: []param.Origin{param.FromFit}, Coverage: 1.96}
		l.Add(&batch.Unit{Name: fmt.Sprintf("u%d", i+1), Parameters: p, About: saved.Settings{{Name: "station", Value: groups[i]}}})
	}
	return l
}

// TestControlChartsOfGroups: 25 groups of 5, as luca-scr/qcc (docs/articles/qcc.html) prints their limits; it rounds d2,
// and a lot keeps seven digits.
func TestControlChartsOfGroups(t *testing.T) {
	groups, values := column(t, "pistonrings")
	l := groupedLot(t, groups, values)
	c := l.capabilities()[0].control
	if c == nil || c.size != 5 || len(c.at) != 25 || c.left != 0 {
		t.Fatalf("%+v", c)
	}
	for name, pair := range map[string][2]float64{
		"centre": {c.Location.Centre, 74.00118}, "low": {c.Location.Lo, 73.98805}, "high": {c.Location.Hi, 74.0143},
		"range": {c.Scatter.Centre, 0.02276}, "range high": {c.Scatter.Hi, 0.04812533},
	} {
		if math.Abs(pair[0]-pair[1]) > 4e-5 {
			t.Errorf("%s %.5f, printed %.5f", name, pair[0], pair[1])
		}
	}
	if len(c.signals)+len(c.wide) != 0 {
		t.Errorf("signals %v %v", c.signals, c.wide)
	}
	var o struct {
		Fs struct {
			Chart struct {
				Size   int `json:"group_size"`
				High   float64
				Ranges struct{ High float64 }
			}
		}
	}
	data, err := json.Marshal(l.capabilityJSON(l.capabilities()))
	if err != nil || json.Unmarshal(data, &o) != nil {
		t.Fatal(err)
	}
	if x := o.Fs.Chart; x.Size != 5 || math.Abs(x.High-74.0143) > 4e-5 || math.Abs(x.Ranges.High-0.0481) > 4e-5 {
		t.Errorf("JSON: %+v", o)
	}
	// The chart draws means and ranges with their limits.
	f, ok := groupFigure(&Report{Lot: l, process: l.capabilities()})
	if !ok {
		t.Fatal("no figure")
	}
	panels := f.(plot.Chart).Panels
	if len(panels) != 2 || len(panels[0].Series[0].X) != 25 || len(panels[0].Rules) != 3 || len(panels[1].Rules) != 2 || math.Abs(panels[0].Rules[1].Y-74.0143) > 4e-5 {
		t.Errorf("%+v", panels)
	}
	ungrouped := lotOf(t, 0, 30, 31, 32, 30, 31)
	if _, ok := groupFigure(&Report{Lot: ungrouped, process: ungrouped.capabilities()}); ok {
		t.Error("a figure of groups where there are none")
	}
}

// TestGroupsOfOtherSizes: a group that is not complete has no place in the charts, and it is said; one group that
// lies apart, and one that scatters more, are named.
func TestGroupsOfOtherSizes(t *testing.T) {
	groups, values := column(t, "pistonrings")
	groups, values = slices.Clone(groups[:len(groups)-2]), slices.Clone(values[:len(values)-2])
	for i := range values {
		switch groups[i] {
		case groups[10]:
			values[i] += 0.04
		case groups[30]:
			values[i] += 0.04 * float64(i%2)
		}
	}
	l := groupedLot(t, groups, values)
	c := l.capabilities()[0].control
	if c == nil || c.left != 1 || len(c.at) != 24 {
		t.Fatalf("%+v", c)
	}
	said := strings.Join(l.signalWords(l.capabilities()), " ")
	for _, want := range []string{"group " + groups[10] + " (beyond the control limits)", "group " + groups[30] + " (its range is beyond", "1 group of another size"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in %q", want, said)
		}
	}
	// Each unit a group of its own is no group: the charts are of single units.
	for i := range groups {
		groups[i] = fmt.Sprint(i)
	}
	if c := groupedLot(t, groups, values).capabilities()[0].control; c == nil || c.size != 0 {
		t.Errorf("%+v", c)
	}
	if c := groupedLot(t, make([]string, len(values)), values).capabilities()[0].control; c == nil || c.size != 0 {
		t.Errorf("%+v", c)
	}
}

// TestControlChartOfUnits: luca-scr/qcc prints centre 34.088 and limits 32.56504 and 35.61096, with d2 rounded to 1.128, and the
// fourth value out.
func TestControlChartOfUnits(t *testing.T) {
	_, values := column(t, "viscosity")
	l := lotOf(t, 0, values[:20]...)
	c := l.capabilities()[0].control
	if c == nil || math.Abs(c.Location.Centre-34.088) > 1e-4 || math.Abs(c.Location.Lo-32.56504) > 1e-3 || math.Abs(c.Location.Hi-35.61096) > 1e-3 {
		t.Fatalf("%+v", c)
	}
	if !slices.Contains(c.signals, process.Signal{Rule: process.BeyondLimit, Point: 3}) {
		t.Errorf("signals %v", c.signals)
	}
	f, ok := lotFigure(&Report{Lot: l, process: l.capabilities(), Spec: l.spec})
	if !ok {
		t.Fatal("no figure")
	}
	panels := f.(plot.Chart).Panels
	if len(panels) != 2 || len(panels[0].Rules) != 3 || len(panels[1].Series[0].X) != 19 || panels[1].Series[0].X[0] != 2 {
		t.Errorf("%+v", panels)
	}
}
