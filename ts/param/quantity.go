package param

// Mounting says what surrounds the driver; it changes the air that moves with
// the cone, so values are comparable only at equal mounting.
type Mounting uint8

// The mountings.
const (
	FreeAir Mounting = iota
	Baffle
)

// String returns the word used in files and on the command line.
func (m Mounting) String() string { return [...]string{"free-air", "baffle"}[m] }

// Quantity is an entered value with its standard uncertainty, both in the unit
// that the field's comment gives. The zero value means: not given.
type Quantity struct {
	Value float64
	Std   float64
}

// Given says whether a value was entered.
func (q Quantity) Given() bool { return q.Value != 0 }

// Spread is a computed value with its uncertainty: standard uncertainty and the
// ends of the 95 % interval, in the unit of the value.
type Spread struct {
	Value, Std, Low, High float64
}

// UnevenAs returns v with the standard uncertainty u and an interval that is longer
// on the side on which that of id is.
func (p Parameters) UnevenAs(id ParamID, v, u float64) Spread {
	b := Bars{u, u}
	if i := p.Index(id); i >= 0 {
		if s := p.ScaledStd(i); s > 0 {
			g := p.Guard(i)
			b = Bars{u * g.Down / s, u * g.Up / s}
		}
	}
	return Spread{v, u, v - p.Coverage*b.Down, v + p.Coverage*b.Up}
}

// NormalSpread is a value with a 95 % interval of 1.96 standard uncertainties.
func NormalSpread(value, std float64) Spread {
	return Spread{value, std, value - 1.96*std, value + 1.96*std}
}
