package wording

import (
	"conewright/ts/notice"
	"conewright/ts/verdict"
)

// RestsOnOneSweep is said with a verdict that one sweep more might turn.
const RestsOnOneSweep = "This verdict rests on one sweep: if a second one differed as much as sweeps usually do, the answer could be another. Sweep again before relying on it."

// SweptOnce is the warning for a judgement of drivers that were swept once in each
// condition.
func SweptOnce() Said { return Notice(*notice.New(verdict.NoRepeat, nil)) }

// sideSentences are the sentences about how the drivers of a report were measured, which
// the command finds itself.
var sideSentences = map[string]sentence{
	verdict.NoRepeat: fixed("swept once: the intervals hold the noise of the sweep and the stated errors of the bench, not what clamping again, warming up or a rested suspension would change",
		"where it matters, take the driver off the bench, put it back and sweep again, two or three times, and fit all files together"),
	"benches-differ": fixed("the sides were measured with different bench settings, so that errors of the bench do not cancel",
		"measure both on the same bench for a sharper comparison"),
}
