package wording

import (
	"fmt"

	"conewright/ts/notice"
)

// networkSentences are about the parts of a dividing network.
var networkSentences = map[string]sentence{
	"network-empty": fixed("the network has no parts", `write [parts] and below it one line for each part, from the node "in" to the node "ground"`),
	"network-name": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the name %q of a part is empty or stands twice", n.Text("part")), "give every part a name of its own"
	},
	"network-value": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the value of %s cannot be that of a part", n.Text("part")), "check the number and its unit: uF, mH, ohm"
	},
	"network-ends": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s lies between a node and itself", n.Text("part")), "name two different nodes with from and to"
	},
	"network-open": fixed("no parts lead from in to ground", `the amplifier is connected to the nodes "in" and "ground"; compare their names`),
	"network-apart": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s hangs on nothing that leads to the terminals", n.Text("part")), "compare the names of its nodes with those of its neighbours"
	},
	"network-impedance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s has no impedance at %.4g Hz", n.Text("part"), n.Num("frequency")), "check its values"
	},
	"network-singular": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the network has no solution at %.4g Hz", n.Num("frequency")), "a resonance without any loss: give the coils their resistance"
	},
}
