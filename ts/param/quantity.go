package param

// Quantity is an entered value with its standard uncertainty, both in the unit
// that the field's comment gives. The zero value means: not given.
type Quantity struct {
	Value float64
	Std   float64
}

// Given says whether a value was entered.
func (q Quantity) Given() bool { return q.Value != 0 }
