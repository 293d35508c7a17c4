package param

// Names of sources of uncertainty that more than one package must know.
const (
	// CoilOrTiming is what the choice between a coil law and a delay between the channels
	// leaves open. It is the same in two sweeps of one coil on one bench.
	CoilOrTiming = "coil or timing"
	// PowerCreep ends the name of a form whose creep follows a power of frequency.
	PowerCreep = " with creep by a power of frequency"
)
