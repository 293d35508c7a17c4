package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/fitted"
	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A meter that is far off and sure of itself pulls the values, but leaves all of
// them numbers: also where what has no weight fits it best.
func TestMeterFarOff(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	for _, noise := range []float64{1e-6, 3e-5, 2e-4, 2e-3} {
		z := simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), 0, 0, noise, rand.New(rand.NewPCG(6, 6)))
		for _, off := range []float64{0.5, 0.8, 0.98, 1, 1.02, 1.3, 2} {
			f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{DCRe: param.Quantity{Value: off * d.Re, Std: 1e-4 * off * d.Re}})
			if err != nil {
				t.Errorf("noise %v, reading %v Re: %v", noise, off, err)
				continue
			}
			for _, e := range f.Parameters.All() {
				if !(e.Low <= e.Value && e.Value <= e.High && e.Std >= 0) || math.IsInf(e.High, 0) {
					t.Errorf("noise %v, reading %v Re: %v is %v, %v to %v", noise, off, e.ID, e.Value, e.Low, e.High)
				}
			}
		}
	}
}

// A slip of the finger is not joined with the sweep: the values are those of the sweep alone, the reading
// is kept beside them and named first. One that fits is joined.
func TestMeterThatContradicts(t *testing.T) {
	d := handmade.CourseWithCoil()
	z := simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(7, 7)))
	resistor := measured.Systematic{Source: "resistor", Effect: make([]complex128, z.Len())}
	for i, v := range z.Z {
		resistor.Effect[i] = 0.003 * v
	}
	z.Systematic = []measured.Systematic{resistor}
	fit := func(reading float64) *fitted.Result {
		f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{DCRe: param.Quantity{Value: reading, Std: 0.006 * reading}})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	alone, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	re, _ := alone.Parameters.Get(param.Re)
	for _, off := range []float64{0.9, 1.1, 10} {
		f := fit(off * d.Re)
		if got, _ := f.Parameters.Get(param.Re); got != re {
			t.Errorf("reading %v Re: Re is %v, and %v by the sweep alone", off, got, re)
		}
		if want := math.Log(off * d.Re / re.Value); math.Abs(f.Parameters.MeterOff-want) > 1e-12 {
			t.Errorf("reading %v Re: the reading is kept as %v, want %v", off, f.Parameters.MeterOff, want)
		}
		if len(f.Warnings) == 0 || f.Warnings[0].Code != "meter-contradicts" {
			t.Errorf("reading %v Re: %v is said, and not first of all that the two contradict", off, f.Warnings)
		}
	}
	f := fit(1.005 * d.Re)
	if got, _ := f.Parameters.Get(param.Re); f.Parameters.MeterOff != 0 || got.Std >= re.Std {
		t.Errorf("a reading that fits leaves Re at %v, MeterOff %v", got, f.Parameters.MeterOff)
	}
}

// A reading of Re has the density of a normal distribution around what the sweep says, as wide as both
// together; by it the forms are weighed against each other.
func TestReadingIsWeighedAsNormal(t *testing.T) {
	d := handmade.CourseWithCoil()
	in := inputOf([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(8, 8)))}}, measured.Conditions{})
	all, _ := in.weigh(in.explore())
	members, _, err := in.refit(all)
	if err != nil {
		t.Fatal(err)
	}
	m := members[0].statement
	at := slices.Index(m.ids, param.Re)
	const u = 0.01
	std := math.Hypot(m.std(at), u)
	for _, off := range []float64{-2, 0, 1, 3} {
		_, density, found := m.read(m.values[at].v+off*std, u, param.Component{Source: "meter"})
		if want := -off*off/2 - math.Log(std); math.Abs(density-want) > 1e-9*math.Abs(want) || math.Abs(found-off) > 1e-9 {
			t.Errorf("%v standard deviations off: density %v, want %v; found %v off", off, density, want, found)
		}
	}
}
