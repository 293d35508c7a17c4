package change

import (
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Tie is what to do where several explanations fit equally well: the measurement in which they
// differ.
type Tie struct {
	Way    Way
	FsThen float64 // Hz, to which the resonance is to fall with a mass on the cone
}

// Way says how explanations are told apart.
type Way uint8

// The ways. A motor or a coil shows in BL, which takes a sweep with an added mass.
const (
	Repeat         Way = iota // nothing but a smaller uncertainty would
	MeasureBL                 // BL after the repair; that before is known
	MeasureBLTwice            // BL after the repair, and of a healthy driver of the same type
	CompareBL                 // BL after the repair is known: with a healthy driver of the same type
	CoilHeight                // BL is known of both: the rest height of the coil in the gap
)

// tieOf returns the way out of a tie; nil where there is none.
func tieOf(c *Compared) *Tie {
	if len(c.Explanations) < 2 {
		return nil
	}
	fs, _ := c.After.Get(param.Fs)
	t := &Tie{FsThen: verdict.FsWithMass(fs.Value)}
	touchesMotor := false
	for _, cause := range c.Causes {
		switch cause.ID {
		case MotorWeaker, MotorStronger, CoilOffset, CoilDifferent, ShortedTurns:
			touchesMotor = true
		}
	}
	after, before := c.After.Index(param.BL) >= 0, c.Before.Index(param.BL) >= 0
	switch {
	case !touchesMotor:
		t.Way = Repeat
	case !after && before:
		t.Way = MeasureBL
	case !after:
		t.Way = MeasureBLTwice
	case !before:
		t.Way = CompareBL
	default:
		t.Way = CoilHeight
	}
	return t
}
