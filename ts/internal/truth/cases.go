package truth

import "math/rand/v2"

// Taken is one sweep of a driver on a bench, what was written down with it, and what is true.
type Taken struct {
	Sweep  Sweep
	Driver Driver // in the state in which it was swept
	Truth  Values // of that state, without what was on the cone

	MassTold   float64 // kg that are said to be on the cone, 0: nothing
	VolumeTold float64 // m³ of the box that it is said to be on, 0: none
	Meter      Meter   // reading of Re
	Resistor   float64 // ohm in series, as entered
}

// BenchGrid are the frequencies of the sweeps on a bench, Hz.
var BenchGrid = Grid(5, 2000, 48)

// take measures d with what is on its cone.
func take(rng *rand.Rand, rig Rig, d Driver, loads ...Load) Taken {
	return Taken{Sweep: rig.Measure(rng, d.Loaded(loads...), BenchGrid), Driver: d, Truth: d.Values(), Meter: DrawMeter(rng, d.Re),
		Resistor: rig.ResistorTold}
}

// Visit is a driver on a bench in one session and one clamping: a free sweep, and one with a mass on its
// cone if there is one.
type Visit struct{ Free, Loaded Taken }

// Masses is how a bench adds masses in a case: none, exact ones, or as in a shop.
type Masses int

const (
	NoMass      Masses = iota
	ExactMass          // weighed and put without error
	ShopMass           // a scale that is 1 to 2 % off and CommonPlacing
	SharedScale        // a scale that is 1 % off, nothing else
)

// BeforeAfter is a driver before and after a repair, in two sessions of one bench with one rig. The same piece
// of about 0.8 Mms is put on its cone anew each time. An empty Repaired is an untouched driver:
//
//	BeforeAfter(seed, Plain, CommonBench(0.01), Repaired{}, NoMass)                      untouched, Fs scatters by 1 %
//	BeforeAfter(seed, Plain, CommonBench(0.01), Repaired{}, ShopMass)                    the same with masses of a shop
//	BeforeAfter(seed, Plain, CommonBench(0.0005), Repaired{Stiffness: 1.05}, NoMass)     5 % stiffer, a good bench
//	BeforeAfter(seed, Plain, CommonBench(0.01), Repaired{Stiffness: 1.35, Mass: 1.03}, SharedScale)
func BeforeAfter(seed uint64, want Choice, bench Bench, repair Repaired, masses Masses) (before, after Visit) {
	rng := Rand(seed, 1)
	d := DrawWith(rng, want)
	rig := DrawRig(rng)
	scale, placing := Scale{}, Placing{}
	switch masses {
	case ShopMass:
		scale, placing = DrawScale(rng), CommonPlacing
	case SharedScale:
		scale.Error = 0.01
		if chance(rng, 0.5) {
			scale.Error = -0.01
		}
	}
	piece := Piece{Told: roundTo(0.8*d.Values().Mms, 1e-4)}
	piece.True = piece.Told / (1 + scale.Error)
	if masses == ShopMass {
		piece = scale.Weigh(rng, piece.Told)
	}
	visit := func(d Driver) Visit {
		clamped := bench.Take(rng, Reclamped, bench.Take(rng, Session, State{}))
		v := Visit{Free: take(rng, rig, d.In(bench.Take(rng, Again, clamped)))}
		if masses != NoMass {
			swept := d.In(bench.Take(rng, Again, clamped))
			v.Loaded = take(rng, rig, swept, placing.Put(rng, piece, swept))
			v.Loaded.MassTold = piece.Told
		}
		return v
	}
	return visit(d), visit(d.Repair(repair))
}

// Nested is how often each kind of repeat is done within the one above it.
type Nested struct{ Drivers, Sessions, Clampings, Sweeps int }

// Study is a study of repeatability: index by driver, session, clamping, sweep. Study(seed, Plain, bench, Nested{1, 5, 2, 2}) has 20 sweeps.
func Study(seed uint64, want Choice, bench Bench, n Nested) [][][][]Taken {
	rng := Rand(seed, 2)
	rig := DrawRig(rng)
	all := make([][][][]Taken, n.Drivers)
	for d := range all {
		driver := DrawWith(rng, want)
		for range n.Sessions {
			session := bench.Take(rng, Session, State{})
			var clampings [][]Taken
			for range n.Clampings {
				clamped := bench.Take(rng, Reclamped, session)
				var sweeps []Taken
				for range n.Sweeps {
					sweeps = append(sweeps, take(rng, rig, driver.In(bench.Take(rng, Again, clamped))))
				}
				clampings = append(clampings, sweeps)
			}
			all[d] = append(all[d], clampings)
		}
	}
	return all
}

// Repeats are n sweeps of one driver that differ by one kind of repeat, and what is true of the driver as
// drawn, which is what the sweeps scatter around.
func Repeats(seed uint64, want Choice, bench Bench, kind Kind, n int) ([]Taken, Values) {
	rng := Rand(seed, 3)
	d := DrawWith(rng, want)
	rig := DrawRig(rng)
	session := bench.Take(rng, Session, State{})
	clamped := bench.Take(rng, Reclamped, session)
	var all []Taken
	for range n {
		switch kind {
		case Session:
			clamped = bench.Take(rng, Reclamped, bench.Take(rng, Session, State{}))
		case Reclamped:
			clamped = bench.Take(rng, Reclamped, session)
		case Operator:
			clamped = bench.Take(rng, Reclamped, bench.Take(rng, Operator, session))
		}
		all = append(all, take(rng, rig, d.In(bench.Take(rng, Again, clamped))))
	}
	return all, d.Values()
}

// Uncalibrated is a driver swept through inputs that differ by 0.05 dB and in their AC coupling.
func Uncalibrated(seed uint64, want Choice, wiring Wiring) Taken {
	rng := Rand(seed, 4)
	d := DrawWith(rng, want)
	rig := DrawRig(rng)
	rig.Wiring, rig.Inputs = wiring, DrawInputs(rng)
	return take(rng, rig, d)
}

// SoftClipping is a driver swept with one input that clips softly by 1 to 5 % at the level of the source.
func SoftClipping(seed uint64, want Choice) Taken {
	rng := Rand(seed, 5)
	d := DrawWith(rng, want)
	rig := DrawRig(rng)
	rig.Inputs.Clip[rng.IntN(2)] = between(rng, 0.01, 0.05)
	return take(rng, rig, d)
}

// TwoLevels is one driver in one clamping at two levels in V rms of the source. The true values are those at
// each level.
func TwoLevels(seed uint64, want Choice, low, high float64) (quiet, loud Taken) {
	rng := Rand(seed, 6)
	d := DrawWith(rng, want)
	rig := DrawRig(rng)
	at := func(volt float64) Taken {
		level := Level{Volt: volt, Series: rig.Resistor}
		return Taken{Sweep: rig.Measure(rng, d.Loaded().At(level), BenchGrid), Driver: d, Truth: d.ValuesAt(level), Meter: DrawMeter(rng, d.Re), Resistor: rig.ResistorTold}
	}
	return at(low), at(high)
}

// OnBox is a driver in free air and on a closed test box whose volume is off and which leaks a little, at an air
// pressure in Pa that may not be that at the sea.
func OnBox(seed uint64, want Choice, pressure float64) Visit {
	rng := Rand(seed, 7)
	d := DrawWith(rng, want)
	d.Air = AirAt(pressure, 20)
	rig := DrawRig(rng)
	told := roundTo(d.Values().Vas/between(rng, 0.8, 3), 1e-4)
	v := Visit{Free: take(rng, rig, d), Loaded: take(rng, rig, d, DrawTestBox(rng, d, told))}
	v.Loaded.VolumeTold = told
	return v
}

// BadContact is two sweeps of one driver in one clamping, the second with a contact of ohm below 26 Hz.
func BadContact(seed uint64, want Choice, ohm float64) (good, bad Taken) {
	rng := Rand(seed, 8)
	d := DrawWith(rng, want)
	rig := DrawRig(rng)
	good = take(rng, rig, d)
	rig.Contact = SteadyContact(ohm, 26)
	return good, take(rng, rig, d)
}

// Lesson is a free sweep and one with each of the masses that were told (kg), weighed on a shop's scale;
// exchanged swaps the labels of the first two masses.
func Lesson(seed uint64, told []float64, exchanged bool) []Taken {
	rng := Rand(seed, 9)
	bench := CommonBench(0.003)
	d := DrawWith(rng, Choice{Inch: 6.5, Calm: true, Resonance: -1})
	rig, scale := DrawRig(rng), Scale{Error: 0.002 * rng.NormFloat64()}
	session := bench.Take(rng, Session, State{})
	all := []Taken{take(rng, rig, d.In(bench.Take(rng, Again, session)))}
	for _, kg := range told {
		swept := d.In(bench.Take(rng, Again, session))
		t := take(rng, rig, swept, Placing{}.Put(rng, scale.Weigh(rng, kg), swept))
		t.MassTold = kg
		all = append(all, t)
	}
	if exchanged {
		all[1].MassTold, all[2].MassTold = all[2].MassTold, all[1].MassTold
	}
	return all
}
