package ring

import (
	"math"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

// leastReversal is by how much, relative, the resonance with the heavier of two masses
// lies higher before the two are taken as exchanged: more than a suspension that warms
// up between two sweeps explains (common practice). In standard deviations of the noise
// it is three.
const leastReversal = 0.005

// exchanged refuses masses whose resonances are in the wrong order; the points are in the
// order of the sweeps, noise is that of their resonances in Hz.
func (m *MassLine) exchanged(sweeps []measured.Sweep, noise []float64) error {
	for j, heavy := range m.Points {
		for i, light := range m.Points[:j] {
			if !(heavy.Mass.Value > light.Mass.Value) {
				continue
			}
			rise := heavy.Fs.Value - light.Fs.Value
			if rise > leastReversal*light.Fs.Value && rise > 3*math.Hypot(noise[j], noise[i]) {
				return notice.New("masses-exchanged", notice.Facts{
					"heavy": heavy.Mass.Value, "high": heavy.Fs.Value, "light": light.Mass.Value, "low": light.Fs.Value,
					"light-sweep": sweeps[i].Impedance.Source,
				}).In(sweeps[j].Impedance.Source)
			}
		}
	}
	return nil
}
