package report

import (
	"fmt"
	"math"
	"strings"

	"conewright/ts"
)

// verdictWords is a verdict as a person says it.
func verdictWords(v ts.Verdict) string {
	switch v {
	case ts.InSpec:
		return "in spec"
	case ts.OutOfSpec:
		return "out of spec"
	}
	return "cannot tell yet"
}

// headline says the verdict in one line, with the value that decides it.
func headline(c *ts.Checked) string {
	head := strings.ToUpper(verdictWords(c.Verdict))
	var decisive []string
	for _, j := range c.Checks {
		if j.Verdict != c.Verdict || c.Verdict == ts.InSpec {
			continue
		}
		decisive = append(decisive, against(j))
	}
	switch {
	case c.Verdict == ts.InSpec && len(c.Checks) == 1:
		head += ": the value that the sheet limits is inside"
	case c.Verdict == ts.InSpec:
		head += fmt.Sprintf(": all %d values that the sheet limits are inside", len(c.Checks))
	case len(decisive) > 0:
		head += ": " + list(decisive)
	}
	return head
}

// against says where one value stands: "Fs is 36.6 Hz, above its limit of 34 Hz".
func against(j ts.Judged) string {
	id := j.Limit.ID
	unit := id.Info().BenchUnit
	if !known(j) {
		return id.String() + " is not known"
	}
	e := j.Estimate
	s := fmt.Sprintf("%s is %s", id, withUnit(scaleFor(id, e.Value, e.Std).number(e.Value), unit))
	name, side := "limit", j.Limit.Hi
	if math.Abs(e.Value-j.Limit.Lo) < math.Abs(e.Value-j.Limit.Hi) {
		side = j.Limit.Lo
	}
	at := withUnit(limit(id, side), unit)
	switch {
	case j.Verdict == ts.Undecided:
		return fmt.Sprintf("%s, too near to its %s of %s", s, name, at)
	case e.Value > j.Limit.Hi:
		return fmt.Sprintf("%s, above its %s of %s", s, name, at)
	case e.Value < j.Limit.Lo:
		return fmt.Sprintf("%s, below its %s of %s", s, name, at)
	}
	return s
}

// list joins words: "a, b and c".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
