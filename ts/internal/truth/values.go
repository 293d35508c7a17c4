package truth

import "math"

// Values are what is true of a driver in its state.
type Values struct {
	Re  float64 // ohm, DC, at the temperature of the coil, leads not counted
	Fs  float64 // Hz
	Qms float64
	Qes float64
	Qts float64
	Mms float64 // kg
	Cms float64 // m/N
	Rms float64 // kg/s
	BL  float64 // T m
	Sd  float64 // m²
	Vas float64 // m³
}

// Values are the effective ones at resonance, at small signals:
//
//	Fs   where the mechanical impedance with its air is real: ωs
//	Cms  1/Re K(jωs), K the stiffness of the suspension and what resonators add to it statically
//	Mms  1/(ωs² Cms): all that the stiffness works against at ωs
//	Rms  the real part of the mechanical impedance at ωs
//	Qms = ωs Mms/Rms   Qes = ωs Mms Re/BL²   Vas = ρc² Sd² Cms
//
// With a second resonance the main one is meant. A frame that moves is the bench's, not the driver's: it
// counts as held.
func (d Driver) Values() Values { return d.ValuesAt(Level{}) }

// ValuesAt are the values at a level of the bench: those of the suspension at the excursion that this level
// gives at the resonance.
func (d Driver) ValuesAt(level Level) Values {
	d.Frame = Frame{}
	driven := Driven{Of: d.Loaded(), Level: level}
	guess := sqrt(real(d.Suspension.Stiffness(2*math.Pi*50)) / (d.Mmd + d.airMass()))
	ws := zeroOf(func(w float64) float64 { return imag(driven.motion(w)) }, guess/3, guess*3)
	stiffness := real(driven.stiffness(ws))
	for _, r := range d.Resonators {
		stiffness += r.static()
	}
	v := Values{
		Re: d.Re, BL: d.BL, Sd: d.Sd,
		Fs:  ws / (2 * math.Pi),
		Cms: 1 / stiffness, Mms: stiffness / (ws * ws),
		Rms: real(driven.motion(ws)),
	}
	v.Qms = ws * v.Mms / v.Rms
	v.Qes = ws * v.Mms * v.Re / (v.BL * v.BL)
	v.Qts = v.Qms * v.Qes / (v.Qms + v.Qes)
	v.Vas = d.Air.Stiffness() * v.Sd * v.Sd * v.Cms
	return v
}

// airMass is the mass in kg of the air at low frequency.
func (d Driver) airMass() float64 {
	const w = 1e-3
	return imag(d.radiation(w)) / w
}

// zeroOf finds where a rising function crosses zero between low and high, to the last digits, by halving in
// the logarithm. No crossing is a mistake of the caller.
func zeroOf(f func(float64) float64, low, high float64) float64 {
	if f(low) > 0 || f(high) < 0 {
		panic("truth: no resonance where one must be")
	}
	for range 100 {
		mid := sqrt(low * high)
		if mid <= low || mid >= high {
			break
		}
		if f(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return sqrt(low * high)
}
