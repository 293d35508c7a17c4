package wording

import (
	"fmt"

	"conewright/ts/notice"
)

const (
	onePort   = "the file should be a Touchstone one-port, such as: # Hz Z RI R 1, then lines of frequency, real and imaginary part"
	exportOne = "export the impedance at the driver's terminals as a one-port"
)

// quoted is a sentence about one word of a file, with %q for it.
func quoted(format, fact string) sentence {
	return func(n notice.Notice) (string, string) { return fmt.Sprintf(format, n.Text(fact)), onePort }
}

// touchstoneSentences say what is wrong with a Touchstone file.
var touchstoneSentences = map[string]sentence{
	"touchstone-no-reference": fixed("the R of the option line has no value", onePort),
	"touchstone-reference":    quoted("%q is not one reference resistance in ohm", "text"),
	"touchstone-option":       quoted("%q is not known in an option line", "text"),
	"touchstone-option-twice": quoted("%q is a second choice of the same option", "text"),
	"touchstone-bracket":      quoted("the keyword %q has no closing bracket", "text"),
	"touchstone-no-version":   quoted("the keyword %q needs a [Version] before it", "keyword"),
	"touchstone-keyword":      quoted("the keyword %q is not known", "keyword"),
	"touchstone-matrix":       quoted("%q is not a matrix format", "text"),
	"touchstone-no-number":    quoted("%q is not a number", "text"),
	"touchstone-count": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%q is not a number of %s", n.Text("text"), n.Text("of")), onePort
	},
	"touchstone-early-data": func(n notice.Notice) (string, string) {
		return "data begin before the " + n.Text("before"), onePort
	},
	"touchstone-numbers": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there are %d numbers where a one-port has 3", n.Int("numbers")), onePort
	},
	"touchstone-frequency": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the frequency is %v Hz", n.Num("frequency")), onePort
	},
	"touchstone-order": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the frequencies must rise, but %v Hz follows %v Hz", n.Num("frequency"), n.Num("before")), onePort
	},
	"touchstone-infinite":   fixed("the values stand for an infinite impedance", onePort),
	"touchstone-no-options": fixed("the file ends without an option line", onePort),
	"touchstone-no-ports":   fixed("[Number of Ports] is missing", onePort),
	"touchstone-promise": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("[Number of Frequencies] promises %d, the file holds %d", n.Int("promised"), n.Int("there")), onePort
	},

	"touchstone-version": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("version %q is not read, only 1, 2.0 and 2.1", n.Text("version")), exportOne
	},
	"touchstone-two-ports": func(n notice.Notice) (string, string) {
		return n.Text("of") + " describes two ports or more", exportOne
	},
	"touchstone-ports": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the file describes %d ports", n.Int("ports")), exportOne
	},
	"touchstone-several-ports": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there are %d numbers where a one-port has 3; several ports are not read", n.Int("numbers")), exportOne
	},
	"touchstone-relative": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the values were taken as relative to %v ohm, as version 1 of the format says", n.Num("reference")),
			"if the values are not relative to it, write R 1 in the option line"
	},
}
