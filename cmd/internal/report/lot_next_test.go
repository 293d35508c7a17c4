package report

import (
	"strings"
	"testing"

	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

// The least work that decides more than half is named; if nothing does, what decides the most.
func TestDecisive(t *testing.T) {
	meter, twice := verdict.Action{Kind: verdict.DoMeter}, verdict.Action{Kind: verdict.DoRepeat, Times: 1}
	days := verdict.Action{Kind: verdict.DoRepeat, Times: 7, Between: repeat.Session}
	for name, c := range map[string]struct {
		units, undecided int
		deciders         []decider
		want             verdict.Action
		said             bool
	}{
		"most by little work":  {100, 20, []decider{{days, 20}, {twice, 11}, {meter, 3}}, twice, true},
		"none decides most":    {100, 20, []decider{{meter, 3}, {days, 9}, {twice, 5}}, days, true},
		"a tenth is no more":   {100, 10, []decider{{twice, 10}}, twice, false},
		"nothing would decide": {100, 20, nil, twice, false},
	} {
		l := &Lot{Units: c.units, Undecided: c.undecided, deciders: c.deciders}
		got, ok := l.decisive()
		if ok != c.said || ok && got.action != c.want {
			t.Errorf("%s: %+v, %v", name, got, ok)
		}
		if (len(l.next()) > 0) != c.said {
			t.Errorf("%s: %v", name, l.next())
		}
	}
	l := &Lot{Units: 100, Undecided: 20, deciders: []decider{{meter, 15}}}
	if said := l.next()[0]; said.Kind != verdict.DoMeter || !strings.Contains(said.Do, "ohm meter") || !strings.Contains(said.Gain, "15 of the 20 units") {
		t.Errorf("%+v", said)
	}
}
