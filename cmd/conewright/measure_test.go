package main

import (
	"testing"

	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/take"
	"conewright/cmd/internal/wording"
)

func TestChooseDevices(t *testing.T) {
	d := sound.Devices{
		Outputs: []sound.Device{{ID: "card.analog.out", Name: "Card A analogue"}, {ID: "card.digital.out", Name: "Card A digital"}, {ID: "box.out", Name: "Box"}},
		Inputs:  []sound.Device{{ID: "box.in", Name: "Box"}, {ID: "box.out.monitor", Name: "Monitor of Box", Loop: true}},
	}
	for _, c := range []struct{ text, output, input, problem string }{
		{"", "", "", ""},
		{"BOX", "box.out", "box.in", ""},
		{"digital,box.in", "card.digital.out", "box.in", ""},
		{"box.out,box.out.monitor", "box.out", "box.out.monitor", ""},
		{"card,box", "", "", `more than one output is called "card": card.analog.out, card.digital.out`},
		{"box,card", "", "", `there is no input "card"`},
	} {
		output, input, err := chooseDevices(d, c.text)
		problem := ""
		if err != nil {
			problem, _ = wording.Error(err)
			output, input = "", ""
		}
		if output != c.output || input != c.input || problem != c.problem {
			t.Errorf("%q: %q, %q, %q", c.text, output, input, problem)
		}
	}
}

func TestLevelLine(t *testing.T) {
	for _, c := range []struct {
		block take.Block
		peak  [2]float64
		want  string
	}{
		{take.Block{}, [2]float64{0, 1e-9}, "waiting    1 [....................]         2 [....................]      "},
		{take.Block{Heard: true, Passing: 32.4}, [2]float64{0.1, 1}, "   32 Hz   1 [#############.......]         2 [####################] LOUD!"},
	} {
		if got := levelLine(c.block, c.peak); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
