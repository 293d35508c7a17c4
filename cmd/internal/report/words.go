package report

import (
	"math"
	"strconv"
	"strings"

	"conewright/cmd/internal/wording"
	"conewright/ts/verdict"
)

// verdictWords is a verdict as a person says it.
func verdictWords(v verdict.Verdict) string {
	switch v {
	case verdict.InSpec:
		return "in spec"
	case verdict.OutOfSpec:
		return "out of spec"
	}
	return "cannot tell yet"
}

// headline says the verdict, and for which quantities if it is not good.
func headline(c *verdict.Checked) string {
	head := strings.ToUpper(verdictWords(c.Verdict))
	if c.Verdict == verdict.InSpec {
		return head
	}
	var which []string
	for _, j := range c.Checks {
		if j.Verdict == c.Verdict {
			which = append(which, j.Limit.ID.String())
		}
	}
	return head + ": " + wording.List(which)
}

// plainHz writes a frequency in Hz with four digits at most and never as a power of ten.
func plainHz(f float64) string {
	if f >= 1000 {
		return strconv.FormatFloat(math.Round(f), 'f', 0, 64)
	}
	return strconv.FormatFloat(f, 'g', 4, 64)
}
