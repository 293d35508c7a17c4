package report

import (
	"conewright/cmd/internal/jsonout"
	"conewright/ts/process"
)

// daysJSON is what is said of units by day and station, with every point of the charts.
func daysJSON(d *Days) jsonout.Object {
	o := jsonout.Object{{"units", d.Units}, {"in_spec", d.InSpec}, {"out_of_spec", d.OutOfSpec}, {"undecided", d.Undecided}}
	o.Add("statistics", statisticsJSON(d.summary()))
	if list := d.capabilities(); len(list) > 0 {
		all := jsonout.Object{}
		for _, c := range list {
			all.Add(c.id.String(), c.json())
		}
		o.Add("process", all)
	}
	charts := []jsonout.Object{}
	for _, p := range d.charts() {
		charts = append(charts, p.json())
	}
	o.Add("charts", charts)
	return o
}

func (p points) json() jsonout.Object {
	o := jsonout.Object{{"quantity", p.id.String()}, {"unit", p.id.Info().Unit}, {"of", p.of}}
	list := []jsonout.Object{}
	for i, s := range p.sums {
		list = append(list, jsonout.Object{{p.of, p.names[i]}, {"units", s.N}, {"mean", jsonout.Number(s.Mean)}, {"std", jsonout.Number(s.Spread().Std())}})
	}
	o.Add("points", list)
	if !p.charted {
		return o
	}
	chart := func(c process.Chart, all []process.Signal) jsonout.Object {
		signals := []jsonout.Object{}
		for _, s := range p.signals(all) {
			signals = append(signals, jsonout.Object{{p.of, p.names[s.Point]}, {"rule", int(s.Rule)}})
		}
		return jsonout.Object{{"centre", jsonout.Number(c.Centre)}, {"low", jsonout.Number(c.Lo)}, {"high", jsonout.Number(c.Hi)}, {"signals", signals}}
	}
	o.Add("means", chart(p.means, p.moved))
	o.Add("stds", chart(p.stds, p.wide))
	return o
}
