package change_test

import (
	"testing"

	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/lot"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// inBox is the driver in a closed box as large as its own air of suspension, with the stiffness twice as high.
var inBox = handmade.Changed(func(d *driver.Driver) { d.Cms /= 2 })

func set(d driver.Driver) param.Parameters {
	return handmade.Known{Driver: d, Std: handmade.Std}.Parameters(nil)
}

// A driver in its cabinet against itself in free air: no cause, no verdict, until somebody
// says that it is alone.
func TestNoCauseAndNoVerdictInABox(t *testing.T) {
	sheet := &verdict.Spec{Limits: []verdict.Limit{{ID: param.Re, Lo: 5, Hi: 6}, {ID: param.Fs, Lo: 25, Hi: 40}}}
	c, err := change.Compare(set(handmade.Woofer), set(inBox), change.Options{Spec: sheet})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Withheld) != 1 || c.Withheld[0].Code != "in-a-box" || !c.Unexplained || c.Verdict() != verdict.Undecided || len(c.Checked.Next) > 0 {
		t.Errorf("withheld %v, unexplained %v, verdict %v", c.Withheld, c.Unexplained, c.Verdict())
	}
	told := set(inBox)
	told.OneDriver = true
	if c, err = change.Compare(set(handmade.Woofer), told, change.Options{Spec: sheet}); err != nil {
		t.Fatal(err)
	}
	if len(c.Withheld) != 0 || c.Unexplained || c.Verdict() != verdict.OutOfSpec || c.Explanations[0].Causes[0].ID != change.SuspensionStiffer {
		t.Errorf("told that it is alone: withheld %v, verdict %v, %v", c.Withheld, c.Verdict(), c.Explanations)
	}
}

// A sheet asks as well, where it has both Fs and a Q.
func TestNoVerdictBesideASheet(t *testing.T) {
	sheet := verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 30, Hi: 37}, {ID: param.Qts, Lo: 0.38, Hi: 0.48}}}
	for _, c := range []struct {
		of   driver.Driver
		code string
	}{{handmade.Woofer, ""}, {inBox, "in-a-box"}, {handmade.Changed(func(d *driver.Driver) { d.Mms *= 1.8 }), "mass-on-cone"}} {
		checked, err := verdict.Check(set(c.of), sheet)
		if err != nil {
			t.Fatal(err)
		}
		if c.code == "" != (len(checked.Withheld) == 0) || c.code != "" && (checked.Withheld[0].Code != c.code || checked.Verdict != verdict.Undecided) {
			t.Errorf("%v: %v, %v", c.code, checked.Withheld, checked.Verdict)
		}
	}
}

func TestNoMatchOfDoubtedDrivers(t *testing.T) {
	doubted := set(handmade.Woofer)
	doubted.Doubts = []notice.Notice{*notice.New("peak-clipped", nil)}
	for _, c := range []struct {
		right param.Parameters
		want  verdict.Verdict
	}{{set(handmade.Woofer), verdict.InSpec}, {doubted, verdict.Undecided}} {
		p, err := lot.Pair(set(handmade.Woofer), c.right, lot.PairOptions{Limits: []lot.PairLimit{{ID: param.Fs, Percent: 10}}})
		if err != nil {
			t.Fatal(err)
		}
		if p.Verdict != c.want {
			t.Errorf("%v, want %v", p.Verdict, c.want)
		}
	}
}
