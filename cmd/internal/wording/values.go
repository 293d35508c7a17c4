package wording

import (
	"fmt"

	"conewright/ts/notice"
)

// given are the names and SI units of what is given, for a value that cannot be.
var given = map[string]struct{ name, unit string }{
	"temperature":    {"temperature", "K"},
	"pressure":       {"air pressure", "Pa"},
	"humidity":       {"humidity", ""},
	"area":           {"area of the cone", "m^2"},
	"mass":           {"mass", "kg"},
	"volume":         {"volume", "m^3"},
	"resistance":     {"meter reading of Re", "ohm"},
	"length":         {"dimension", "m"},
	"frequency":      {"frequency", "Hz"},
	"confidence":     {"confidence of a decision", ""},
	"density":        {"density", "kg/m^3"},
	"quality-factor": {"Q", ""},
}

// outOfRange says which value cannot be what it is called.
func outOfRange(n notice.Notice) (message, hint string) {
	of := given[n.Text("of")]
	value := WithUnit(fmt.Sprint(n.Num("value")), of.unit)
	if n.Has("std") {
		return fmt.Sprintf("the %s is given as %s with the uncertainty %v", of.name, value, n.Num("std")),
			"an uncertainty is positive and smaller than its value"
	}
	return fmt.Sprintf("the %s is given as %s", of.name, value),
		fmt.Sprintf("it must lie from %v to %s; check the unit", n.Num("low"), WithUnit(fmt.Sprint(n.Num("high")), of.unit))
}

// valueSentences are the sentences about single values and sets of them.
var valueSentences = map[string]sentence{
	"bad-value":    outOfRange,
	"bad-mounting": fixed("the mounting is neither free air nor a baffle", "choose one of the two"),
	"bad-coverage": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a coverage factor of %v makes no interval", n.Num("coverage")), "1.96 is usual"
	},
	"set-incomplete": fixed("the set of values is not complete", "fit the sweeps again"),
	"bad-covariance": fixed("the uncertainties of the values contradict each other, so nothing can be decided", "fit the sweeps again"),
	"bad-quantity": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s in the set of values is unknown or doubled", n.Text("quantity")), "fit the sweeps again"
	},
	"not-finite": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the fit found no finite value for %s, so nothing can be decided", n.Text("quantity")),
			"look at the curve for points that do not belong to it, and fit again over a narrower band"
	},
	"needs-values": fixed("a driver from entered values needs Fs and Mms", "give both --fs and --mms, or name the files of its sweeps"),
}
