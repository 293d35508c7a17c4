package customer

import (
	"slices"
	"testing"

	"conewright/cmd/internal/report"
	"conewright/ts/boxed"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// box is a closed box as it was measured, with the driver in free air known.
func box(findings ...boxed.Finding) *boxed.Measured {
	p := param.Parameters{Coverage: 1.96}
	for id, v := range map[param.ID]float64{param.Fc: 51.6, param.Qtc: 0.633} {
		p.IDs, p.Scaled, p.Origin = append(p.IDs, id), append(p.Scaled, id.Scale(v)), append(p.Origin, param.FromFit)
	}
	driver := set(31)
	return &boxed.Measured{Kind: boxed.Closed, Parameters: p, Findings: findings, Known: boxed.Known{Driver: &driver}}
}

// What a customer reads of the cabinet: what is wrong first, then what differs from before, then what it is.
func TestInItsCabinet(t *testing.T) {
	const facts, sound = "A closed box: the driver resonates at 51.6 Hz in it, with a Qtc of 0.633.", "Nothing wrong shows with the cabinet."
	compared := func(f boxed.Fault, sure, explained bool, which int) *boxed.Compared {
		return &boxed.Compared{Finding: boxed.Finding{Fault: f, Sure: sure}, Explained: explained, Which: which}
	}
	checked := func(v verdict.Verdict) *verdict.Checked {
		return &verdict.Checked{Verdict: v, Checks: []verdict.Judged{{Limit: verdict.Limit{ID: param.Fc}, Verdict: v}}}
	}
	leak := boxed.Finding{Fault: boxed.Leak, Sure: true}
	for i, c := range []struct {
		in   report.InCabinet
		want []string
	}{
		{report.InCabinet{Measured: []*boxed.Measured{box()}}, []string{sound}},
		{report.InCabinet{Measured: []*boxed.Measured{box(leak)}}, []string{"The curve shows a leak of the box. Look at the gasket and the screws of the driver, the terminals, and joints of the cabinet; a leak is heard as a hiss at a loud low tone."}},
		{report.InCabinet{Measured: []*boxed.Measured{box(leak), box()}, Compared: compared(boxed.Leak, true, true, 0)}, []string{sound, "Before the work there was a leak of the box; now there is not."}},
		{report.InCabinet{Measured: []*boxed.Measured{box(), box()}, Compared: compared(boxed.Stiffer, false, true, 1)}, []string{sound, "There is perhaps a stiffer suspension that was not there before the work."}},
		{report.InCabinet{Measured: []*boxed.Measured{box(), box()}, Compared: compared(boxed.NoChange, true, true, 1)}, []string{sound, "It is as it was before the work."}},
		{report.InCabinet{Measured: []*boxed.Measured{box(), box()}, Compared: compared(boxed.Leak, false, false, 1)}, []string{sound, "It is not as it was before the work, and nothing that is known explains how."}},
		{report.InCabinet{Measured: []*boxed.Measured{box()}, Checked: checked(verdict.InSpec)}, []string{sound, "The box lies within its limits."}},
		{report.InCabinet{Measured: []*boxed.Measured{box()}, Checked: checked(verdict.OutOfSpec)}, []string{"The box is not right yet: resonance in the closed box lies outside its limits."}},
		{report.InCabinet{Measured: []*boxed.Measured{box()}, Checked: checked(verdict.Undecided)}, []string{"It cannot be said yet whether the box lies within its limits."}},
	} {
		if got := InItsCabinet(&c.in).Says; !slices.Equal(got, append(c.want, facts)) {
			t.Errorf("%d: %q", i, got)
		}
	}
	unknown := box()
	unknown.Known.Driver = nil
	if got := InItsCabinet(&report.InCabinet{Measured: []*boxed.Measured{unknown}}).Says; !slices.Equal(got, []string{facts}) {
		t.Errorf("without the driver nothing is known to be right, and it says %q", got)
	}
}
