package connected

import (
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// What drivers have, from tweeters to the largest woofers: published data sheets, widened.
// Mass over area: 2.5 g on 28 cm2 are 0.9 kg/m2, 150 g on 800 cm2 are 1.9; L over Re: 0.44 ms
// for the largest of a population of 15 inches (docs/population.md).
const (
	leastFs, mostFs           = 5.0, 5000.0 // Hz
	leastRe, mostRe           = 0.5, 100.0  // ohm
	leastPerArea, mostPerArea = 0.1, 8.0    // kg/m^2
	mostCoilTime              = 0.8e-3      // s
)

// unusual asks about values that no driver has; what was entered in another unit, or a
// column that holds something else, gives such values.
func unusual(p param.Parameters, cond measured.Conditions) []notice.Notice {
	var all []notice.Notice
	ask := func(what string, value, low, high float64) {
		if value < low || value > high {
			all = append(all, *notice.New("unusual-value", notice.Facts{"of": what, "value": value, "low": low, "high": high}))
		}
	}
	value := func(id param.ID) (float64, bool) {
		e, ok := p.Get(id)
		return e.Value, ok
	}
	if fs, ok := value(param.Fs); ok {
		ask("Fs", fs, leastFs, mostFs)
	}
	re, hasRe := value(param.Re)
	if hasRe {
		ask("Re", re, leastRe, mostRe)
	}
	if l, ok := value(param.L1k); ok && hasRe {
		ask("L/Re", l/re, 0, mostCoilTime)
	}
	if m, ok := value(param.Mms); ok && cond.Sd.Given() {
		ask("Mms/Sd", m/cond.Sd.Value, leastPerArea, mostPerArea)
	}
	return all
}
