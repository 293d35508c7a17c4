package param

// Origin says how a value came to be.
type Origin uint8

// The origins.
const (
	FromFit Origin = iota // an unknown of the fit
	Entered               // given by the user
	Derived               // computed from the others
)

// String returns the word used in JSON.
func (o Origin) String() string { return Word(o, "fitted", "entered", "derived") }

// Budget splits a standard uncertainty into its parts, all in the unit of the
// value. The parts are independent: Std is the root of the sum of squares.
type Budget struct {
	Noise  float64 // of the sweeps
	Model  float64 // choice of the coil and suspension model
	Bench  float64 // resistor, leads, masses, diameter, air: what the user's equipment adds
	Repeat float64 // between repeats of one condition
}

// Estimate is one value with its uncertainty, in SI units.
type Estimate struct {
	ID        ID
	Value     float64
	Std       float64 // standard uncertainty, everything included
	Low, High float64 // ends of the 95 % interval
	Origin    Origin
	Budget    Budget
}
