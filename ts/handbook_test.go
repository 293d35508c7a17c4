package ts_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"conewright/ts"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Worked examples of courses and handbooks, to the digits that they print.
//
// Where a longer number stands beside a short one, the short one is printed in
// the source and the long one is that of testdata/handbook/derived.txt (derived).

// printed compares got with a number as a source prints it: equal after
// rounding to the same number of decimals.
func printed(t *testing.T, what string, got float64, want string) {
	t.Helper()
	decimals := 0
	if i := strings.IndexByte(want, '.'); i >= 0 {
		decimals = len(want) - i - 1
	}
	if s := fmt.Sprintf("%.*f", decimals, got); s != want {
		t.Errorf("%s = %s, want %s (%.9g)", what, s, want, got)
	}
}

// level1W returns the level in dB at 1 m in half space for 1 W in Re from the
// efficiency, for examples that print the level, theory (2.12).
func level1W(eta0, rho, c float64) float64 {
	return 10 * math.Log10(eta0*rho*c/(2*math.Pi)/4e-10)
}

// airOf returns dry air with the round values that an example assumes, rho in
// kg/m^3 and c in m/s.
func airOf(rho, c float64) driver.Air {
	a := driver.Air{Temperature: 293.15, Pressure: 101325}
	for range 50 {
		a.Temperature += (c - a.SoundSpeed()) / 0.6
		a.Pressure *= rho / a.Density()
	}
	return a
}

// readings returns a reading of what a fit of d finds from exact sweeps in free
// air, with the mass dM (kg) and, if vb is not 0, on a box of vb m^3.
func readings(t *testing.T, d driver.Driver, sd, dM, vb float64, air driver.Air) (*fitted.Result, func(param.ID) float64) {
	t.Helper()
	sweep := func(dM, dK float64) measured.Impedance {
		z := simulated.Grid(d, 5, 2000, 24)
		for i, f := range z.Freq {
			z.Z[i] = d.LoadedImpedance(f, dM, dK)
		}
		return z
	}
	sweeps := []measured.Sweep{{Impedance: sweep(0, 0)}, {Impedance: sweep(dM, 0), Load: measured.Load{Kind: measured.AddedMass, Value: dM}}}
	if vb != 0 {
		sweeps = append(sweeps, measured.Sweep{Impedance: sweep(0, air.Stiffness()*sd*sd/vb), Load: measured.Load{Kind: measured.KnownBox, Value: vb}})
	}
	found, err := ts.Fit(sweeps, measured.Conditions{Temperature: param.Quantity{Value: air.Temperature}, Pressure: param.Quantity{Value: air.Pressure}, Sd: param.Quantity{Value: sd}})
	if err != nil {
		t.Fatal(err)
	}
	return found, func(id param.ID) float64 {
		e, ok := found.Parameters.Get(id)
		if !ok {
			t.Errorf("the fit found no %v", id)
		}
		return e.Value
	}
}

// Source: lecture notes and problems 7 of the Danish university course 34870
// Electroacoustics, problem 1 (read; answers in brackets on the sheet); rho 1.2
// kg/m^3, c 344 m/s.
func TestCourseProblem1(t *testing.T) {
	d := driver.Driver{Re: 6, BL: 5, Mms: 38e-3, Cms: 0.9e-3, Rms: 1.5}
	sd := driver.SdFromDiameter(0.20)
	_, value := readings(t, d, sd, 20e-3, 0, airOf(1.2, 344))
	for _, c := range []struct {
		what         string
		got          float64
		short, exact string
	}{
		{"fs", d.Fs(), "27.2", "27.21492"},
		{"Qms", d.Qms(), "4.33", "4.331909"},
		{"Qes", d.Qes(), "1.56", "1.559487"},
		{"Qts", d.Qts(), "1.15", "1.146682"},
		{"Vas/L", 1e3 * value(param.Vas), "126", "126.1364"},
		{"Cmes/uF", 1e6 * value(param.Cmes), "1520", "1520.000"},
		{"Lces/mH", 1e3 * value(param.Lces), "22.5", "22.50000"},
		{"Zmax", real(d.Impedance(d.Fs())), "22.7", "22.66667"},
		{"eta0/%", 100 * value(param.Eta0), "0.158", "0.1581118"},
		{"L(1 W)", level1W(value(param.Eta0), 1.2, 344), "84.1", "84.145"},
		{"L(2.83 V)", level1W(value(param.Eta0), 1.2, 344) + 20*math.Log10(2.83/math.Sqrt(d.Re)), "85.4", "85.399"},
	} {
		printed(t, c.what, c.got, c.short)
		printed(t, c.what, c.got, c.exact)
	}
	// Part b: without the baffle one side's air is missing; Qes 1.5 follows.
	oneSide := driver.AirMass(sd, param.FreeAir, airOf(1.2, 344))
	printed(t, "air/g", 1e3*oneSide, "3.2")
	free := d
	free.Mms -= oneSide
	printed(t, "free-air Mms/g", 1e3*free.Mms, "34.8")
	printed(t, "free-air Qes", free.Qes(), "1.5")
	// The sheet goes back from Qes 1.5, as printed, to Mms 35.2 g and Qms 4.17.
	mms := math.Pow(1.5*d.BL*d.BL/d.Re, 2) * d.Cms
	printed(t, "Mms/g from Qes 1.5", 1e3*mms, "35.2")
	free.Mms = mms
	printed(t, "Qms from Qes 1.5", free.Qms(), "4.17")
}

// Source: the same course, problems 2 and 3, a 12-inch woofer (read); the long
// digits with Sd 0.0519 m^2 derived.
func TestCourseWoofer(t *testing.T) {
	free := driver.Driver{BL: 11.6, Mms: 80.2e-3, Cms: 0.55e-3, Rms: 3.25}
	free.Re = 0.49 / (free.Mms * 2 * math.Pi * free.Fs()) * free.BL * free.BL // from Qes 0.49
	printed(t, "fs free", free.Fs(), "23.96")
	printed(t, "Re", free.Re, "5.46")
	printed(t, "Sd/cm2", 1e4*driver.SdFromDiameter(0.257), "519")

	d := handmade.CourseWoofer
	const sd = 0.0519
	air := airOf(1.2, 344)
	_, value := readings(t, d, sd, 20e-3, 0, air)
	eta := value(param.Eta0)
	r0 := real(d.Impedance(d.Fs())) / d.Re
	for _, c := range []struct {
		what string
		got  float64
		want []string
	}{
		{"fs", d.Fs(), []string{"22.85", "22.850962"}},
		{"Qms", d.Qms(), []string{"3.90", "3.896454"}},
		{"Qes", d.Qes(), []string{"0.514", "0.513842"}},
		{"Qts", d.Qts(), []string{"0.454", "0.453974"}},
		{"Zmax", r0 * d.Re, []string{"46.9", "46.86", "46.863077"}},
		{"r0", r0, []string{"8.583"}},
		{"level", d.Re * math.Sqrt(r0), []string{"16.00"}},
		{"f1", handmade.ExactCrossing(d, math.Sqrt(r0), -1), []string{"15.82"}},
		{"f2", handmade.ExactCrossing(d, math.Sqrt(r0), +1), []string{"33.00"}},
		{"Vas/L", 1e3 * value(param.Vas), []string{"210", "210.376"}},
		{"eta0/%", 100 * eta, []string{"0.47", "0.473766"}},
		{"L(1 W)", level1W(eta, 1.2, 344), []string{"88.911"}},
		{"L(2.83 V)", level1W(eta, 1.2, 344) + 20*math.Log10(2.83/math.Sqrt(d.Re)), []string{"90.6", "90.574"}},
		{"dB re 1 Pa/V", level1W(eta, 1.2, 344) - 10*math.Log10(d.Re) - 20*math.Log10(1/20e-6), []string{"-12.4"}},
		{"|Z(1 kHz)|, lossy coil", cmplx.Abs(handmade.WithCoil(d, driver.LossyCoil{K: 0.0106, N: 0.76}).Impedance(1000)), []string{"11.2", "11.210869"}},
		{"|Z(1 kHz)|, plain coil", cmplx.Abs(handmade.WithCoil(d, driver.PlainCoil{L: 2.8e-3}).Impedance(1000)), []string{"18", "18.189264"}},
	} {
		for _, want := range c.want {
			printed(t, c.what, c.got, want)
		}
	}
	// The sheet rounds fs to 22.9 Hz before it goes on to Qes.
	printed(t, "Qes at 22.9 Hz", 2*math.Pi*22.9*d.Mms*d.Re/(d.BL*d.BL), "0.515")

	// Hand method on the curve.
	h := measured.HandMethod(simulated.Grid(d, 5, 2000, 48))
	if !h.Valid {
		t.Fatal(h.Reason)
	}
	printed(t, "f1 of the hand method", h.F1, "15.82")
	printed(t, "f2 of the hand method", h.F2, "33.00")
	printed(t, "Qms of the hand method", h.Qms, "3.90")
	printed(t, "Qes of the hand method", h.Qes, "0.514")
	printed(t, "Qts of the hand method", h.Qts, "0.454")

	// Added masses and boxes: the resonance, and the way back.
	for _, c := range []struct {
		grams float64
		fs    string
	}{{20, "20.631232"}, {40, "18.953734"}, {88.2, "16.158070"}} {
		dM := c.grams / 1e3
		with := d
		with.Mms += dM
		printed(t, fmt.Sprintf("fs with %v g", c.grams), with.Fs(), c.fs)
		found, value := readings(t, d, sd, dM, 0, air)
		printed(t, "Mms/g", 1e3*value(param.Mms), "88.200")
		for _, m := range found.Methods {
			printed(t, "Mms/g by "+m.Name, 1e3*m.Value, "88.200")
		}
	}
	for _, c := range []struct {
		litres float64
		fc     string
	}{{20, "77.554645"}, {50, "52.145844"}, {100, "40.257642"}} {
		vb := c.litres / 1e3
		stiffness := air.Stiffness() * sd * sd / vb
		in := d
		in.Cms = 1 / (1/d.Cms + stiffness)
		printed(t, fmt.Sprintf("fc in %v L", c.litres), in.Fs(), c.fc)
		if z := d.LoadedImpedance(60, 0, stiffness); cmplx.Abs(z-in.Impedance(60)) > 1e-12*cmplx.Abs(z) {
			t.Errorf("a box of %v L as a load and as a smaller compliance differ", c.litres)
		}
	}

	// One side's air, a = 12.853 cm, is what the two mountings differ by.
	area := math.Pi * 0.12853 * 0.12853
	printed(t, "air of one side/g", 1e3*driver.AirMass(area, param.FreeAir, airOf(1.2, 344)), "6.79")
	printed(t, "difference of mountings/g", 1e3*(driver.AirMass(area, param.Baffle, airOf(1.2, 344))-driver.AirMass(area, param.FreeAir, airOf(1.2, 344))), "6.79")
}

// Source: the same course, slide example of a small full-range driver (read);
// long digits derived. The moving mass is that of the parts plus the air.
func TestCourseSmallDriver(t *testing.T) {
	sd := driver.SdFromDiameter(2 * 3.05e-2)
	airGrams := 1e3 * driver.AirMass(sd, param.Baffle, airOf(1.2, 344))
	d := driver.Driver{Re: 6, BL: 3.4, Mms: (2.3 + airGrams) / 1e3, Cms: 0.98e-3, Rms: 0.35, Coil: driver.PlainCoil{L: 0.05e-3}}
	_, value := readings(t, d, sd, 2e-3, 0, airOf(1.2, 344))
	for _, c := range []struct {
		what string
		got  float64
		want []string
	}{
		{"Sd/cm2", 1e4 * sd, []string{"29.22"}},
		{"air/g", airGrams, []string{"0.18"}},
		{"Mms/g", 1e3 * d.Mms, []string{"2.5", "2.481585"}},
		{"fs", d.Fs(), []string{"102", "102.0569"}},
		{"Rms + BL^2/Re", d.Rms + d.BL*d.BL/d.Re, []string{"2.28"}},
		{"Qms", d.Qms(), []string{"4.546566"}},
		{"Qes", d.Qes(), []string{"0.825933"}},
		{"Qts", d.Qts(), []string{"0.7", "0.698960"}},
		{"Vas/L", 1e3 * value(param.Vas), []string{"1.188566"}},
	} {
		for _, want := range c.want {
			printed(t, c.what, c.got, want)
		}
	}
}

// Source: technical reference of a French preparatory-class project on
// loudspeaker modelling, section 01.5 (read).
func TestPreparatoryClassDriver(t *testing.T) {
	d := handmade.StiffWoofer
	_, value := readings(t, d, 0.05, 60e-3, 0, airOf(1.2, 344))
	for _, c := range []struct {
		what string
		got  float64
		want string
	}{
		{"Res", value(param.Res), "96"},
		{"Lces/mH", 1e3 * value(param.Lces), "63.4"},
		{"Cmes/uF", 1e6 * value(param.Cmes), "260"},
		{"fs", d.Fs(), "39.2"},
		{"Qms", d.Qms(), "6.15"},
		{"Qes", d.Qes(), "0.321"},
		{"Qts", d.Qts(), "0.305"},
	} {
		printed(t, c.what, c.got, c.want)
	}
	for _, c := range []struct {
		f              float64
		magnitude, deg string
	}{{20, "12.47", "60.2"}, {50, "31.58", "-62.8"}, {100, "8.34", "-48.4"}, {200, "5.27", "-14.2"}, {500, "6.11", "34.8"}, {1000, "10.13", "60.4"}} {
		z := d.Impedance(c.f)
		printed(t, fmt.Sprintf("|Z| at %v Hz", c.f), cmplx.Abs(z), c.magnitude)
		printed(t, fmt.Sprintf("phase at %v Hz", c.f), cmplx.Phase(z)*180/math.Pi, c.deg)
	}
	least, at := math.Inf(1), 0.0
	for f := 200.0; f < 350; f += 0.001 {
		if m := cmplx.Abs(d.Impedance(f)); m < least {
			least, at = m, f
		}
	}
	printed(t, "least |Z|", least, "5.06")
	printed(t, "least |Z|", least, "5.059814")
	printed(t, "frequency of least |Z|", at, "264")
	printed(t, "frequency of least |Z|", at, "264.094")

	// The crossing points with the true Re, and what the inductance makes of Qms.
	h := measured.HandMethodWith(simulated.Grid(d, 5, 2000, 48), d.Re)
	printed(t, "f1", h.F1, "27.3")
	printed(t, "f2", h.F2, "55.6")
	printed(t, "Fs", h.Fs, "39.0")
}

// Source: notes on laboratory D of the Danish course, a synthetic woofer (read):
// values read from its curve give back what it was made of.
func TestLaboratoryWoofer(t *testing.T) {
	const zmax, f1, f2 = 59.3, 27.2, 58.5
	const re = 6.0 // not printed; what Qms 4, Qes 0.45 and Zmax 59.3 leave
	const r0 = zmax / re
	qms := measured.QmsAtLevel(r0, math.Sqrt(r0), math.Sqrt(f1*f2), f2-f1)
	printed(t, "Qms", qms, "4.01")
	// The readings are rounded to 0.05 Hz on either flank, 0.3 % of the width.
	if qes := qms / (r0 - 1); math.Abs(qes-0.452) > 0.003*0.452 {
		t.Errorf("Qes = %.4f, want 0.452", qes)
	}
	// A box of 20.1 L raises Vas 25 L from 40 to 59.9 Hz.
	ws, stiffness := 2*math.Pi*40.0, airOf(1.2, 344).Stiffness()
	const sd = 0.02
	cms := 25e-3 / (stiffness * sd * sd)
	d := driver.Driver{Re: re, Mms: 1 / (ws * ws * cms), Cms: cms}
	d.BL, d.Rms = math.Sqrt(ws*d.Mms*re/0.45), ws*d.Mms/4
	h := measured.HandMethod(loadedGrid(d, stiffness*sd*sd/20.1e-3))
	printed(t, "fc", h.Fs, "59.9")
	_, value := readings(t, d, sd, d.Mms, 20.1e-3, airOf(1.2, 344))
	printed(t, "Vas/L from mass and box", 1e3*value(param.Vas), "25.0")
}

// Source: Small, "Closed-box loudspeaker systems, part II", worked driver (from
// memory): fs 19 Hz, Qms 3.7, Qes 0.35, Vas 540 dm3, c 345 m/s. The efficiency
// from the motor must agree with 4 pi^2/c^3 fs^3 Vas/Qes.
func TestClosedBoxPaperDriver(t *testing.T) {
	const fs, qms, qes, vas, rho, c, sd, re = 19.0, 3.7, 0.35, 0.540, 1.18, 345.0, 0.08, 6.0
	cms := vas / (rho * c * c * sd * sd)
	ws := 2 * math.Pi * fs
	mms := 1 / (ws * ws * cms)
	d := driver.Driver{Re: re, BL: math.Sqrt(ws * mms * re / qes), Mms: mms, Cms: cms, Rms: ws * mms / qms}
	printed(t, "Qts", d.Qts(), "0.319753")
	_, value := readings(t, d, sd, mms, 0, airOf(rho, c))
	printed(t, "eta0/%", 100*value(param.Eta0), "1.017")
}

// loadedGrid is a sweep of d with the stiffness dK (N/m) on the cone.
func loadedGrid(d driver.Driver, dK float64) measured.Impedance {
	z := simulated.Grid(d, 5, 2000, 48)
	for i, f := range z.Freq {
		z.Z[i] = d.LoadedImpedance(f, 0, dK)
	}
	return z
}

// A passive driver never has a real part below Re, and a change of BL, masses
// and compliance that leaves the motional elements alone leaves the impedance
// alone: a free-air curve cannot tell them apart. Source: the French technical
// reference, sections 01.3 and 01.6 (read).
func TestIdentities(t *testing.T) {
	for _, d := range []driver.Driver{handmade.CourseWoofer, handmade.StiffWoofer, handmade.LowQ, handmade.WithCoil(handmade.CourseWoofer, driver.TwoPartCoil{L1: 0.4e-3, L2: 0.8e-3, R2: 6})} {
		k := 1.7
		same := driver.Driver{Re: d.Re, BL: d.BL * math.Sqrt(k), Mms: d.Mms * k, Cms: d.Cms / k, Rms: d.Rms * k, Coil: d.Coil}
		for f := 1.0; f < 20000; f *= 1.07 {
			z := d.Impedance(f)
			if real(z) < d.Re {
				t.Fatalf("real part %v below Re %v at %v Hz", real(z), d.Re, f)
			}
			if diff := cmplx.Abs(z - same.Impedance(f)); diff > 1e-13*cmplx.Abs(z) {
				t.Fatalf("impedances differ by %v at %v Hz", diff, f)
			}
			// The same by the motional elements and by normalised frequency.
			ws := 2 * math.Pi * d.Fs()
			res, lces, cmes := d.Re*d.Qms()/d.Qes(), d.Re/(ws*d.Qes()), d.Qes()/(ws*d.Re)
			s := complex(0, 2*math.Pi*f)
			var zl complex128
			if d.Coil != nil {
				zl = d.Coil.Impedance(2 * math.Pi * f)
			}
			elements := complex(d.Re, 0) + zl + 1/(complex(1/res, 0)+1/(s*complex(lces, 0))+s*complex(cmes, 0))
			if cmplx.Abs(elements-z) > 1e-12*cmplx.Abs(z) {
				t.Fatalf("motional elements give %v, masses and springs %v at %v Hz", elements, z, f)
			}
		}
		if zmax := real(d.Impedance(d.Fs())); d.Coil == nil && math.Abs(zmax/(d.Re*(1+d.Qms()/d.Qes()))-1) > 1e-12 {
			t.Errorf("Zmax = %v is not Re (1 + Qms/Qes)", zmax)
		}
	}
}
