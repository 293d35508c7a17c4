package friction

// Levels of a second sweep, V rms at the terminals at the resonance.
const (
	timesSecond  = 4
	loudestAsked = 1.5 // beyond which a coil that may rub should not be driven (common practice)
	softEnough   = 0.3 // from which a softer sweep tells more of friction than a louder one (docs/bench.md)
)

// Second returns the voltage (V rms at the terminals at the resonance) of a second sweep that would decide whether the coil
// rubs, or how surely it does; false where nothing is open, or where there were several levels. In percent harmonics of
// friction fall with the level, those of suspension and motor rise. One that rubs is asked for a louder sweep as far as that is no
// loud one; where nothing can be told, a loud sweep for a softer one and a soft one for one that rises above the noise.
func (f Found) Second() (volts float64, ok bool) {
	if f.Levels > 1 || f.Free() {
		return 0, false
	}
	softer := f.Voltage*timesSecond > loudestAsked || !f.Rubs && f.Voltage > softEnough
	if softer {
		return min(f.Voltage/timesSecond, loudestAsked), true
	}
	return f.Voltage * timesSecond, true
}
