package verdict

import (
	"slices"

	"conewright/ts/param"
)

// Deciders returns the actions each of which alone would decide everything that is undecided, the least
// work first, if the values stay where they are: what is done to many units is one and the same, so that
// an action has only its kind, how often, and what lies between. An action that gives a value that
// is not known counts, although nobody can say where the value will lie. Nothing decides a driver
// whose verdict is withheld.
func (c *Checked) Deciders() []Action {
	if len(c.Withheld) > 0 {
		return nil
	}
	var common []Action
	first := true
	for _, j := range c.Checks {
		if j.Verdict != Undecided {
			continue
		}
		these := c.decidersOf(j)
		if first {
			common, first = these, false
			continue
		}
		common = slices.DeleteFunc(common, func(a Action) bool { return !slices.Contains(these, a) })
	}
	return common
}

// decidersOf lists what would decide one value.
func (c *Checked) decidersOf(j Judged) []Action {
	switch {
	case j.ByMeter != nil:
		return []Action{{Kind: DoSettle}}
	case !j.Known:
		a, _ := stepForMissing(c, j)
		return []Action{a.bare()}
	case j.Limit.ID == param.Friction || j.Limit.ID == param.Distortion:
		a, _ := stepForUndecided(c, j)
		return []Action{a.bare()}
	}
	var list []Action
	need := c.needed(j)
	for _, s := range candidates(c.Parameters, j.Limit.ID) {
		if s.then <= need {
			list = append(list, s.Action.bare())
		}
	}
	return list
}

// bare is the action without what belongs to one driver.
func (a Action) bare() Action {
	a.Mass, a.MassFrom, a.FromSheet, a.Fs, a.FsStd, a.FsThen = 0, 0, false, 0, 0, 0
	return a
}

// LessWork orders actions: a is less work than b.
func LessWork(a, b Action) bool { return work(a) < work(b) }

func work(a Action) int {
	if i := slices.Index(furtherSweeps, a); i >= 0 {
		return 1 + i
	}
	if a.Kind == DoMeter || a.Kind == DoDiameter {
		return 0
	}
	return 1 + len(furtherSweeps)
}
