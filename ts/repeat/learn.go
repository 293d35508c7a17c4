package repeat

import (
	"math"

	"conewright/ts/notice"
	"conewright/ts/study"
)

// Reading is one sweep of a driver, and where it stands among the repeats. Sweeps with the same names
// have that in common.
type Reading struct {
	Driver, Operator, Session, Clamping string
	// Values are the logarithms of Quantities, or how far they lie from any mean of this driver.
	Values [3]float64
}

// Learned is how a bench repeats, by what it was seen to do.
type Learned struct {
	Bench Bench
	// Readings, and for each kind the independent differences in which it shows.
	Readings int
	Freedom  [kinds]int
	// Std has for each kind the 95 % intervals of the standard deviations of Quantities.
	Std      [kinds][3]study.Interval
	Warnings []notice.Notice
}

// enough is how many independent differences make a kind known by itself; with fewer, what is usual
// counts as well.
const enough = 3

// levels are the kinds as a study has them, the outermost first.
var levels = [kinds]Kind{Operator, Session, Reclamped, Again}

// Learn splits the scatter of readings into the kinds of repeats, by restricted likelihood. What the
// readings show in at least three independent differences is taken as they show it; of what shows in fewer, the
// usual scatter is pooled in, and of operators nothing is said if there is one.
// Theory (8.1) to (8.3), (8.14).
func Learn(readings []Reading) (*Learned, error) {
	places := func(used []Kind) []study.Place {
		var all []study.Place
		for _, r := range readings {
			p := study.Place{Driver: r.Driver}
			for _, k := range used[:len(used)-1] {
				// what a session does to a driver is the driver's own
				p.Groups = append(p.Groups, r.Driver+"\x00"+map[Kind]string{Operator: r.Operator, Session: r.Session, Reclamped: r.Clamping}[k])
			}
			all = append(all, p)
		}
		return all
	}
	names := func(used []Kind) (all []string) {
		for _, k := range used {
			all = append(all, k.String())
		}
		return all
	}
	used := levels[:]
	d, err := study.NewDesign(names(used), places(used))
	if err != nil {
		return nil, err
	}
	if d.Dof()[0] == 0 { // one operator
		used = used[1:]
		if d, err = study.NewDesign(names(used), places(used)); err != nil {
			return nil, err
		}
	}
	freedom := d.Dof()
	out := &Learned{Readings: len(readings)}
	shown := 0
	priors := make([]study.JointPrior, len(used))
	for i, k := range used {
		out.Freedom[k] = freedom[i]
		shown += freedom[i]
		if usual := Usual[k]; freedom[i] < enough && usual.Known() {
			priors[i] = study.JointPrior{Covariance: usual.Covariance(), Dof: usual.Dof}
		}
	}
	if shown < enough {
		return nil, notice.New("repeat-too-few", notice.Facts{"readings": len(readings), "least": enough + 1})
	}
	values := make([][]float64, len(Quantities))
	for i := range values {
		for _, r := range readings {
			values[i] = append(values[i], r.Values[i])
		}
	}
	joint, err := d.Together(values, priors...)
	if err != nil {
		return nil, err
	}
	for i, k := range used {
		dof := float64(freedom[i])
		for q, n := range joint.Responses {
			c := n.Components[i]
			if q == 0 && c.Variance > 0 && c.Dof > 0 {
				dof = c.Dof
			}
			v := n.Interval(i, 0.95)
			out.Std[k][q] = study.Interval{Lo: math.Sqrt(max(0, v.Lo)), Hi: math.Sqrt(max(0, v.Hi))}
		}
		out.Bench[k] = Of(joint.Covariance(i), max(1, dof), freedom[i] < enough)
	}
	for _, n := range joint.Responses {
		out.Warnings = append(out.Warnings, n.Notices...)
	}
	return out, nil
}
