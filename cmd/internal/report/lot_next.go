package report

import (
	"fmt"
	"slices"

	"conewright/cmd/internal/wording"
	"conewright/ts/verdict"
)

// mostUndecided is the share of a lot above which the sheet says what would decide.
const mostUndecided = 0.1

// decider is a measurement and how many undecided units it alone would decide.
type decider struct {
	action verdict.Action
	units  int
}

// addUndecided counts what would decide a unit.
func (l *Lot) addUndecided(c *verdict.Checked) {
	for _, a := range c.Deciders() {
		if i := slices.IndexFunc(l.deciders, func(d decider) bool { return d.action == a }); i >= 0 {
			l.deciders[i].units++
		} else {
			l.deciders = append(l.deciders, decider{a, 1})
		}
	}
}

// decisive is the measurement that the lot needs if more than a tenth is undecided: the least work that
// decides more than half of those units or, if nothing does, the most of them.
func (l *Lot) decisive() (decider, bool) {
	if float64(l.Undecided) <= mostUndecided*float64(l.Units) || len(l.deciders) == 0 {
		return decider{}, false
	}
	better := func(a, b decider) bool {
		mostA, mostB := 2*a.units > l.Undecided, 2*b.units > l.Undecided
		switch {
		case mostA != mostB:
			return mostA
		case !mostA && a.units != b.units:
			return a.units > b.units
		case verdict.LessWork(a.action, b.action) || verdict.LessWork(b.action, a.action):
			return verdict.LessWork(a.action, b.action)
		}
		return a.units > b.units
	}
	best := l.deciders[0]
	for _, d := range l.deciders[1:] {
		if better(d, best) {
			best = d
		}
	}
	return best, true
}

// next says what would decide most of the undecided units, if there are many.
func (l *Lot) next() []wording.Step {
	best, ok := l.decisive()
	if !ok {
		return nil
	}
	step := wording.Steps([]verdict.Step{{Action: best.action}})[0]
	step.Gain = fmt.Sprintf("alone it would decide %d of the %d units that are undecided, if their values stay where they are", best.units, l.Undecided)
	return []wording.Step{step}
}
