package wording

import (
	"fmt"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// jobSentences say what a step of the work at the bench is missing.
var jobSentences = map[string]sentence{
	"job-order":        fixed("this comes later", "finish this screen first"),
	"job-resistor":     fixed("the series resistor is missing", "measure it and type what it is, such as 10.02 ohm"),
	"job-bench-in-use": fixed("the sweeps of this job were made on the bench as it was", "finish the job or begin the next driver, then change the bench"),
	"job-name":         fixed("the driver has no name yet", "type one that you will know again, such as left woofer"),
	"job-name-in-use": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweeps so far are those of %q", n.Text("name")), "finish that driver first, then begin the next"
	},
	"job-level": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%.0f dB is loud: behind a power amplifier it may be more than 2 V at the driver", n.Num("level")), "watch the cone and a meter; values for a repair are taken below 1 V"
	},
	"job-known":       fixed("the resistance of the known resistor is missing", "type what it was measured to be, such as 100.0 ohm"),
	"job-part-name":   fixed("the part has no name", "name it as in the network, such as C1"),
	"job-parts-first": fixed("no part was recorded yet", "record the known things and then a part on the screen Parts"),
	"job-box-first":   fixed("there is no sweep in the cabinet yet", "go to the screen Cabinet and press Start the sweep"),
	"job-free-first":  fixed("a sweep without a mass comes first", "take the mass off, go to the screen Sweep and press Start the sweep"),
	"job-mass":        fixed("the mass is missing", "weigh it with its putty and type what it is, such as 20.0 g"),
	"job-kind":        fixed("a repeat is one of two kinds", "say whether the driver stayed in its clamp or was taken off and put back"),
	"job-no-sweep": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no sweep %s", n.Text("file")), "load the page again"
	},
	"job-unsaved": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is not on the disk yet", n.Text("file")), "make room and press Save again"
	},
	"job-unusable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s gives no impedance", n.Text("file")), "sweep again"
	},
	"job-no-sheet": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is not among the spec sheets", n.Text("path")), "put it into the folder of the jobs and load the page again"
	},
	"job-name-taken": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is a job of %q that is not finished", n.Text("name")), fmt.Sprintf("go on with it on the screen Bench, or type another name, such as %s 2", n.Text("name"))
	},
	"job-name-finished": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is a finished job of %q", n.Text("name")), fmt.Sprintf("type another name, such as %s 2", n.Text("name"))
	},
	"job-unreadable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the job in %s cannot be read: %s", n.Text("path"), cause(n.Err)), "use the version of the program that wrote it, move that file away, or take another name; the sweeps beside it are as they were"
	},
	"job-no-paper": fixed("no value of the data sheet is typed", "type one at least, such as Fs 31 Hz, or choose no sheet"),
	"page-port": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("port %d of this machine cannot be used", n.Int("port")), "leave --port out, and a free one is taken"
	},
	"page-gone": fixed("the page was closed in the middle of the sweep", "open it again and sweep again; finished sweeps are kept"),
	"page-action": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the page asked for %q, which this version does not know", n.Text("action")), "load the page again"
	},
}

// Estimate says a value and its 95 % interval for a display: "36.6 Hz", "36.2 to 37.0 Hz".
func Estimate(e param.Estimate) (value, interval string) {
	low, high := e.Low, e.High
	if low == 0 && high == 0 {
		low, high = e.Value-1.96*e.Std, e.Value+1.96*e.Std
	}
	return valueText(e.ID, e.Value, e.Std), rangeText(e.ID, low, high)
}
