package truth

import (
	"bytes"
	"fmt"
	"math"
	"math/cmplx"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// every case by a seed, with one value that tells its seeds apart.
var everyCase = map[string]func(seed uint64) any{
	"untouched": func(s uint64) any {
		b, a := BeforeAfter(s, Plain, CommonBench(0.01), Repaired{}, NoMass)
		return []any{b, a}
	},
	"shop masses": func(s uint64) any {
		b, a := BeforeAfter(s, Plain, CommonBench(0.01), Repaired{}, ShopMass)
		return []any{b, a}
	},
	"study":         func(s uint64) any { return Study(s, Plain, CommonBench(0.01), Nested{2, 2, 2, 2}) },
	"repeats":       func(s uint64) any { r, v := Repeats(s, Plain, CommonBench(0.01), Session, 3); return []any{r, v} },
	"inputs":        func(s uint64) any { return Uncalibrated(s, Plain, DriverFirst) },
	"soft clip":     func(s uint64) any { return SoftClipping(s, Plain) },
	"levels":        func(s uint64) any { a, b := TwoLevels(s, Plain, 0.05, 1); return []any{a, b} },
	"box":           func(s uint64) any { return OnBox(s, Plain, 95000) },
	"contact":       func(s uint64) any { a, b := BadContact(s, Plain, 0.2); return []any{a, b} },
	"lesson":        func(s uint64) any { return Lesson(s, []float64{0.004, 0.008, 0.012}, true) },
	"files":         func(s uint64) any { return RealFiles(s, Choice{}, CommonBench(0.01), 2) },
	"healthy":       func(s uint64) any { return Healthy(s, 0.2) },
	"windowed":      func(s uint64) any { return Windowed(s) },
	"clipped":       func(s uint64) any { return Clipped(s) },
	"smoothed":      func(s uint64) any { return Smoothed(s, 1./3) },
	"slipped":       func(s uint64) any { b, _ := Slipped(s, DecibelsAsOhm); return b },
	"readable":      func(s uint64) any { b, _, _ := Readable(s); return b },
	"vented":        func(s uint64) any { _, c := Connect(s, InVentedBox); return c },
	"43 and 114":    func(s uint64) any { _, c := Connect(s, InVentedBox43And114); return c },
	"two in series": func(s uint64) any { _, c := Connect(s, TwoUnequalSeries); return c },
}

// The same seed gives the same case, another seed another one.
func TestCasesFollowTheirSeeds(t *testing.T) {
	for name, of := range everyCase {
		first, again, other := fmt.Sprint(of(3)), fmt.Sprint(of(3)), fmt.Sprint(of(4))
		if first != again {
			t.Errorf("%s: the same seed gives another case", name)
		}
		if first == other {
			t.Errorf("%s: two seeds give the same case", name)
		}
	}
}

func TestBeforeAfter(t *testing.T) {
	var fs, cms []float64
	for seed := range uint64(120) {
		before, after := BeforeAfter(seed, Plain, CommonBench(0.01), Repaired{Stiffness: 1.35, Mass: 1.03}, SharedScale)
		b, a := before.Free.Truth, after.Free.Truth
		fs = append(fs, math.Log(a.Fs/b.Fs))
		cms = append(cms, math.Log(b.Cms/a.Cms))
		near(t, "Mms", a.Mms/b.Mms, 1.03, 0.002)
		if before.Loaded.MassTold != after.Loaded.MassTold || before.Loaded.MassTold < 0.6*b.Mms {
			t.Fatalf("seed %d: masses %g and %g", seed, before.Loaded.MassTold, after.Loaded.MassTold)
		}
	}
	near(t, "change of Fs", stat.Mean(fs, nil), math.Log(1.35/1.03)/2, 0.08)
	near(t, "its scatter", stat.StdDev(fs, nil), 0.01*math.Sqrt2, 0.25)
	near(t, "change of Cms", stat.Mean(cms, nil), math.Log(1.35), 0.05)
}

// The sweep with a mass is a driver with a mass of about the told size on it.
func TestMassesOfAShop(t *testing.T) {
	off := 0.0
	for seed := range uint64(40) {
		visit, _ := BeforeAfter(seed, Plain, CommonBench(0.001), Repaired{}, ShopMass)
		l := visit.Loaded
		free, loaded := peakOf(visit.Free.Sweep), peakOf(l.Sweep)
		m := l.MassTold / (math.Pow(free/loaded, 2) - 1) // classical formula
		off += math.Abs(m/l.Truth.Mms-1) / 40
		if math.Abs(m/l.Truth.Mms-1) > 0.25 {
			t.Errorf("seed %d: Mms %.2f times the truth", seed, m/l.Truth.Mms)
		}
	}
	if off < 0.01 || off > 0.1 {
		t.Errorf("the classical formula is off by %.3f on average", off)
	}
}

// peakOf is the frequency of the highest |Z| below 300 Hz, by a parabola through three points.
func peakOf(s Sweep) float64 {
	best := 1
	for i := 1; i < len(s.F)-1 && s.F[i] < 300; i++ {
		if cmplx.Abs(s.Z[i]) > cmplx.Abs(s.Z[best]) {
			best = i
		}
	}
	a, b, c := cmplx.Abs(s.Z[best-1]), cmplx.Abs(s.Z[best]), cmplx.Abs(s.Z[best+1])
	shift := (a - c) / (a - 2*b + c) / 2
	return s.F[best] * math.Pow(s.F[best+1]/s.F[best], shift)
}

// Two-level truths differ, the contact adds its ohm, labels are exchanged, the study has its shape.
func TestWhatCasesHold(t *testing.T) {
	good, bad := BadContact(5, Plain, 0.2)
	near(t, "contact", real(bad.Sweep.Z[0]-good.Sweep.Z[0]), 0.2, 0.15)
	if right, wrong := Lesson(5, []float64{0.004, 0.008, 0.012}, false), Lesson(5, []float64{0.004, 0.008, 0.012}, true); right[1].MassTold != wrong[2].MassTold ||
		!reflect.DeepEqual(right[1].Sweep, wrong[1].Sweep) {
		t.Error("exchanged masses are the same sweeps under each other's labels")
	}
	quiet, loud := TwoLevels(5, Plain, 0.02, 2)
	if quiet.Truth.Fs == loud.Truth.Fs {
		t.Error("the level must matter")
	}
	study := Study(5, Plain, CommonBench(0.01), Nested{1, 5, 2, 2})
	if len(study) != 1 || len(study[0]) != 5 || len(study[0][0]) != 2 || len(study[0][0][0]) != 2 {
		t.Errorf("a study of %d drivers, %d sessions", len(study), len(study[0]))
	}
	on := OnBox(5, Plain, 80000)
	near(t, "pressure", on.Free.Driver.Air.Stiffness(), 1.4*80000, 1e-9)
	if f, free := peakOf(on.Loaded.Sweep), peakOf(on.Free.Sweep); f < 1.1*free {
		t.Errorf("on the box %g Hz, free %g", f, free)
	}
	if files := RealFiles(5, Choice{}, CommonBench(0.01), 3); files[0].Truth == files[1].Truth || files[0].Truth.Re/files[1].Truth.Re > 1.02 {
		t.Error("repeats are of one driver in different states")
	}
}

// Every connection is not the driver, and some are known in closed form.
func TestConnections(t *testing.T) {
	for _, c := range Connections() {
		alone, with := Connect(7, c)
		if bytes.Equal([]byte(fmt.Sprint(alone.Sweep.Z)), []byte(fmt.Sprint(with.Sweep.Z))) || c.String() == "" {
			t.Errorf("%v is the driver alone", c)
		}
	}
	for seed := range uint64(12) {
		alone, both := Connect(seed, TwoEqualParallel)
		near(t, "parallel", real(both.Sweep.Z[0])/real(alone.Sweep.Z[0]), 0.5, 0.05)
		alone, both = Connect(seed, TwoEqualSeries)
		near(t, "series", real(both.Sweep.Z[0])/real(alone.Sweep.Z[0]), 2, 0.05)
		_, box := Connect(seed, InVentedBox43And114)
		var peaks []float64
		for i := 2; i < len(box.Sweep.F)-2 && box.Sweep.F[i] < 250; i++ {
			m := func(k int) float64 { return cmplx.Abs(box.Sweep.Z[i+k]) }
			if m(0) > 1.3*box.Truth.Re && m(0) > m(-1) && m(0) > m(1) && m(0) > m(-2) && m(0) > m(2) {
				peaks = append(peaks, box.Sweep.F[i])
			}
		}
		if len(peaks) != 2 {
			t.Errorf("seed %d: peaks at %v", seed, peaks)
			continue
		}
		near(t, "lower peak", peaks[0], 43, 0.08)
		near(t, "upper peak", peaks[1], 114, 0.08)
	}
}

// What a study nests: sweeps of one clamping lie closer together than clampings, those closer than sessions.
func TestStudyIsNested(t *testing.T) {
	study := Study(8, Plain, CommonBench(0.01), Nested{Drivers: 1, Sessions: 60, Clampings: 2, Sweeps: 2})[0]
	fs := func(session, clamping, sweep int) float64 { return math.Log(study[session][clamping][sweep].Truth.Fs) }
	var again, reclamped, sessions []float64
	for s := range study {
		again = append(again, fs(s, 0, 0)-fs(s, 0, 1))
		reclamped = append(reclamped, fs(s, 0, 0)-fs(s, 1, 0))
		sessions = append(sessions, fs(s, 0, 0)-fs((s+1)%len(study), 0, 0))
	}
	near(t, "again", stat.StdDev(again, nil), 0.0015*math.Sqrt2, 0.3)
	near(t, "re-clamped", stat.StdDev(reclamped, nil), math.Hypot(0.0015, 0.0045)*math.Sqrt2, 0.3)
	near(t, "sessions", stat.StdDev(sessions, nil), 0.01*math.Sqrt2, 0.3)
	// Repeats of one kind share what lies above it.
	for kind, want := range map[Kind]float64{Again: 0.0015, Reclamped: math.Hypot(0.0015, 0.0045), Session: 0.01} {
		var around []float64
		taken, _ := Repeats(8, Plain, CommonBench(0.01), kind, 60)
		for _, r := range taken {
			around = append(around, math.Log(r.Truth.Fs))
		}
		near(t, "repeats", stat.StdDev(around, nil), want, 0.3)
	}
}

// What each connection shows at the ends of its sweep.
func TestSignsOfConnections(t *testing.T) {
	for seed := range uint64(10) {
		ends := func(c Connection) (alone Taken, low, high complex128) {
			alone, with := Connect(seed, c)
			return alone, with.Sweep.Z[0], with.Sweep.Z[len(with.Sweep.Z)-1]
		}
		check := func(c Connection, ok bool, z complex128) {
			if !ok {
				t.Errorf("seed %d: %v shows %.3g", seed, c, z)
			}
		}
		_, low, _ := ends(CapacitorInSeries)
		check(CapacitorInSeries, imag(low) < -80, low) // 300 µF at 5 Hz are 106 ohm
		alone, low, high := ends(CoilInSeries)
		top := alone.Sweep.Z[len(alone.Sweep.Z)-1]
		check(CoilInSeries, imag(high)-imag(top) > 6 && real(low) < alone.Truth.Re+3, high) // 0.5 mH at 2 kHz are 6.3 ohm
		alone, low, _ = ends(ResistanceInSeries)
		check(ResistanceInSeries, real(low) > alone.Truth.Re*0.97+0.3, low)
		_, low, high = ends(ShortedLeads)
		check(ShortedLeads, cmplx.Abs(low) < 0.4 && cmplx.Abs(high) < 0.4, high)
		_, _, high = ends(NoDriver)
		check(NoDriver, cmplx.Abs(high) > 1000, high)
		_, low, high = ends(OnlyResistor)
		check(OnlyResistor, math.Abs(imag(high)) < 0.02*real(high) && math.Abs(real(low)/real(high)-1) < 0.02, high)
		_, blocked := Connect(seed, BlockedCoil)
		for i, f := range blocked.Sweep.F {
			check(BlockedCoil, f > 150 || cmplx.Abs(blocked.Sweep.Z[i]) < 1.5*blocked.Truth.Re, blocked.Sweep.Z[i])
		}
		free, mass := Connect(seed, WithTestMass)
		fall := peakOf(mass.Sweep) / peakOf(free.Sweep)
		check(WithTestMass, fall > 0.58 && fall < 0.9, complex(fall, 0))
		free, box := Connect(seed, InClosedBox)
		rise := peakOf(box.Sweep) / peakOf(free.Sweep)
		check(InClosedBox, rise > 1.15 && rise < 2.6, complex(rise, 0))
	}
}
