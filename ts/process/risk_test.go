package process

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"conewright/ts/study"
)

// TestBallBearing: JCGM 106, 9.5.4, as printed by sandialabs/suncal (doc/API Examples, Risk - Ball Bearing);
// producer's risks recomputed with scipy. Error motion below 2 um, items gamma(4, 1/4), u 0.25 um.
func TestBallBearing(t *testing.T) {
	i := Inspection{Items: distuv.Gamma{Alpha: 4, Beta: 4}, Std: 0.25, Limits: study.Interval{Lo: math.Inf(-1), Hi: 2}}
	r, err := i.Risks(i.Limits)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "consumer", r.Consumer, 0.008019111884303471, 1e-10)
	near(t, "producer", r.Producer, 0.017444569229784, 1e-10)
	near(t, "accepted", r.Accepted, 1-0.04238011199168401-r.Producer+r.Consumer, 1e-10)
	w, err := i.Guard(0.001)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "limit of acceptance", 2-w, 1.6718287715440068, 1e-9)
	r, err = i.Risks(study.Interval{Lo: math.Inf(-1), Hi: 2 - w})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "producer with guard", r.Producer, 0.075493876102, 1e-9)
}

// TestNormalItems: the manual of the same program: items N(9.5, 0.3), u 0.1, limits 9 to 10.
// Risks with guard bands recomputed with scipy.
func TestNormalItems(t *testing.T) {
	i := Inspection{Items: distuv.Normal{Mu: 9.5, Sigma: 0.3}, Std: 0.1, Limits: study.Interval{Lo: 9, Hi: 10}}
	for w, want := range map[float64][2]float64{
		0:   {0.01894220671702, 0.03720780017806},
		0.1: {0.004334072222, 0.114656578408},
		0.2: {0.000468633599, 0.247669640200},
	} {
		r, err := i.Risks(study.Interval{Lo: 9 + w, Hi: 10 - w})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "consumer", r.Consumer, want[0], 2e-9)
		near(t, "producer", r.Producer, want[1], 1e-9)
	}
	w, err := i.Guard(0.005)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "guard band", w, 0.09206604548579, 1e-10)
	if w, err := i.Guard(0.5); w != 0 || err != nil {
		t.Errorf("where none is needed: %v, %v", w, err)
	}
	// However small the risk, a band is found before nothing is accepted.
	if w, err := i.Guard(1e-9); !(w > 0.2 && w < 0.5) || err != nil {
		t.Errorf("for a risk of 1e-9: %v, %v", w, err)
	}
}

func TestRisksRefuse(t *testing.T) {
	i := Inspection{Items: distuv.Normal{Mu: 9.5, Sigma: 0.3}, Std: 0.1, Limits: study.Interval{Lo: 9, Hi: 10}}
	_, err := i.Risks(study.Interval{Lo: 9.6, Hi: 9.4})
	refused(t, "guard bands that meet", err, "process-nothing-accepted")
	_, err = i.Guard(0)
	refused(t, "no risk", err, "process-probability")
	i.Std = 0
	_, err = i.Risks(i.Limits)
	refused(t, "no uncertainty", err, "process-uncertainty")
	i.Std, i.Limits = 1, study.Interval{Lo: 2, Hi: 1}
	_, err = i.Risks(i.Limits)
	refused(t, "no room", err, "process-limits")
}
