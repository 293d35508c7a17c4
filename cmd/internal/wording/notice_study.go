package wording

import (
	"fmt"
	"math"

	"conewright/ts/notice"
)

// studySentences say what packages study, gauge and process find in many values.
var studySentences = map[string]sentence{
	"study-levels": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d kinds of repeats within each other cannot be analysed", n.Int("levels")),
			fmt.Sprintf("use 1 to %d of them", n.Int("most"))
	},
	"study-empty": func(notice.Notice) (string, string) {
		return "there are no readings", "give at least two of one driver"
	},
	"study-place": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d names say where a reading stands among the repeats, and %d are needed", n.Int("groups"), n.Int("expected")),
			"give one for each kind of repeat but the last, for instance operator, session and clamping"
	},
	"study-no-repeats": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("without repeats of the kind %q its scatter cannot be told", n.Text("level")),
			"take at least two, better five or more; or state the scatter"
	},
	"study-prior": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the stated scatter of the kind %q is not usable: variance %v on %v degrees of freedom", n.Text("level"), n.Num("variance"), n.Num("dof")),
			"both must be finite and above 0"
	},
	"study-prior-covariance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the stated scatter of the kind %q is no covariance of %d values", n.Text("level"), n.Int("responses")),
			"standard deviations must be above 0, and correlations from -1 to 1 and possible together"
	},
	"study-not-finite": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("reading %d is not a number", n.Int("reading")), "correct it or leave it out"
	},
	"study-no-scatter": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("repeats of the kind %q do not differ at all", n.Text("level")),
			"look for a file that was given twice, and for values that were rounded"
	},
	"study-no-such-driver": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no reading of %q", n.Text("driver")), "name a driver that was measured"
	},
	"study-inseparable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("repeats of the kind %q agree to so many digits that nothing can be computed beside the other scatter", n.Text("level")),
			"look for a file that was given twice"
	},
	"prior-in-conflict": func(n notice.Notice) (string, string) {
		r := math.Sqrt(n.Num("ratio"))
		if r > 1 {
			return fmt.Sprintf("repeats of the kind %q scatter %.1f times as much as was to be expected", n.Text("level"), r),
				"find out what changes between them; until then count on the larger scatter"
		}
		return fmt.Sprintf("repeats of the kind %q scatter only %.1f times as much as was to be expected", n.Text("level"), r),
			"look for a file that was given twice; otherwise more repeats will replace what was assumed"
	},
	"gauge-one": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a gauge study needs at least 2 parts and 2 operators, and has %d and %d", n.Int("parts"), n.Int("operators")),
			"with one operator, analyse repeats of one driver"
	},
	"gauge-no-repeats": func(notice.Notice) (string, string) {
		return "every operator measured every part only once", "measure each part at least twice"
	},
	"gauge-unbalanced": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("part %q was measured %d times by operator %q, and others were not", n.Text("part"), n.Int("trials"), n.Text("operator")),
			"every operator must measure every part equally often"
	},
	"gauge-no-scatter": func(notice.Notice) (string, string) {
		return "no reading differs when an operator measures a part again", "look for readings that were copied or rounded"
	},
	"process-too-few": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%v values are too few", n.Num("values")), fmt.Sprintf("at least %d are needed", n.Int("least"))
	},
	"process-not-finite": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("value %d is not a number", n.Int("value")), "correct it or leave it out"
	},
	"process-no-scatter": func(notice.Notice) (string, string) {
		return "the values do not differ", "look for values that were copied or rounded"
	},
	"process-groups-differ": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("group %d has %d values, and the first has %d", n.Int("group"), n.Int("size"), n.Int("first")),
			"groups of a control chart must be equal in size"
	},
	"process-group-size": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no control chart for groups of %d", n.Int("size")),
			fmt.Sprintf("use groups of %d to %d", n.Int("least"), n.Int("most"))
	},
	"process-limits": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("between the limits %v and %v there is nothing to judge", n.Num("low"), n.Num("high")),
			"the lower must lie below the upper one, and one of them must be given"
	},
	"process-probability": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%v is no %s", n.Num("value"), n.Text("name")), "give a number between 0 and 1, such as 0.95"
	},
	"process-factor": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%v is no factor of a tolerance interval", n.Num("factor")), "it must be above 0"
	},
	"process-measurement-hides-units": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the units cannot be told apart: all scatter together has the variance %v, measuring alone %v", n.Num("variance"), n.Num("measurement")),
			"take the mean of several sweeps of each unit, or more units"
	},
}
