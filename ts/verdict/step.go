package verdict

import (
	"conewright/ts/param"
	"conewright/ts/repeat"
)

// Step is a measurement or an action that would bring a decision further, and what it
// would bring.
type Step struct {
	Action
	Gains []Gain // one for each value that the action would decide or sharpen
}

// Action is what to do. Fields that the kind does not name are zero.
type Action struct {
	Kind     StepKind
	Times    int            // DoRepeat: further sweeps; DoFiner: times as many points
	Between  repeat.Kind    // DoRepeat: what is to lie between them
	Mounting param.Mounting // DoMounting: the one to measure in
	Source   string         // DoBench: name of the error source to halve
	ForCoil  bool           // DoBand: for the sake of the coil model
	// DoAddedMass: the mass to put on the cone in kg, where the moving mass can be
	// expected, and the quantity that says so, of the sheet or of the sweeps.
	Mass      float64
	MassFrom  param.ID
	FromSheet bool
	// DoAddedMass: the resonance now, with its standard uncertainty, and with the mass
	// on the cone, in Hz; 0: not known.
	Fs, FsStd, FsThen float64
}

// Gain is what an action would bring for one value. Uncertainties are standard ones on
// the scale of Parameters: relative for what is always positive.
type Gain struct {
	ID      param.ID
	Now     float64 // 0: the value is not known
	Then    float64 // after the action; 0: not predicted
	Need    float64 // what would decide if the value stays where it is
	Decides bool    // the action reaches Need
}

// StepKind says what sort of step it is.
type StepKind string

// The kinds of steps.
const (
	DoRepeat    StepKind = "repeat"     // more sweeps of the same condition
	DoMeter     StepKind = "meter"      // read Re with an ohm meter
	DoSettle    StepKind = "settle"     // find out which of meter and sweep is wrong
	DoAddedMass StepKind = "added-mass" // a sweep with a mass on the cone
	DoDiameter  StepKind = "diameter"   // measure the cone
	DoMounting  StepKind = "mounting"   // measure in the mounting of the sheet
	DoBench     StepKind = "bench"      // better resistor, weighing, calibration
	DoFiner     StepKind = "finer"      // one sweep with more points, or a longer one
	DoBand      StepKind = "band"       // a wider sweep
	DoHarmonics StepKind = "harmonics"  // record an exponential sweep in free air, with volts that are known
	DoLevel     StepKind = "level"      // sweep at another level
	DoWork      StepKind = "work"       // something to do to the driver
	DoAccept    StepKind = "accept"     // no measurement will decide
)
