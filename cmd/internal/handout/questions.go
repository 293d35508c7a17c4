package handout

import (
	"fmt"
	"math"

	"conewright/cmd/internal/report"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// Question is a question of the worksheet with the answer that the data of the
// class give.
type Question struct {
	Ask    string
	Lines  int // blank lines for the student
	Answer string
	// Numbers behind the answer, for checks: what was asked, in SI units.
	Value, Std float64
}

// Questions returns the questions with their answers from the data.
func Questions(m *ring.MassLine) []Question {
	mass := ringMass(m)
	joint, _ := m.Joint.Parameters.Get(param.Mms)
	list := []Question{
		{Ask: "Read the resonance off each curve: the frequency of its peak. Fill in the table: ω = 2π Fs, then 1/ω².", Lines: 0,
			Answer: "See the table above. The peak of the curve lies within a few parts in a thousand of the resonance; the coil's inductance moves it a little."},
		{Ask: "Draw the points into the graph and lay a straight line through them. Why should they lie on one?", Lines: 3,
			Answer: "A spring and a mass resonate at ω² = 1/(C (M + m)), so 1/ω² = C m + C M: a straight line in m. Suspension: C, cone: M, ring: m."},
		{Ask: "The slope of the line is the compliance Cms. Read it off, in (ms)²/g; 1 (ms)²/g is 1 mm/N.", Lines: 2,
			Answer: fmt.Sprintf("%s (95 %% interval %s).", report.Quantity(param.Cms, m.Cms), within(param.Cms, m.Cms)), Value: m.Cms.Value, Std: m.Cms.Std},
		{Ask: "Where does the line meet zero? What does that mass mean?", Lines: 2,
			Answer: fmt.Sprintf("At minus %s: with that much taken off, nothing would be left to move. It is the moving mass Mms (95 %% interval %s). It includes the air that the cone carries along.", report.Quantity(param.Mms, m.Mms), within(param.Mms, m.Mms)),
			Value:  m.Mms.Value, Std: m.Mms.Std},
	}
	if effect, err := ring.EffectOfMass(m.Joint.Parameters, mass, 0); err == nil {
		fs := effect.Rows[0].After
		list = append(list, Question{Ask: fmt.Sprintf("A woofer of this kind is to carry a ring of %.1f g on its coil former. Predict its resonance from your line, then check with the slider.", 1e3*mass), Lines: 2,
			Answer: fmt.Sprintf("%s.", report.Quantity(param.Fs, fs)), Value: fs.Value, Std: fs.Std})
	}
	list = append(list,
		Question{Ask: "By how many percent does the resonance fall when the moving mass doubles? Does the answer depend on the driver?", Lines: 2,
			Answer: "By 29.3 %: 1/√2 is 0.707. It is the same for every driver whose suspension does not creep.", Value: 1 - 1/math.Sqrt2},
		Question{Ask: "Work out the moving mass from no mass and one mass alone: Mms = m/((Fs/Fs′)² − 1). Misread one resonance by 1 % and do it again, with the smallest and with the largest mass. Which mass would you use?", Lines: 4,
			Answer: gains(m)},
		Question{Ask: "The ring is lost in a repair. Does the speaker still play? What has changed, and how would you notice?", Lines: 3,
			Answer: "It plays, but its resonance lies higher: less bass, a little louder above. In a box made for the heavier cone the bass is no longer even. An impedance sweep shows it at once; the ear may not."},
	)
	if m.Bends {
		list = append(list, Question{Ask: "Look closely: do the points lie on a straight line, or does it bend?", Lines: 2,
			Answer: fmt.Sprintf("It bends a little: the suspension creeps, so it is softer at low frequencies, where the heavy masses bring the resonance. The line gives %s, all sweeps in one fit with creep %s.",
				report.Quantity(param.Mms, m.Mms), report.Quantity(param.Mms, ring.Spread{Value: joint.Value, Std: joint.Std}))})
	}
	return list
}

// ringMass is a ring that was not among the masses of the experiment: three
// fifths of the heaviest, rounded to half a gram, and half a gram more if that
// mass was measured.
func ringMass(m *ring.MassLine) float64 {
	heaviest := m.Points[len(m.Points)-1].Mass.Value
	ring := math.Max(0.5, math.Round(1.2e3*heaviest)/2) / 1e3
	for _, p := range m.Points {
		if math.Abs(p.Mass.Value-ring) < 0.1e-3 {
			return ring + 0.5e-3
		}
	}
	return ring
}

func gains(m *ring.MassLine) string {
	say := "An error of 1 % in one resonance becomes"
	n := 0
	for _, p := range m.Points {
		if p.Gain > 0 {
			if n++; n > 1 {
				say += ","
			}
			say += fmt.Sprintf(" %.1f %% with %.1f g", p.Gain, 1e3*p.Mass.Value)
		}
	}
	return say + " of the moving mass (2r/(r − 1), r = (Fs/Fs′)²). The larger mass is better, as long as cone and suspension carry it: half to one moving mass is usual."
}

// within writes a 95 % interval: "14.0 g to 14.4 g".
func within(id param.ID, s ring.Spread) string {
	return report.Quantity(id, ring.Spread{Value: s.Low, Std: s.Std}) + " to " + report.Quantity(id, ring.Spread{Value: s.High, Std: s.Std})
}
