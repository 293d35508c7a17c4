package ts

// Verdict is the answer to "is it right?". The zero value is Undecided.
type Verdict uint8

// The verdicts.
const (
	Undecided Verdict = iota
	InSpec
	OutOfSpec
)

// String returns the word used in JSON and on screen.
func (v Verdict) String() string { return [...]string{"undecided", "in-spec", "out-of-spec"}[v] }

// Limit is what a value must meet. An absent side is minus or plus infinity.
type Limit struct {
	ID     ParamID
	Lo, Hi float64 // SI
}

// Spec is a spec sheet.
type Spec struct {
	Name        string
	Source      string // where the limits come from
	Mounting    Mounting
	Temperature float64 // kelvin
	Limits      []Limit
	Confidence  float64 // of a decision, 0.95 unless the sheet says otherwise
}

// Judged is one value against its limit. It is made only by [Check] and [Compare].
type Judged struct {
	Limit         Limit
	Estimate      Estimate
	ProbabilityIn float64 // probability of conformity
	Verdict       Verdict
}

// Checked is a driver against its spec sheet.
type Checked struct {
	Spec     Spec
	Checks   []Judged
	Verdict  Verdict // the worst of Checks
	Next     []Step
	Warnings []Warning
}

// Step is a measurement or an action that would bring a decision further.
type Step struct {
	Do   string `json:"do"`
	Gain string `json:"gain"`
}

// Change is the ratio of one quantity, after to before.
type Change struct {
	ID        ParamID
	Ratio     float64
	Low, High float64 // 95 %
	How       string  // "added-mass", "BL unchanged", or "" for what the sweep gives directly
}

// CauseID names a physical cause.
type CauseID string

// The causes.
const (
	SuspensionStiffer CauseID = "suspension-stiffer"
	SuspensionSofter  CauseID = "suspension-softer"
	MassAdded         CauseID = "mass-added"
	MassMissing       CauseID = "mass-missing"
	LossesUp          CauseID = "losses-up"
	LossesDown        CauseID = "losses-down"
	MotorWeaker       CauseID = "motor-weaker"
	MotorStronger     CauseID = "motor-stronger"
	CoilDifferent     CauseID = "coil-different"
	ShortedTurns      CauseID = "shorted-turns"
	CoilOffset        CauseID = "coil-offset"
	SeriesResistance  CauseID = "series-resistance"
	NoChange          CauseID = "no-change"
)

// Cause is one physical change with its size.
type Cause struct {
	ID          CauseID
	Percent     float64 // size of the change in percent of the quantity it concerns
	Low, High   float64 // 95 %
	Probability float64
}

// Compared is what a repair changed.
type Compared struct {
	Before, After Parameters
	Changes       []Change
	Causes        []Cause
	Checked       *Checked // After against the spec sheet; nil without one
	Next          []Step
	Warnings      []Warning
}

// Check judges one driver against its spec sheet.
func Check(p Parameters, spec Spec) (*Checked, error) {
	panic("ts: Check is not written yet")
}

// Compare says what changed from before to after and why; spec may be nil.
func Compare(before, after Parameters, spec *Spec) (*Compared, error) {
	panic("ts: Compare is not written yet")
}
