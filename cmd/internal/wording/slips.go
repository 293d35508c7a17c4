package wording

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"conewright/ts/notice"
)

// short writes a number as it is typed, three significant digits at most.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// slipSentences are the sentences about entered numbers that do not fit what was measured.
var slipSentences = map[string]sentence{
	"mass-not-of-cone": func(n notice.Notice) (string, string) {
		diameter := 2e3 * math.Sqrt(n.Num("area")/math.Pi) // mm
		var slips []string
		switch times := n.Num("diameter-times"); times {
		case 0:
		case 25.4:
			slips = append(slips, fmt.Sprintf("if the diameter is %[1]s inches, write %[1]sin", short(diameter)))
		default:
			slips = append(slips, fmt.Sprintf("if the diameter is %[1]s mm, write %[1]smm", short(times*diameter)))
		}
		if times := n.Num("mass-times"); times > 0 {
			slips = append(slips, fmt.Sprintf("if the mass on the cone is %[1]s g, write %[1]sg", short(1e3*times*n.Num("added"))))
		}
		return fmt.Sprintf("a moving mass of %s does not fit a cone of %s mm", grams(n.Num("mass")), short(diameter)),
			strings.Join(append(slips, "check the diameter and the load"), "; ")
	},
	"nothing-known": fixed("the noise of the sweep is so large that it says nothing of the driver",
		"look at the noise column of the table and its unit; otherwise repeat the sweep at a higher level"),
	"unbounded": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the data say nothing of %s, which is left out", n.Text("quantities")),
			"a load that hardly moves the resonance tells nothing: check that it was there, or take a heavier mass or a smaller box"
	},
	"re-unusual": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a coil resistance of %s ohm is far from that of a loudspeaker", plainNumber(n.Num("re"))),
			"check the series resistor and its decimal point: every ohm of the result is in proportion to it"
	},
	"mass-digits": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the mass of %s was written without decimals and is taken as known to %s only", grams(n.Num("mass")), grams(n.Num("tolerance"))),
			"write all digits that the scales show, or their tolerance: 20.0g, 20g+-0.1g"
	},
}
