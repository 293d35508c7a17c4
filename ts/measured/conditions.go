package measured

import (
	"conewright/ts/driver"
	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"
)

// Conditions is what is known beside the sweeps themselves.
type Conditions struct {
	Mounting    param.Mounting
	Temperature param.Quantity // kelvin; not given: 293.15 K
	Pressure    param.Quantity // Pa; not given: 101300 Pa
	Humidity    float64        // relative, 0 to 1
	Sd          param.Quantity // m^2
	DCRe        param.Quantity // ohm, meter reading of Re
	// Alone says that one driver alone was on the leads, in free air and with nothing on its
	// cone but the loads that are stated: somebody looked.
	Alone bool
	// Repeatability is how the bench repeats; nil: the result is about the sweeps alone, as
	// they were taken.
	Repeatability *repeat.Bench
	// Repeats is what lies between sweeps of one condition.
	Repeats repeat.Kind
}

// Check refuses conditions that no bench has, as a value in another unit gives them.
func (c Conditions) Check() error {
	if c.Repeats > repeat.Operator {
		return notice.New("bad-repeatability", notice.Facts{"kind": c.Repeats.String()})
	}
	if c.Repeatability != nil {
		if err := c.Repeatability.Check(); err != nil {
			return err
		}
	}
	return bounds.First(
		c.Mounting.Check(),
		bounds.Temperature.Given(c.Temperature.Value, c.Temperature.Std),
		bounds.Pressure.Given(c.Pressure.Value, c.Pressure.Std),
		bounds.Humidity.Number(c.Humidity),
		bounds.Area.Given(c.Sd.Value, c.Sd.Std),
		bounds.Resistance.Given(c.DCRe.Value, c.DCRe.Std),
	)
}

// Air is the air around the driver.
func (c Conditions) Air() driver.Air {
	a := driver.Air{Temperature: driver.DefaultTemperature, Pressure: driver.DefaultPressure, Humidity: c.Humidity}
	if c.Temperature.Given() {
		a.Temperature = c.Temperature.Value
	}
	if c.Pressure.Given() {
		a.Pressure = c.Pressure.Value
	}
	return a
}
