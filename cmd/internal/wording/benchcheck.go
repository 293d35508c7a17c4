package wording

import (
	"fmt"
	"math"
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
		said = append(said, "input 2 reads "+off(cmplx.Abs(c.Channels.At(middle)))+" against input 1, which is taken out from now on")
	}
	if c.Load.Given() {
		reads := real(c.Load.At(middle))
		said = append(said, fmt.Sprintf("the known resistor of %.4g ohm reads %.5g ohm (%s), which is taken out from now on", c.LoadOhm, reads, off(reads/c.LoadOhm)))
	}
	return said
}

// off says by how much a ratio is off 1.
func off(ratio float64) string {
	percent := 100 * (ratio - 1)
	if math.Abs(percent) < 0.005 {
		return "0.00 %"
	}
	return fmt.Sprintf("%+.2f %%", percent)
}
