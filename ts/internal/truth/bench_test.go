package truth

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// values of one driver on a bench, as logarithms of Fs, Qms and Re.
func scattered(n int, state func(i int) State) (fs, qms, re []float64) {
	d := DrawWith(Rand(11), Plain)
	for i := range n {
		v := d.In(state(i)).Values()
		fs, qms, re = append(fs, math.Log(v.Fs)), append(qms, math.Log(v.Qms)), append(re, math.Log(v.Re))
	}
	return fs, qms, re
}

// The bench scatters as it says: Fs by 0.5, 1 or 2 % from session to session.
func TestBenchesScatterAsStated(t *testing.T) {
	for _, width := range []float64{0.0005, 0.005, 0.01, 0.02} {
		rng, b := Rand(12), CommonBench(width)
		fs, qms, re := scattered(600, func(int) State { return b.Fresh(rng) })
		near(t, "Fs", stat.StdDev(fs, nil), width, 0.1)
		if r := stat.StdDev(qms, nil) / width; r < 1.5 || r > 3.5 {
			t.Errorf("Qms scatters by %.2f times Fs", r)
		}
		// 1.5 K of room at 1 % are 0.6 % of Re.
		near(t, "Re", stat.StdDev(re, nil), 0.62*width, 0.15)
		// A colder driver is stiffer and has less resistance; a stiffer one is lossier.
		if r := stat.Correlation(fs, re, nil); r > -0.1 {
			t.Errorf("Fs and Re go together: %.2f", r)
		}
	}
}

// What is nested scatters less: again < re-clamped < session, and an operator adds to all.
func TestKindsOfRepeats(t *testing.T) {
	b := CommonBench(0.01)
	for kind, want := range map[Kind]float64{Again: 0.0015, Reclamped: 0.0045, Session: 0.0088, Operator: 0.005} {
		rng := Rand(13, uint64(kind))
		base := b.Take(rng, Session, State{})
		fs, _, _ := scattered(400, func(int) State { return b.Take(rng, kind, base) })
		near(t, "Fs", stat.StdDev(fs, nil), want, 0.1)
		near(t, "around its base", stat.Mean(fs, nil), math.Log(DrawWith(Rand(11), Plain).In(base).Values().Fs), 0.001)
	}
}

func TestStateOfADriver(t *testing.T) {
	d := DrawWith(Rand(14), Plain)
	v := d.Values()
	same := d.In(State{}).Values()
	near(t, "nothing", same.Fs, v.Fs, 1e-12)
	stiffer := d.In(State{Stiffness: math.Log(1.1)}).Values()
	near(t, "stiffer", stiffer.Fs/v.Fs, math.Sqrt(1.1), 2e-3)
	lossier := d.In(State{Loss: math.Log(1.2)}).Values()
	near(t, "lossier", lossier.Rms/v.Rms, 1.2, 0.02)
	warm := d.In(State{Room: 5, Coil: 5}).Values()
	near(t, "coil", warm.Re/v.Re, 1+10*d.Wire.PerKelvin, 1e-9)
	near(t, "magnet", warm.BL/v.BL, 1+5*d.Magnet.PerKelvin, 1e-9)

	// A worked suspension is softer at once by what it was worked, less later, and as before after a week.
	near(t, "worked", State{}.Worked(0.1, 0).Stiffness, math.Log(0.9), 1e-12)
	hour, day := State{}.Worked(0.1, 1).Stiffness, State{}.Worked(0.1, 24).Stiffness
	if !(math.Log(0.9) < hour && hour < day && day < 0) {
		t.Errorf("after an hour %g, after a day %g", hour, day)
	}
	near(t, "week", 1+State{}.Worked(0.1, 200).Stiffness, 1, 1e-12)
}

// A repair changes what it says.
func TestRepair(t *testing.T) {
	d := DrawWith(Rand(15), Plain)
	v, after := d.Values(), d.Repair(Repaired{Stiffness: 1.35, Mass: 1.03, BL: 0.97}).Values()
	near(t, "Cms", v.Cms/after.Cms, 1.35, 0.02) // the stiffness at the new, higher Fs
	near(t, "Mms", after.Mms/v.Mms, 1.03, 1e-4)
	near(t, "BL", after.BL/v.BL, 0.97, 1e-12)
	if d.Repair(Repaired{}).Values() != v {
		t.Error("an empty repair must change nothing")
	}
}
