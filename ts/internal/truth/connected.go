package truth

// Connection is what hangs on the leads of a sweep that is said to be of a driver in free air.
type Connection int

const (
	InVentedBox Connection = iota
	InVentedBoxFromAbove
	InVentedBox43And114 // peaks at 43 and 114 Hz
	InClosedBox
	WithTestMass
	WithLooseMass
	TwoEqualParallel
	TwoUnequalParallel
	TwoEqualSeries
	TwoUnequalSeries
	CapacitorInSeries
	CoilInSeries
	ResistanceInSeries
	ShortedLeads
	NoDriver
	BlockedCoil
	ChannelDelay
	OnlyResistor
	connections
)

var connectionNames = [connections]string{
	"in a vented box", "in a vented box, swept from above its lower peak", "in a vented box with peaks at 43 and 114 Hz",
	"in a closed box", "with a test mass", "with a loose mass", "two equal drivers in parallel",
	"two unequal drivers in parallel", "two equal drivers in series", "two unequal drivers in series",
	"capacitor in series", "coil in series", "resistance in series", "shorted leads", "driver disconnected",
	"blocked coil", "channel delay", "a resistor",
}

func (c Connection) String() string { return connectionNames[c] }

// Connections are all of them.
func Connections() []Connection {
	var all []Connection
	for c := range connections {
		all = append(all, c)
	}
	return all
}

// Connect is a driver in free air, and later on the same bench what c says. What is said of the second sweep is
// that it is the driver in free air.
func Connect(seed uint64, c Connection) (alone, connected Taken) {
	rng := Rand(seed, 41, uint64(c))
	bench, rig := CommonBench(0.005), DrawRig(rng)
	d := Draw(rng)
	var box Box
	if c == InVentedBox43And114 {
		for ok := false; !ok; { // the driver must be one that a box can bring there
			d = DrawWith(rng, Choice{Inch: []float64{5, 6.5, 8}[rng.IntN(3)]})
			v := d.Values()
			box, ok = VentedWithPeaks(v, d.Air, 43, 114, Losses{QL: 10, QA: 40, QP: 60})
			ok = ok && box.Volume < 2*v.Vas // in a larger one the upper peak is lost
		}
	}
	alone = take(rng, rig, d.In(bench.Fresh(rng)))
	d = d.In(bench.Fresh(rng))
	v := d.Values()
	f := BenchGrid
	var p OnePort
	switch c {
	case InVentedBox:
		p = d.Loaded(DrawCabinet(rng, d, true))
	case InVentedBoxFromAbove:
		p = d.Loaded(DrawCabinet(rng, d, true))
		f = Grid(v.Fs*between(rng, 0.5, 0.8), 2000, 48)
	case InVentedBox43And114:
		p = d.Loaded(box)
	case InClosedBox:
		p = d.Loaded(DrawCabinet(rng, d, false))
	case WithTestMass:
		p = d.Loaded(Mass{Kg: v.Mms * between(rng, 0.4, 1.5)})
	case WithLooseMass:
		p = d.Loaded(Loose(rng, v.Mms*between(rng, 0.3, 1), d))
	case TwoEqualParallel:
		p = Parallel(d, d.In(bench.Fresh(rng)))
	case TwoUnequalParallel:
		p = Parallel(d, Draw(rng))
	case TwoEqualSeries:
		p = Series(d, d.In(bench.Fresh(rng)))
	case TwoUnequalSeries:
		p = Series(d, Draw(rng))
	case CapacitorInSeries:
		p = Series(Capacitor(betweenLog(rng, 2e-5, 3e-4), between(rng, 0.02, 0.3)), d)
	case CoilInSeries:
		p = Series(Inductor(betweenLog(rng, 5e-4, 5e-3), between(rng, 0.1, 0.6)), d)
	case ResistanceInSeries:
		p = Series(Resistor(between(rng, 0.3, 3)), d)
	case ShortedLeads:
		p = Shorted(between(rng, 0.02, 0.2))
	case NoDriver:
		p = Disconnected(betweenLog(rng, 1e-10, 1e-9), betweenLog(rng, 1e4, 1e6))
	case BlockedCoil:
		p = d.Blocked()
	case ChannelDelay:
		p = d
		rig.Inputs.Delay = float64(1+rng.IntN(5)) / 48000
		if chance(rng, 0.5) {
			rig.Inputs.Delay = -rig.Inputs.Delay
		}
	case OnlyResistor:
		p = Resistor(betweenLog(rng, 2, 50))
	}
	return alone, Taken{Sweep: rig.Measure(rng, p, f), Driver: d, Truth: v, Meter: DrawMeter(rng, d.Re)}
}
