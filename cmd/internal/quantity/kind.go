package quantity

import (
	"strconv"

	"conewright/ts/param"
)

// Kind is what a quantity measures. It knows the units that are accepted and
// the one that a bare number takes.
type Kind struct {
	Name  string // "a resistance", for messages
	Units []Unit // the first is the unit of a bare number
}

// Unit is one accepted unit. The value in SI is Factor * number + Offset.
type Unit struct {
	Name    string
	Factor  float64
	Offset  float64
	Aliases []string
}

// The kinds. Inch, foot and ounce are exact by definition (25.4 mm, 453.59237 g to the
// pound, 1959).
var (
	Resistance = Kind{"a resistance", []Unit{
		{Name: "ohm", Factor: 1, Aliases: []string{"ohms", "Ω", "Ω"}}, {Name: "mohm", Factor: 1e-3, Aliases: []string{"mΩ", "mΩ"}}, {Name: "kohm", Factor: 1e3, Aliases: []string{"kΩ", "kΩ"}}}}
	Length = Kind{"a length", []Unit{
		{Name: "mm", Factor: 1e-3}, {Name: "cm", Factor: 1e-2}, {Name: "m", Factor: 1}, {Name: "in", Factor: 0.0254, Aliases: []string{"inch", "inches", `"`}}}}
	Area = Kind{"an area", []Unit{
		{Name: "cm2", Factor: 1e-4, Aliases: []string{"cm²", "cm^2"}}, {Name: "m2", Factor: 1, Aliases: []string{"m²", "m^2"}},
		{Name: "mm2", Factor: 1e-6, Aliases: []string{"mm²", "mm^2"}}, {Name: "in2", Factor: 0.0254 * 0.0254, Aliases: []string{"in²", "in^2"}}}}
	Mass = Kind{"a mass", []Unit{
		{Name: "g", Factor: 1e-3}, {Name: "kg", Factor: 1}, {Name: "mg", Factor: 1e-6}, {Name: "oz", Factor: 0.028349523125, Aliases: []string{"ounce", "ounces"}}}}
	Volume = Kind{"a volume", []Unit{
		{Name: "L", Factor: 1e-3, Aliases: []string{"litre", "litres", "liter", "liters", "dm3", "dm³", "dm^3"}},
		{Name: "mL", Factor: 1e-6, Aliases: []string{"cm3", "cm³", "cm^3"}}, {Name: "m3", Factor: 1, Aliases: []string{"m³", "m^3"}},
		{Name: "ft3", Factor: 0.3048 * 0.3048 * 0.3048, Aliases: []string{"ft³", "ft^3", "cuft", "cu ft"}}}}
	Temperature = Kind{"a temperature", []Unit{
		{Name: "C", Factor: 1, Offset: 273.15, Aliases: []string{"°C", "degC"}}, {Name: "K", Factor: 1},
		{Name: "F", Factor: 5.0 / 9, Offset: 273.15 - 32*5.0/9, Aliases: []string{"°F", "degF"}}}}
	Pressure = Kind{"an air pressure", []Unit{
		{Name: "hPa", Factor: 100, Aliases: []string{"mbar"}}, {Name: "kPa", Factor: 1000}, {Name: "Pa", Factor: 1}}}
	// Percent is a ratio whose bare number is in percent.
	Percent = Kind{"a percentage", []Unit{{Name: "%", Factor: 1e-2, Aliases: []string{"percent"}}, {Name: "ppm", Factor: 1e-6}}}
	// Number is a pure number; 40 % is 0.4.
	Number      = Kind{"a number", []Unit{{Name: "", Factor: 1}, {Name: "%", Factor: 1e-2}}}
	Frequency   = Kind{"a frequency", []Unit{{Name: "Hz", Factor: 1}, {Name: "kHz", Factor: 1e3}}}
	Duration    = Kind{"a duration", []Unit{{Name: "s", Factor: 1}, {Name: "min", Factor: 60}, {Name: "ms", Factor: 1e-3}}}
	Decibels    = Kind{"a level", []Unit{{Name: "dB", Factor: 1, Aliases: []string{"dBFS"}}}}
	Voltage     = Kind{"a voltage", []Unit{{Name: "V", Factor: 1}, {Name: "mV", Factor: 1e-3}}}
	Compliance  = Kind{"a compliance", []Unit{{Name: "mm/N", Factor: 1e-3}, {Name: "um/N", Factor: 1e-6, Aliases: []string{"µm/N", "μm/N"}}, {Name: "m/N", Factor: 1}}}
	ForceFactor = Kind{"a force factor", []Unit{{Name: "T m", Factor: 1, Aliases: []string{"Tm", "T*m", "N/A"}}}}
	Force       = Kind{"a force", []Unit{{Name: "mN", Factor: 1e-3}, {Name: "N", Factor: 1}}}
	Losses      = Kind{"mechanical losses", []Unit{{Name: "kg/s", Factor: 1, Aliases: []string{"N s/m", "Ns/m", "N*s/m"}}, {Name: "g/s", Factor: 1e-3}}}
	Inductance  = Kind{"an inductance", []Unit{{Name: "mH", Factor: 1e-3}, {Name: "uH", Factor: 1e-6, Aliases: []string{"µH", "μH"}}, {Name: "H", Factor: 1}}}
	Capacitance = Kind{"a capacitance", []Unit{{Name: "uF", Factor: 1e-6, Aliases: []string{"µF", "μF"}}, {Name: "mF", Factor: 1e-3}, {Name: "F", Factor: 1}}}
)

// Of returns the kind of a driver's quantity. Its bare number is in the unit
// that the screen shows.
func Of(id param.ID) Kind {
	switch id.Info().Unit {
	case "ohm":
		return Resistance
	case "Hz":
		return Frequency
	case "kg":
		return Mass
	case "m/N":
		return Compliance
	case "kg/s":
		return Losses
	case "N":
		return Force
	case "T*m":
		return ForceFactor
	case "m^3":
		return Volume
	case "m^2":
		return Area
	case "H":
		return Inductance
	case "F":
		return Capacitance
	}
	if id == param.Eta0 || id == param.Distortion {
		return Percent
	}
	return Number
}

// Format writes a value in the unit of a bare number: "10.02 ohm".
func (k Kind) Format(si float64) string {
	u := k.Units[0]
	number := strconv.FormatFloat((si-u.Offset)/u.Factor, 'g', 6, 64)
	if u.Name == "" {
		return number
	}
	return number + " " + u.Name
}

// Screen returns the unit in which the screen shows a driver's quantity: the one that a
// bare number takes.
func Screen(id param.ID) Unit { return Of(id).Units[0] }
