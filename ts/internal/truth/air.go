package truth

// Air is what surrounds the driver.
type Air struct {
	Rho float64 // density, kg/m³
	C   float64 // speed of sound, m/s
}

// RoomAir is air of 20 °C, 50 % relative humidity and 101,325 Pa (ISO 9613-1 and CIPM formulas,
// from a public code of them).
var RoomAir = Air{Rho: 1.199228, C: 343.9869}

// Stiffness is ρc² in Pa. It follows the air pressure (γp) and hardly the temperature.
func (a Air) Stiffness() float64 { return a.Rho * a.C * a.C }

// AirAt is dry air of a pressure in Pa and a temperature in °C, as an ideal gas (γ = 1.4,
// R = 287.05287 J/(kg K), ICAO standard atmosphere).
func AirAt(pressure, celsius float64) Air {
	t := celsius + 273.15
	return Air{Rho: pressure / (287.05287 * t), C: sqrt(1.4 * 287.05287 * t)}
}
