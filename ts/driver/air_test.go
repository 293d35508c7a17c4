package driver

import (
	"fmt"
	"testing"
)

// Source: results of two independent public implementations of the moist-air
// formulas of IEC 61094-2 (CIPM density, Cramer speed of sound).
func TestAirTable(t *testing.T) {
	for _, row := range []struct {
		celsius, pressure, humidity float64
		rho, c, stiffness           string // printed digits
	}{
		{20, 101325, 0, "1.204471", "343.3595", "142002.0"},
		{20, 101325, 0.50, "1.199228", "343.9869", "141901.1"},
		{23, 101325, 0.50, "1.186000", "345.8665", "141873.6"},
		{15, 101325, 0.50, "1.221544", "340.8757", "141938.8"},
		{25, 101325, 0.50, "1.177232", "347.1268", "141852.9"},
		{30, 101325, 0.80, "1.149931", "351.0062", "141677.6"},
		{20, 95000, 0.50, "1.124016", "344.0259", "133031.6"},
		{20, 84000, 0.50, "0.993221", "344.1087", "117608.0"},
	} {
		a := Air{Temperature: 273.15 + row.celsius, Pressure: row.pressure, Humidity: row.humidity}
		for _, c := range []struct{ what, got, want string }{
			{"density", fmt.Sprintf("%.6f", a.Density()), row.rho},
			{"speed of sound", fmt.Sprintf("%.4f", a.SoundSpeed()), row.c},
			{"stiffness", fmt.Sprintf("%.1f", a.Stiffness()), row.stiffness},
		} {
			if c.got != c.want {
				t.Errorf("%v C, %v Pa, %v: %s = %s, want %s", row.celsius, row.pressure, row.humidity, c.what, c.got, c.want)
			}
		}
	}
}
