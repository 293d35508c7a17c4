package wording

import (
	"fmt"
	"math/cmplx"

	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// benchCheckSentences say why the check of a bench found nothing.
var benchCheckSentences = map[string]sentence{
	"bench-inverted": fixed("the two inputs have opposite polarity", "exchange the leads of one input, and check again"),
	"bench-not-recognised": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("no wiring gives a ratio of %.3g of the inputs with a series resistor of %.4g ohm and one of %.4g ohm in the driver's place", n.Num("ratio"), n.Num("resistor"), n.Num("known")),
			"measure both resistors, look at every lead, and check again"
	},
	"bench-alike": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("with %.4g ohm beside %.4g ohm more than one wiring would look the same", n.Num("known"), n.Num("resistor")), "take a resistor of about twice the series resistor, and check again"
	},
}

// Connected says how a bench is connected.
func Connected(c sweeps.Connected) string {
	where := map[bench.Wiring]string{
		bench.ResistorFirst: "resistor first, one input at the amplifier and one across the driver",
		bench.DriverFirst:   "driver first, one input at the amplifier and one across the resistor",
		bench.Probes:        "probes, one input across the driver and one across the resistor",
	}[c.Wiring]
	if c.SwapChannels {
		return "the wiring is " + where + "; the two inputs are exchanged, which is allowed for"
	}
	return "the wiring is " + where
}

// Calibration says what the check of the bench corrects from now on.
func Calibration(c *bench.Calibration) []string {
	var said []string
	const middle = 200 // Hz
	if c.Channels.Given() {
		off := 100 * (cmplx.Abs(c.Channels.At(middle)) - 1)
		said = append(said, fmt.Sprintf("input 2 reads %+.2f %% against input 1, which is taken out from now on", off))
	}
	if c.Load.Given() {
		reads := real(c.Load.At(middle))
		said = append(said, fmt.Sprintf("the known resistor of %.4g ohm reads %.4g ohm (%+.2f %%), which is taken out from now on", c.LoadOhm, reads, 100*(reads/c.LoadOhm-1)))
	}
	return said
}
