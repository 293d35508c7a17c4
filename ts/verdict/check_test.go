package verdict

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// The two worked examples of JCGM 106:2012, 7.3.3, with the probabilities
// recomputed as Phi(1.40) and Phi(2.2907). Figures from memory of the guide; the
// second is also reworked in a public accreditation guide.
func TestConformityProbabilityOfTheGuide(t *testing.T) {
	normal := stat.Of(1.96)
	for _, c := range []struct{ y, u, lo, hi, want float64 }{
		{-5.47, 0.05, math.Inf(-1), -5.40, 0.91924},
		{509.7, 8.6, 490, math.Inf(1), 0.98901},
	} {
		p, _, _ := Decide(c.y, param.Bars{Down: c.u, Up: c.u}, c.lo, c.hi, 0.95, normal)
		if math.Abs(p-c.want) > 5e-6 {
			t.Errorf("decide(%v, %v): p = %.6f, want %v", c.y, c.u, p, c.want)
		}
	}
}

// The edges of the guard band: 1.959964 u at 95 %.
func TestGuardBand(t *testing.T) {
	const u, k = 0.1, 1.959963984540054
	for _, c := range []struct {
		y    float64
		want Verdict
	}{
		{1 + k*u + 1e-9, InSpec}, {1 + k*u - 1e-9, Undecided},
		{1 - k*u + 1e-9, Undecided}, {1 - k*u - 1e-9, OutOfSpec},
		{2 - k*u - 1e-9, InSpec}, {2 - k*u + 1e-9, Undecided},
		{2 + k*u - 1e-9, Undecided}, {2 + k*u + 1e-9, OutOfSpec},
	} {
		if _, _, v := Decide(c.y, param.Bars{Down: u, Up: u}, 1, 2, 0.95, stat.Of(1.96)); v != c.want {
			t.Errorf("decide(%v) = %v, want %v", c.y, v, c.want)
		}
	}
	// Limits closer together than two guard bands can never be met for certain.
	if _, _, v := Decide(1.1, param.Bars{Down: u, Up: u}, 1, 1.2, 0.95, stat.Of(1.96)); v != Undecided {
		t.Errorf("narrow limits: %v, want undecided", v)
	}
}

// Each limit is met with the error bar that points to it: the guard bands of a value
// that is less certain upwards.
func TestDecisionWithUnevenErrorBars(t *testing.T) {
	const k = 1.959963984540054
	u := param.Bars{Down: 0.1, Up: 0.2}
	for _, c := range []struct {
		y    float64
		want Verdict
	}{
		{1 + k*u.Down + 1e-9, InSpec}, {1 + k*u.Down - 1e-9, Undecided},
		{1 - k*u.Up + 1e-9, Undecided}, {1 - k*u.Up - 1e-9, OutOfSpec},
		{2 - k*u.Up - 1e-9, InSpec}, {2 - k*u.Up + 1e-9, Undecided},
		{2 + k*u.Down - 1e-9, Undecided}, {2 + k*u.Down + 1e-9, OutOfSpec},
	} {
		if _, _, v := Decide(c.y, u, 1, 2, 0.95, stat.Of(1.96)); v != c.want {
			t.Errorf("decide(%v) = %v, want %v", c.y, v, c.want)
		}
	}
	// Half of the probability lies on each side of the value: 0.5 + 0.5 - 0.02275.
	if p, margin, _ := Decide(1.2, u, 1, 10, 0.95, stat.Of(1.96)); math.Abs(p-0.97725) > 1e-5 || math.Abs(margin-2) > 1e-9 {
		t.Errorf("two short error bars above the limit: p = %v, margin %v", p, margin)
	}
}

// Student's t from handbook tables (t at 97.5 %, any printed table).
func TestSpreadRecoversDegreesOfFreedom(t *testing.T) {
	for dof, t975 := range map[float64]float64{2: 4.302653, 4: 2.776445, 9: 2.262157, 30: 2.042272} {
		s := stat.Of(t975)
		if math.Abs(s.Dof-dof) > 1e-4*dof {
			t.Errorf("spreadOf(%v) has %v degrees of freedom, want %v", t975, s.Dof, dof)
		}
		if q := s.Quantile(0.975); math.Abs(q-t975) > 1e-5 {
			t.Errorf("quantile(0.975) = %v, want %v", q, t975)
		}
	}
	if s := stat.Of(0); !math.IsInf(s.Dof, 1) {
		t.Errorf("no coverage given: %v degrees of freedom, want infinitely many", s.Dof)
	}
}

// A driver that sits exactly on a limit must hardly ever be called in spec: at
// most 2.5 % of all measurements at 95 % confidence, for one-sided, wide and
// narrow two-sided limits, and with few degrees of freedom behind u.
func TestFalseInSpecAtTheLimit(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	const runs = 40000
	for _, dof := range []int{0, 4} {
		for name, limits := range map[string][2]float64{
			"upper only": {math.Inf(-1), 0}, "wide": {-0.2, 0}, "four u wide": {-0.04, 0}, "five u wide": {-0.05, 0},
		} {
			in := 0
			for range runs {
				const sigma = 0.01
				u, s := sigma, stat.Of(0)
				if dof > 0 {
					var chi2 float64
					for range dof {
						chi2 += math.Pow(rng.NormFloat64(), 2)
					}
					u, s = sigma*math.Sqrt(chi2/float64(dof)), stat.Dist{Dof: float64(dof)}
				}
				if _, _, v := Decide(sigma*rng.NormFloat64(), param.Bars{Down: u, Up: u}, limits[0], limits[1], 0.95, s); v == InSpec {
					in++
				}
			}
			rate := float64(in) / runs
			if allow := 3 * math.Sqrt(0.025*0.975/runs); rate > 0.025+allow {
				t.Errorf("%s, %d degrees of freedom: called in spec in %.2f %% at the limit", name, dof, 100*rate)
			}
			if name == "upper only" && rate < 0.02 {
				t.Errorf("%s, %d degrees of freedom: only %.2f %%: the rule rejects good drivers", name, dof, 100*rate)
			}
		}
	}
}

func TestCheckWorstDecides(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	fs := handmade.Woofer.Fs()
	spec := Spec{Name: "sheet", Limits: []Limit{
		{param.Re, 5, 6}, {param.Fs, 0.9 * fs, 1.1 * fs}, {param.Qts, 0, 0.4}, {param.BL, 7.5, 8.5},
	}}
	c, err := Check(p, spec)
	if err != nil {
		t.Fatal(err)
	}
	if c.Verdict != OutOfSpec || c.Deciding().Limit.ID != param.Qts {
		t.Errorf("verdict %v by %v, want out-of-spec by Qts", c.Verdict, c.Deciding().Limit.ID)
	}
	if j := c.Checks[3]; j.Known || j.Verdict != Undecided || j.Missing != NeedsMass {
		t.Errorf("BL from one free sweep: %+v, want undecided for want of a mass", j)
	}
	spec.Limits = append(spec.Limits[:2], spec.Limits[3])
	if c, err = Check(p, spec); err != nil || c.Verdict != Undecided || len(c.Next) != 1 || c.Next[0].Kind != DoAddedMass {
		t.Errorf("verdict %v, next %+v, %v; want undecided and an added mass", c.Verdict, c.Next, err)
	}
	spec.Limits = spec.Limits[:2]
	if c, err = Check(p, spec); err != nil || c.Verdict != InSpec || len(c.Next) != 0 {
		t.Errorf("verdict %v, next %+v, %v; want in-spec", c.Verdict, c.Next, err)
	}
}

func TestCheckRefusesBadSheets(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	for code, spec := range map[string]Spec{
		"no-limits": {},
		"bad-value": {Confidence: 1, Limits: []Limit{{param.Fs, 1, 2}}},
		"bad-limit": {Limits: []Limit{{param.Fs, 3, 2}}},
	} {
		_, err := Check(p, spec)
		var refusal *notice.Notice
		if !errors.As(err, &refusal) || refusal.Code != code {
			t.Errorf("%s: got %v", code, err)
		}
	}
}

// A meter that contradicts the sweep leaves open what depends on it: Re, Qes and Qts, and not Fs.
func TestVerdictThatDependsOnTheMeter(t *testing.T) {
	d := handmade.Known{Driver: handmade.CourseWithCoil(), Coverage: 1.96, Std: map[param.ID]float64{param.Re: 0.002, param.Fs: 0.002, param.Qms: 0.01, param.Qes: 0.01, param.L1k: 0.01, param.R1k: 0.01}}.Parameters(nil)
	re, _ := d.Get(param.Re)
	fs, _ := d.Get(param.Fs)
	spec := Spec{Limits: []Limit{{ID: param.Re, Lo: 0.9 * re.Value, Hi: 1.1 * re.Value}, {ID: param.Fs, Lo: 0.9 * fs.Value, Hi: 1.1 * fs.Value}}}
	for off, want := range map[float64]Verdict{0: InSpec, 0.05: InSpec, 0.2: Undecided, -0.5: Undecided} {
		d.MeterOff = off
		c, err := Check(d, spec)
		if err != nil {
			t.Fatal(err)
		}
		if c.Verdict != want || c.Checks[1].Verdict != InSpec {
			t.Errorf("reading off by %v: %v, want %v; Fs %v", off, c.Verdict, want, c.Checks[1].Verdict)
		}
		if want == Undecided && (math.Abs(c.Checks[0].ByMeter.Value/(re.Value*math.Exp(off))-1) > 1e-9 || c.Next[0].Kind != DoSettle) {
			t.Errorf("reading off by %v: %v by the meter, next %v", off, c.Checks[0].ByMeter, c.Next)
		}
	}
}
